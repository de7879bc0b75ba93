"""The Django app of the day book."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class RecordsConfig(AppConfig):
    """Guards the day book again after every migration: a rebuilt table has lost its triggers."""

    name = "kettlewell.records"
    label = "records"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Ask to be called after every migration."""
        from kettlewell.records.triggers import install  # noqa: PLC0415 - needs the apps to be ready

        post_migrate.connect(lambda using, **_: install(using), sender=self, weak=False)

"""The Django app of the day book."""

from collections.abc import Sequence

from django.apps import AppConfig
from django.db.migrations import Migration
from django.db.models.signals import post_migrate

from kettlewell import clock


class RecordsConfig(AppConfig):
    """Guards the day book again after every migration: a rebuilt table has lost its triggers."""

    name = "kettlewell.records"
    label = "records"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Ask to be called after every migration."""
        post_migrate.connect(guard, sender=self, weak=False)


def guard(using: str, plan: Sequence[tuple[Migration, bool]] = (), **_: object) -> None:
    """Put every trigger in its place; remember those gone though no table was made anew."""
    from kettlewell.records import triggers  # noqa: PLC0415 - needs the apps to be ready

    if not any(migration.app_label == "records" for migration, _backwards in plan):
        triggers.remember(triggers.missing(using), clock.now(), using)
    triggers.install(using)

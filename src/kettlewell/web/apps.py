"""The Django app of the screens."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    """The screens, their templates and static files."""

    name = "kettlewell.web"
    label = "web"

    def ready(self) -> None:
        """Listen for who signs in and out."""
        import kettlewell.web.account.logged  # noqa: F401, PLC0415 - needs the apps to be ready

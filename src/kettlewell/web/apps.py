"""The Django app of the screens."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    """The screens, their templates and static files."""

    name = "kettlewell.web"
    label = "web"

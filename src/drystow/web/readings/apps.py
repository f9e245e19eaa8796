"""The readings app."""

from django.apps import AppConfig


class ReadingsConfig(AppConfig):
    """The readings app."""

    name = "drystow.web.readings"
    label = "readings"
    default_auto_field = "django.db.models.BigAutoField"

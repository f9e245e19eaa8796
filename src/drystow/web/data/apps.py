"""The data app."""

from django.apps import AppConfig


class DataConfig(AppConfig):
    """The data app."""

    name = "drystow.web.data"
    label = "data"
    default_auto_field = "django.db.models.BigAutoField"

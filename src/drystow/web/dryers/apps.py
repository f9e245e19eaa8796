"""The dryers app."""

from django.apps import AppConfig


class DryersConfig(AppConfig):
    """The dryers app."""

    name = "drystow.web.dryers"
    label = "dryers"
    default_auto_field = "django.db.models.BigAutoField"

"""The pantry app."""

from django.apps import AppConfig


class PantryConfig(AppConfig):
    """The pantry app."""

    name = "drystow.web.pantry"
    label = "pantry"
    default_auto_field = "django.db.models.BigAutoField"

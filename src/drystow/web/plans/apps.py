"""The plans app."""

from django.apps import AppConfig


class PlansConfig(AppConfig):
    """The plans app."""

    name = "drystow.web.plans"
    label = "plans"
    default_auto_field = "django.db.models.BigAutoField"

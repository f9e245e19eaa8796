"""The foods app."""

from django.apps import AppConfig


class FoodsConfig(AppConfig):
    """The foods app."""

    name = "drystow.web.foods"
    label = "foods"
    default_auto_field = "django.db.models.BigAutoField"

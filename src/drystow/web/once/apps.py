"""The app that lets a repeated write count once."""

from django.apps import AppConfig


class OnceConfig(AppConfig):
    """The app that lets a repeated write count once."""

    name = "drystow.web.once"
    label = "once"
    default_auto_field = "django.db.models.BigAutoField"

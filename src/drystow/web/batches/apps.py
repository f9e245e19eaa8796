"""The batches app."""

from django.apps import AppConfig


class BatchesConfig(AppConfig):
    """The batches app."""

    name = "drystow.web.batches"
    label = "batches"
    default_auto_field = "django.db.models.BigAutoField"

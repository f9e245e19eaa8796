"""The batches app."""

from django.apps import AppConfig


class BatchesConfig(AppConfig):
    """The batches app."""

    name = "drystow.web.batches"
    label = "batches"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have forecasts that cannot be read worked out anew."""
        from drystow.web.batches.forecasting import QUEUE
        from drystow.web.batches.models import Batch
        from drystow.web.kit.answers import worked_out_by

        worked_out_by(Batch, QUEUE.ask)

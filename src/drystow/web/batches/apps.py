"""The batches app."""

from django.apps import AppConfig


class BatchesConfig(AppConfig):
    """The batches app."""

    name = "drystow.web.batches"

    def ready(self) -> None:
        """Make known what is worked out beside the requests."""
        from drystow.web.batches import forecasting, judging, teaching  # noqa: F401

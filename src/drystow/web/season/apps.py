"""The app of the seasons."""

from django.apps import AppConfig


class SeasonConfig(AppConfig):
    """A garden season tried out with several choices of dryers; its records stand with the plans."""

    name = "drystow.web.season"

    def ready(self) -> None:
        """Make known what is worked out beside the requests."""
        from drystow.web.season import trying  # noqa: F401

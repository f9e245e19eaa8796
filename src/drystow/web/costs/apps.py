"""The costs app."""

from django.apps import AppConfig


class CostsConfig(AppConfig):
    """The costs app; it keeps nothing of its own."""

    name = "drystow.web.costs"
    label = "costs"

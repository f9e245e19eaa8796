"""The app of the demo."""

from django.apps import AppConfig


class DemoConfig(AppConfig):
    """A year of Alder Lane Kitchen, and ten years of rows to measure speed; no records of its own."""

    name = "drystow.web.demo"
    label = "demo"

"""The app of packing."""

from django.apps import AppConfig


class PackingConfig(AppConfig):
    """From the proof to the label: what is packed in what, the labels, what a batch came to. No records of its own."""

    name = "drystow.web.packing"
    label = "packing"

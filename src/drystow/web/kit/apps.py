"""The app of the ground that all others stand on."""

from django.apps import AppConfig


class KitConfig(AppConfig):
    """Records of changes and the settings of the kitchen."""

    name = "drystow.web.kit"
    label = "site"  # its tables, backups and history have carried this name since the first version

    def ready(self) -> None:
        """Have forms speak in the words of the pages."""
        from drystow.web.kit.forms import speak

        speak()

"""The pantry app."""

from django.apps import AppConfig


class PantryConfig(AppConfig):
    """The pantry app."""

    name = "drystow.web.pantry"

    def ready(self) -> None:
        """Keep the movements right when a change of a package is taken back."""
        from django.db.models.signals import post_save

        from drystow.web.kit.models import Change
        from drystow.web.pantry.actions import mirror_undo

        post_save.connect(mirror_undo, sender=Change, dispatch_uid="pantry.mirror_undo")

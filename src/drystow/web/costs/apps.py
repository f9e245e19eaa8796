"""The costs app."""

from django.apps import AppConfig


class CostsConfig(AppConfig):
    """The costs app; what it keeps follows from other records."""

    name = "drystow.web.costs"

    def ready(self) -> None:
        """Keep the sums right when something of a batch changes."""
        from django.db.models.signals import post_save

        from drystow.web.costs.sums import mark_changed
        from drystow.web.kit.models import Change

        post_save.connect(mark_changed, sender=Change, dispatch_uid="costs.mark_changed")

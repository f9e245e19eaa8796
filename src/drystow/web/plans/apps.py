"""The plans app."""

from django.apps import AppConfig


class PlansConfig(AppConfig):
    """The plans app."""

    name = "drystow.web.plans"

    def ready(self) -> None:
        """Make known what is worked out beside the requests; plan again when a batch of a plan ended."""
        from django.db.models.signals import post_save

        from drystow.web.kit.models import Change
        from drystow.web.plans import found  # noqa: F401
        from drystow.web.plans.making import plan_again_when_one_ended

        post_save.connect(plan_again_when_one_ended, sender=Change, dispatch_uid="plans.plan_again_when_one_ended")

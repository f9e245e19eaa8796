"""What every view of a plan takes from a request."""

from django.shortcuts import get_object_or_404

from drystow.web.plans.models import Plan


def kept_plan(pk: int) -> Plan:
    """Return a plan, or answer that there is none."""
    plan: Plan = get_object_or_404(Plan.objects.kept(), pk=pk)
    return plan

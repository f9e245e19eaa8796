"""What every view of a plan takes from a request."""

from django.shortcuts import get_object_or_404

from drystow.web.dryers.lessons import read_lessons
from drystow.web.plans.models import Lot, Plan, PlanDryer


def kept_plan(pk: int) -> Plan:
    """Return a plan, or answer that there is none."""
    plan: Plan = get_object_or_404(Plan.objects.kept(), pk=pk)
    return plan


def dryers_of(plan: Plan) -> list[PlanDryer]:
    """Return the dryers of a plan that are not in the bin."""
    rows = list(PlanDryer.objects.kept().filter(plan=plan, dryer__binned_at=None).select_related("dryer"))
    read_lessons(row.dryer for row in rows)
    return rows


def lots_of(plan: Plan) -> list[Lot]:
    """Return what comes in a plan."""
    return list(Lot.objects.kept().filter(plan=plan))

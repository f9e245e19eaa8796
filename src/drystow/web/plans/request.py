"""What every view of a plan takes from a request."""

from typing import Any, TypeVar

from django.http import HttpRequest
from django.shortcuts import get_object_or_404

from drystow.web.batches.request import units_of
from drystow.web.plans.models import Lot, Plan, PlanDryer
from drystow.web.plans.planforms import PlanForm, Prices

Form = TypeVar("Form", bound=PlanForm)


def kept_plan(pk: int) -> Plan:
    """Return a plan, or answer that there is none."""
    plan: Plan = get_object_or_404(Plan.objects.kept(), pk=pk)
    return plan


def dryers_of(plan: Plan) -> list[PlanDryer]:
    """Return the dryers of a plan that are not in the bin."""
    return list(PlanDryer.objects.kept().filter(plan=plan, dryer__binned_at=None).select_related("dryer__learned"))


def lots_of(plan: Plan) -> list[Lot]:
    """Return what comes in a plan."""
    return list(Lot.objects.kept().filter(plan=plan))


def kitchen_forms(
    request: HttpRequest, kind: type[Form], initial: dict[str, Any], hours: list[dict[str, Any]]
) -> tuple[Form, Any]:
    """Return the form of a plan or a season, and the rows of its dearer hours.

    kind: of the form
    initial: what it shows at first
    hours: what the rows show at first
    """
    post, units = request.POST if request.method == "POST" else None, units_of(request)
    prices = Prices(post, prefix="price", initial=hours, form_kwargs={"units": units})
    return kind(post, units=units, initial=initial), prices

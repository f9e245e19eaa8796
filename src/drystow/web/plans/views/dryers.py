"""Dryers that take part in a plan: which, with what program, and when they are not to be had."""

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.planning.schedule.plan_file import MOST_DRYERS
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import usual_program
from drystow.web.batches.forms import steps_initial, with_addresses
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.kept_values import Teller
from drystow.web.kit.notices import person, saved
from drystow.web.kit.record_forms import save_or_show, to_bin
from drystow.web.plans.models import Plan, PlanDryer
from drystow.web.plans.planforms import PlanDryerForm
from drystow.web.plans.request import dryers_of, kept_plan, lots_of


@right(reads="viewer", writes="helper")
def show_dryers(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the dryers of a plan; a POST lets one take part."""
    plan = kept_plan(pk)
    rows = dryers_of(plan)
    others = list(Dryer.objects.kept().exclude(pk__in=[row.dryer_id for row in rows]).order_by("name"))
    if request.method == "POST":
        dryer = next((one for one in others if str(one.pk) == request.POST.get("dryer", "")), None)
        if dryer is not None and len(rows) >= MOST_DRYERS:
            messages.error(request, _("A plan can have up to {most} dryers.").format(most=MOST_DRYERS))
        elif dryer is not None:
            saved(request, _take_part(plan, dryer, person(request)))
        return redirect("plan-dryers", pk)
    shown = [
        {
            "row": row,
            "steps": steps_initial(row.program),
            "turnaround": 3600.0 * row.turnaround_h,
            "stops": [{name: datetime.fromisoformat(at) for name, at in stop.items()} for stop in row.stops],
        }
        for row in rows
    ]
    return render(request, "plans/dryers.html", {"plan": plan, "here": "dryers", "rows": shown, "others": others})


@right(reads="viewer", writes="helper")
def edit_dryer(request: HttpRequest, pk: int, row_pk: int) -> HttpResponse:
    """Change how a dryer takes part in a plan."""
    return _edit(request, kept_plan(pk), row_pk)


@right(writes="helper", page="plan-dryer")
def leave_out(request: HttpRequest, pk: int, row_pk: int, step: int) -> HttpResponse:
    """Save how a dryer takes part in a plan, without one step of its program."""
    return _edit(request, kept_plan(pk), row_pk, step)


def _edit(request: HttpRequest, plan: Plan, row_pk: int, without: int | None = None) -> HttpResponse:
    """Save what was sent, or show the form.

    without: number of a step that is left out
    """
    row = get_object_or_404(PlanDryer.objects.kept().select_related("dryer"), pk=row_pk, plan=plan)
    form = PlanDryerForm.of(request, row=row, without=without)

    def page(form: PlanDryerForm) -> HttpResponse:
        rows = with_addresses(form.steps, "plan-dryer-without", plan.pk, row.pk)
        context = {"plan": plan, "here": "dryers", "row": row, "form": form, "steps": rows, "stops": form.stops}
        context["extra"] = Teller(form.units, {}).part("", row.extra) if row.extra else ""
        return render(request, "plans/dryer.html", context)

    return save_or_show(request, form, redirect("plan-dryers", plan.pk), page)


@right(writes="helper")
def remove_dryer(request: HttpRequest, pk: int, row_pk: int) -> HttpResponse:
    """Leave a dryer out of a plan."""
    plan = kept_plan(pk)
    row = get_object_or_404(PlanDryer.objects.kept().select_related("dryer"), pk=row_pk, plan=plan)
    left = {one.dryer_id for one in dryers_of(plan) if one != row}
    wished = {lot.name: set(lot.extra.get("dryers", ())) for lot in lots_of(plan)}
    only = [name for name, dryers in wished.items() if row.dryer_id in dryers and not dryers & left]
    if only:
        words = _("{food} may only go into {dryer}; change that first.")
        messages.error(request, words.format(food=only[0], dryer=row.dryer.name))
        return redirect("plan-dryers", pk)
    return to_bin(request, row, redirect("plan-dryers", pk), msg("{dryer} removed from the plan.", dryer=""))


def _take_part(plan: Plan, dryer: Dryer, who: str) -> PlanDryer:
    """Return the dryer in the plan: as it was when it had been left out, else with the usual program."""
    words = msg("{dryer} added to the plan.", dryer=dryer.name)
    before = PlanDryer.objects.binned().filter(plan=plan, dryer=dryer).order_by("-binned_at").first()
    if before is not None:
        return records.take_back(before, who=who, words=words)
    return records.create(PlanDryer(plan=plan, dryer=dryer, program=usual_program(dryer)), who=who, words=words)

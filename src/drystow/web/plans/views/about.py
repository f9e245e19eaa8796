"""All plans; begin one, change its days and hours, put it in the bin."""

from datetime import timedelta

from django.core.paginator import Paginator
from django.db.models import Count, Q, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.planning.schedule.plan_file import MOST_DRYERS
from drystow.web.accounts.rights import right
from drystow.web.batches.views.about import usual_program
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.records import kitchen
from drystow.web.kit.saving import try_to_save
from drystow.web.plans.models import Plan, PlanDryer
from drystow.web.plans.planforms import PlanForm, plan_initial, plan_values, price_initial, usual_title
from drystow.web.plans.request import kept_plan, kitchen_forms

A_WEEK = 7
DAYTIME = ["7-22"]  # the engine's own, when nothing is written
BEGINS_WITH = ("smells", "colours")  # beside germs, the engine's own usual rules


@right(reads="viewer", writes="helper")
def new_plan(request: HttpRequest) -> HttpResponse:
    """Begin a plan, with all dryers of the kitchen."""
    today = timezone.localdate()
    initial = {"title": usual_title(today), "begin": today, "days": A_WEEK, "apart": BEGINS_WITH}
    initial |= {"weekdays": DAYTIME, "weekend": DAYTIME}
    dryers = list(Dryer.objects.kept().order_by("name")[:MOST_DRYERS])
    form, prices = kitchen_forms(request, PlanForm, initial | {"price": kitchen().tariff_per_kwh}, [])
    if request.method == "POST" and dryers and form.is_valid() and prices.is_valid():
        plan = Plan(**plan_values(form, prices, kitchen().tariff_per_kwh))
        made = try_to_save(form, lambda: _begin(plan, dryers, person(request)))
        if made is not None:
            saved(request, made, _("Plan started. Now enter the food coming in."))
            return redirect("plan-lots", made.pk)
    return render(request, "plans/new.html", {"form": form, "prices": prices, "no_dryer": not dryers})


@right(reads="viewer", writes="helper")
def edit_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the days of a plan, and what is there for it."""
    plan, usual = kept_plan(pk), kitchen().tariff_per_kwh
    initial = plan_initial(plan)
    if not plan.tariff:
        initial["price"] = usual
    form, prices = kitchen_forms(request, PlanForm, initial, price_initial(plan.tariff))
    if request.method == "POST" and form.is_valid() and prices.is_valid():
        changes = plan_values(form, prices, usual, plan)
        written = try_to_save(
            form,
            lambda: records.change(plan, changes, expected=form.expected, who=person(request), words=msg("plan")),
        )
        if written is not None:
            saved(request, written, _("Plan saved."))
            return redirect("plan-edit", pk)
    return render(request, "plans/about.html", {"form": form, "prices": prices, "plan": plan, "here": "edit"})


@right(writes="helper")
def bin_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a plan in the bin."""
    binned = records.put_in_bin(kept_plan(pk), who=person(request), words=msg("plan moved to trash"))
    saved(request, binned, _("“{title}” is in the trash.").format(title=binned.title))
    return redirect("plans")


def _begin(plan: Plan, dryers: list[Dryer], who: str) -> Plan:
    with records.one_action():
        made = records.create(plan, who=who, words=msg("new plan"))
        for dryer in dryers:
            row = PlanDryer(plan=made, dryer=dryer, program=usual_program(dryer))
            records.create(row, who=who, words=msg("new plan"))
    return made


A_PAGE = 50


@right(reads="viewer", forms="helper")
def show_plans(request: HttpRequest) -> HttpResponse:
    """Show the plans, those that match a search when there is one, the newest first."""
    text = request.GET.get("q", "").strip()[:80]
    comes = Q(lots__binned_at=None)
    rows = Plan.objects.kept().annotate(count=Count("lots", comes), mass=Sum("lots__mass_kg", filter=comes))
    for word in text.split():
        rows = rows.filter(Q(title__icontains=word) | Q(notes__icontains=word))
    page = Paginator(rows.order_by("-begin", "-pk"), A_PAGE).get_page(request.GET.get("page"))
    today = timezone.localdate()
    groups: dict[str, list[Plan]] = {}
    for plan in page.object_list:
        groups.setdefault(
            _("Past") if plan.begin + timedelta(days=plan.days) <= today else _("Under way and coming up"), []
        ).append(plan)
    context = {
        "groups": groups,
        "page": page,
        "kept": f"{urlencode({'q': text})}&" if text else "",
        "q": text,
        "no_dryer": not page.object_list and not Dryer.objects.kept().exists(),
    }
    return render(request, "plans/overview.html", context)

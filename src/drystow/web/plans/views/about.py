"""All plans; begin one, change its days and hours, put it in the bin."""

from datetime import timedelta
from typing import Any

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
from drystow.web.batches.adapters import usual_program
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.record_forms import bin_view, page_with, save_or_show
from drystow.web.plans.models import Plan, PlanDryer
from drystow.web.plans.planforms import PlanForm, usual_title
from drystow.web.plans.request import kept_plan

A_WEEK = 7
DAYTIME = ["7-22"]  # the engine's own, when nothing is written
BEGINS_WITH = ("smells", "colours")  # beside germs, the engine's own usual rules


class NewPlanForm(PlanForm):
    """A plan that begins with all dryers of the kitchen."""

    def __init__(self, *arguments: Any, dryers: list[Dryer], **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.dryers = dryers

    def write(self, changes: dict[str, Any], who: str) -> Plan:
        """Save the plan with its dryers."""
        with records.one_action():
            made: Plan = super().write(changes, who)
            for dryer in self.dryers:
                row = PlanDryer(plan=made, dryer=dryer, program=usual_program(dryer))
                records.create(row, who=who, words=self.said)
        return made


@right(reads="viewer", writes="helper")
def new_plan(request: HttpRequest) -> HttpResponse:
    """Begin a plan, with all dryers of the kitchen."""
    today, home = timezone.localdate(), {"weekdays": DAYTIME, "weekend": DAYTIME}
    row = Plan(title=usual_title(today), begin=today, days=A_WEEK, apart=list(BEGINS_WITH), home=home)
    dryers = list(Dryer.objects.kept().order_by("name")[:MOST_DRYERS])
    form = NewPlanForm.of(request, row=row, dryers=dryers)

    def page(form: PlanForm) -> HttpResponse:
        return render(request, "plans/new.html", {"form": form, "no_dryer": not dryers})

    return save_or_show(request, form, "plan-lots", page) if dryers else page(form)


@right(reads="viewer", writes="helper")
def edit_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the days of a plan, and what is there for it."""
    form = PlanForm.of(request, row=kept_plan(pk))
    page = page_with(request, "plans/about.html", plan=form.row, here="edit")
    return save_or_show(request, form, "plan-edit", page)


bin_plan = right(writes="helper")(
    bin_view(Plan, lambda plan: redirect("plans"), says=msg("“{title}” is in the trash.", title=""), find=kept_plan)
)


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

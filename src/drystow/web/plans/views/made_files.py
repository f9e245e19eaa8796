"""A plan to take along: for the calendar, and on paper."""

from datetime import UTC

from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _

from drystow.planning.schedule.calendar import batches_calendar
from drystow.reports.plan_sheet import plan_sheet_pdf
from drystow.web.batches.request import units_of
from drystow.web.kit.reader import reader
from drystow.web.kit.records import household
from drystow.web.plans.booking import shown_of
from drystow.web.plans.made_view import PlanShown
from drystow.web.plans.models import Made, Plan
from drystow.web.plans.request import kept_plan
from drystow.web.plans.sheet import calendar_batches, sheet_of


def plan_calendar(_request: HttpRequest, pk: int) -> HttpResponse:
    """Send the plan for a calendar."""
    plan = kept_plan(pk)
    _row, shown = _made(plan)
    made = batches_calendar(plan.title, calendar_batches(shown), timezone.now().astimezone(UTC), reader())
    return _download(made, "text/calendar; charset=utf-8", f"{_name(plan)}.ics")


def plan_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Send the plan for paper."""
    plan = kept_plan(pk)
    row, shown = _made(plan)
    house, units = household(), units_of(request)
    pdf = plan_sheet_pdf(
        sheet_of(plan, row, shown, units, house.currency),
        today=timezone.localdate(),
        units=units,
        paper=house.paper,
        translate=reader(),
    )
    return _download(pdf, "application/pdf", f"{_name(plan)}.pdf")


def _made(plan: Plan) -> tuple[Made, PlanShown]:
    row = Made.objects.filter(plan=plan).first()
    shown = None if row is None else shown_of(plan, row.result)
    if row is None or shown is None:
        raise Http404(_("Nothing planned yet."))
    return row, shown


def _name(plan: Plan) -> str:
    return f"{slugify(plan.title) or 'plan'}-{plan.begin.isoformat()}"


def _download(content: bytes, kind: str, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type=kind)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response

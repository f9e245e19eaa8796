"""The plan itself: what is saved, what to do next, when each dryer is loaded with what, what is left out, and why."""

from datetime import UTC
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from drystow.numerics.remembered import by_value, remembered
from drystow.planning.schedule.calendar import batches_calendar
from drystow.reports.plan_sheet import plan_sheet_pdf
from drystow.reports.schedule_layout import Days
from drystow.reports.text import mass_text
from drystow.web.accounts.rights import right
from drystow.web.batches.request import only_part, units_of
from drystow.web.kit import records
from drystow.web.kit.answers import Problem
from drystow.web.kit.drawing import Drawing
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import reader
from drystow.web.kit.words import in_words
from drystow.web.plans.booking import PlanOutdated, Spoiled, book, shown_of
from drystow.web.plans.differences import change_words, differences
from drystow.web.plans.made_view import PlanShown
from drystow.web.plans.making import PLAN, PlanState, answer_state
from drystow.web.plans.models import Plan
from drystow.web.plans.request import kept_plan
from drystow.web.plans.sheet import calendar_batches, days_of, drawings_of, sheet_of

PROVEN = 0.0005  # share of the value below which nothing better is worth a word; drystow-default


@right(reads="viewer", forms="helper")
def show_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a plan, as a page or, for htmx, its part that changes."""
    plan = kept_plan(pk)
    known = answer_state(plan)
    context = {"plan": plan, "here": "plan", "known": known} | _parts(plan, known, units_of(request))
    return render(request, "plans/made_part.html" if only_part(request) else "plans/made.html", context)


@right(writes="helper")
def plan_again(_request: HttpRequest, pk: int) -> HttpResponse:
    """Have a plan worked out anew; the one that is there stays until then."""
    PLAN.ask(kept_plan(pk).pk)
    return redirect("plan", pk)


def _parts(plan: Plan, known: PlanState, units: str) -> dict[str, Any]:
    basis, row = known.basis, known.row
    found: dict[str, Any] = {
        "no_lots": basis is not None and not basis.lots,
        "no_dryers": basis is not None and not basis.dryers,
        "problems": [_problem(plan, one) for one in known.problems],
    }
    if row is not None and known.current:
        found["problems"] = [_problem(plan, one) for one in row.problems]
    made = known.made
    if row is None or row.at is None or made is None:
        return found
    shown = shown_of(plan, made)
    now = timezone.now()
    over = now > made.end
    return found | {
        "shown": shown,
        "drawings": _drawn(shown),
        "differs": [] if over or known.rests is None else differences(made, known.rests, now),
        "changed": change_words(made.change, lambda mass: in_words(mass_text(mass, units))),
        "over": over,
        "next": None if over else shown.next_step(),
        "better": "" if shown.more < PROVEN else max(round(100 * shown.more), 1),
        "simple": [(name, round(100 * less)) for name, less in shown.compared.items()],
        "at": row.at.isoformat(),
        "clock_changes": made.clock_changes,
    }


def _drawn(shown: PlanShown) -> tuple[Drawing, ...]:
    """Return the pictures of a plan, drawn once for each quarter of an hour."""
    now = timezone.now()
    quarter = now.replace(minute=now.minute // 15 * 15, second=0, microsecond=0)
    return _pictures(days_of(shown, quarter), get_language())


@remembered(8, by_value)
def _pictures(days: Days, _language: str | None) -> tuple[Drawing, ...]:
    return drawings_of(days)


def _problem(plan: Plan, one: Problem) -> dict[str, str]:
    """Return a problem with the address of the page on which it is mended."""
    numbers = {"plan-lot": [plan.pk, one.pk], "batch": [one.pk]}.get(one.page, [plan.pk])
    return {"words": one.words, "name": one.name, "url": reverse(one.page, args=numbers) if one.page else ""}


@right(writes="helper")
def book_batches(request: HttpRequest, pk: int) -> HttpResponse:
    """Make the batches of a plan: all that are not made yet, or those that are named."""
    plan = kept_plan(pk)
    kept = PLAN.kept(pk)
    if kept is None or kept.result is None or PLAN.task.percent(pk) is not None:
        messages.error(request, _("The plan is still being made; make its batches when it is done."))
        return redirect("plan", pk)
    keys = request.POST.getlist("batch") or [one.key for one in shown_of(plan, kept.result).to_book]
    try:
        made = book(plan, request.POST.get("at", ""), keys, person(request))
    except PlanOutdated:
        messages.error(request, _("The plan has been updated meanwhile. Look at it again, then make its batches."))
        return redirect("plan", pk)
    except Spoiled as spoiled:
        words = _("No batch made. {food}: {verdict}. Plan again; the plan will leave it out.")
        names = {"food": spoiled.lot.name, "verdict": in_words(spoiled.lot.verdict_words)}
        messages.error(request, words.format_map(names))
        return redirect("plan", pk)
    if not made:
        messages.info(request, _("These batches already exist."))
        return redirect("plan", pk)
    count = len(made)
    words = ngettext(
        "{count} batch made, with food on its trays.", "{count} batches made, with food on their trays.", count
    )
    saved(request, made[0], words.format(count=count))
    return redirect("plan", pk)


@right(reads="viewer")
def plan_calendar(_request: HttpRequest, pk: int) -> HttpResponse:
    """Send the plan for a calendar."""
    plan = kept_plan(pk)
    shown = _made(plan)
    made = batches_calendar(plan.title, calendar_batches(shown), timezone.now().astimezone(UTC), reader())
    return _download(made, "text/calendar; charset=utf-8", f"{_name(plan)}.ics")


@right(reads="viewer")
def plan_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Send the plan for paper."""
    plan = kept_plan(pk)
    shown = _made(plan)
    kitchen, units = records.kitchen(), units_of(request)
    pdf = plan_sheet_pdf(
        sheet_of(plan, shown, units, kitchen.currency),
        today=timezone.localdate(),
        units=units,
        paper=kitchen.paper,
        translate=reader(),
    )
    return _download(pdf, "application/pdf", f"{_name(plan)}.pdf")


def _made(plan: Plan) -> PlanShown:
    kept = PLAN.kept(plan.pk)
    if kept is None or kept.result is None:
        raise Http404(_("Nothing planned yet."))
    return shown_of(plan, kept.result)


def _name(plan: Plan) -> str:
    return f"{slugify(plan.title) or 'plan'}-{plan.begin.isoformat()}"


def _download(content: bytes, kind: str, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type=kind)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response

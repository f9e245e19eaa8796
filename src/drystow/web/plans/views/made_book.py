"""Planned batches become batches of the kitchen."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from drystow.web.kit.notices import person, saved
from drystow.web.kit.words import in_words
from drystow.web.plans.booking import PlanOutdated, Spoiled, book, shown_of
from drystow.web.plans.making import QUEUE
from drystow.web.plans.models import Made
from drystow.web.plans.request import kept_plan


@require_POST
def book_batches(request: HttpRequest, pk: int) -> HttpResponse:
    """Make the batches of a plan: all that are not made yet, or those that are named."""
    plan = kept_plan(pk)
    row = Made.objects.filter(plan=plan).first()
    shown = None if row is None else shown_of(plan, row.result)
    if shown is None or QUEUE.percent(pk) is not None:
        messages.error(request, _("The plan is still being made; make its batches when it is done."))
        return redirect("plan", pk)
    keys = request.POST.getlist("batch") or [one.key for one in shown.to_book]
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

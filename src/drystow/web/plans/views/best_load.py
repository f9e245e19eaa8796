"""Best load: how to cut what is in the basket, and what of it goes on which tray, so that it is dry in time."""

from collections.abc import Mapping
from datetime import timedelta
from math import ceil, isfinite
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.errors import DrystowError, InputError, InputErrors
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.planning.load.load_plan import last_dry, times_of
from drystow.shown import DISPLAY, to_display
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import predict, tray_loads
from drystow.web.batches.models import Batch, Item
from drystow.web.batches.request import kept_batch, only_part, units_of
from drystow.web.batches.traypicture import looks_of
from drystow.web.foods.spec import foods_of
from drystow.web.kit.answers import Kept
from drystow.web.kit.notices import person, saved
from drystow.web.kit.records import Conflict, Gone
from drystow.web.kit.words import in_words
from drystow.web.plans.batch_adapters import load_question
from drystow.web.plans.forms_batch import (
    HOUR,
    USUAL_TIME,
    FoodWishForm,
    LoadWishesForm,
    food_initial,
    load_initial,
    load_wishes,
    tell_refusal,
)
from drystow.web.plans.found import FoundLoad
from drystow.web.plans.laying import USED, foods_view, lies_there, use_load, views_of
from drystow.web.plans.searching import BEST_LOAD, SearchState, answer_state

Foods = Mapping[str, Food]


@right(reads="viewer", writes="helper")
def show_best_load(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the wishes and what was found, as a page or, for htmx, what was found; a POST searches or uses it."""
    batch, units = kept_batch(pk), units_of(request)
    every = list(Item.objects.filter(batch=batch))
    items = [item for item in every if item.binned_at is None]
    foods, row = foods_of(item.food for item in items), BEST_LOAD.kept(pk)
    known = answer_state(BEST_LOAD, row, _fingerprint(batch, row, items, foods))
    action = request.POST.get("action", "") if request.method == "POST" else ""
    if action == "stop" and row is not None:
        BEST_LOAD.task.stop(pk)
        return redirect("best-load", pk)
    post = request.POST if action == "search" else None
    refusal, asked = "", row.asked if row is not None else {}
    if request.method == "POST" and batch.started_at is not None:
        refusal = _("The run has started; its load stays as it is.")
        post = None
    elif request.method == "POST" and post is None:
        refusal = _use(request, batch, items, known)
        if not refusal:
            return redirect("batch-trays", pk)
    if only_part(request) and request.method == "GET":
        shown = _found(batch, every, foods, known, units)
        return render(request, "plans/best_load_part.html", shown | {"batch": batch, "known": known})
    time = USUAL_TIME if asked else _time_now(batch)
    form = LoadWishesForm(post, units=units, initial=load_initial(asked, time))
    wishes = [FoodWishForm(post, units=units, item=item, initial=food_initial(asked, item)) for item in items]
    if post is not None and all([form.is_valid(), *(one.is_valid() for one in wishes)]):
        new = load_wishes(form, wishes)
        try:
            load_question(batch, new, items, foods)
        except (InputError, InputErrors) as problem:
            for one in problem.problems:
                tell_refusal(form, wishes, one)
        else:
            BEST_LOAD.ask(pk, new)
            return redirect(reverse("best-load", args=[pk]) + "#found")
    context = {"batch": batch, "here": "trays", "form": form, "wishes": wishes, "known": known, "refusal": refusal}
    return render(request, "plans/best_load.html", context | _found(batch, every, foods, known, units))


def _fingerprint(batch: Batch, row: Kept[FoundLoad] | None, items: list[Item], foods: Foods) -> str:
    """Return what the search rests on now, nothing when the engine refuses it."""
    try:
        return "" if row is None else load_question(batch, row.asked, items, foods).fingerprint
    except DrystowError:
        return ""


def _time_now(batch: Batch) -> float:
    """Return by when 8 of 10 runs of the load as it lies are dry, in half hours; else the usual time [s]."""
    loads = tray_loads(batch)
    try:
        spread = predict(batch, loads)[1] if loads else None
    except DrystowError:
        return USUAL_TIME
    time = USUAL_TIME if spread is None else times_of(last_dry(spread.runs.dry)).p80
    return ceil(time / HOUR * 2) / 2 * HOUR if isfinite(time) else USUAL_TIME


def _use(request: HttpRequest, batch: Batch, items: list[Item], known: SearchState[FoundLoad]) -> str:
    """Write the load that was found into the batch, and return why that cannot be, else nothing."""
    found = known.result
    if known.row is None or found is None:
        return _("Nothing found yet; search first.")
    if not known.current or request.POST.get("fingerprint") != known.row.fingerprint:
        return _("Someone changed the batch or your limits meanwhile, so this load no longer fits. Search again.")
    try:
        last = use_load(items, found, who=person(request))
    except (Conflict, Gone):
        return _("Someone changed a food of this batch at the same moment. Look at it, then search again.")
    saved(request, last, USED, _("What is left over stays in the basket.") if found.left else "")
    return ""


def _found(batch: Batch, every: list[Item], foods: Foods, known: SearchState[FoundLoad], units: str) -> dict[str, Any]:
    found = known.result
    if known.row is None or found is None:
        return {"problems": [one.words for one in known.row.problems]} if known.row is not None else {}
    items = [item for item in every if item.binned_at is None]
    looks = looks_of(every)
    shown = foods_view(items, looks, found)
    return {
        "found": found,
        "wished": known.row.asked["time_h"] * HOUR,
        "there": sum(item.mass_kg for item in items),
        "foods": shown,
        "too_warm": ", ".join(row.item.name for row in shown if row.too_warm),
        "views": views_of(batch, items, foods, looks, found),
        "per_mass": _per_mass(found, units),
        "by": None if found.sure is None else timezone.now() + timedelta(seconds=found.sure),
        "used": known.current and lies_there(tray_loads(batch), items, found),
    }


def _per_mass(found: FoundLoad, units: str) -> str:
    """Return the electricity per weight of fresh food in words."""
    kwh = found.energy / 3.6e6 / to_display(found.mass, "mass", units)
    return in_words(msg("{kwh:.2f} kWh per {unit} of fresh food", kwh=kwh, unit=msg(DISPLAY["mass"][units][0])))

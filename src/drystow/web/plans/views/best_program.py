"""Best program: the fastest shelf program that keeps the ice of this load cool enough, beside the batch's own."""

from copy import copy
from functools import lru_cache
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from drystow.errors import DrystowError, InputError, InputErrors
from drystow.messages import msg
from drystow.reports.pictures import limit_picture
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import dryer_of, tray_loads
from drystow.web.batches.models import Batch
from drystow.web.batches.request import kept_batch, only_part, units_of
from drystow.web.batches.traypicture import tray_words
from drystow.web.kit import records
from drystow.web.kit.answers import Kept
from drystow.web.kit.drawing import Drawing, drawing_of
from drystow.web.kit.notices import person, saved
from drystow.web.kit.records import Conflict, Gone
from drystow.web.plans.batch_adapters import program_question
from drystow.web.plans.forms_batch import SURE, ProgramWishesForm, program_initial
from drystow.web.plans.found import FoundProgram
from drystow.web.plans.searching import BEST_PROGRAM, SearchState, answer_state

MOST_KEPT = 32
Line = tuple[tuple[float, float], ...]


@right(reads="viewer", writes="helper")
def show_best_program(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the wishes and what was found, as a page or, for htmx, what was found; a POST searches or uses it."""
    batch, units = kept_batch(pk), units_of(request)
    row = BEST_PROGRAM.kept(pk)
    known = answer_state(BEST_PROGRAM, row, _fingerprint(batch, row))
    action = request.POST.get("action", "") if request.method == "POST" else ""
    if action == "stop" and row is not None:
        BEST_PROGRAM.task.stop(pk)
        return redirect("best-program", pk)
    post = request.POST if action == "search" else None
    refusal = ""
    if request.method == "POST" and batch.started_at is not None:
        refusal, post = _("The run has started; its program stays as it is."), None
    elif request.method == "POST" and post is None:
        refusal = _use(request, batch, known)
        if not refusal:
            return redirect("batch-program", pk)
    if only_part(request) and request.method == "GET":
        shown = _found(batch, known, units)
        return render(request, "plans/best_program_part.html", shown | {"batch": batch, "known": known})
    initial = program_initial(row.asked if row is not None else {})
    form = ProgramWishesForm(post, units=units, initial=initial)
    problems = _problems(batch)
    if post is not None and form.is_valid() and not problems:
        BEST_PROGRAM.ask(pk, form.wishes())
        return redirect(reverse("best-program", args=[pk]) + "#found")
    context = {"batch": batch, "here": "program", "form": form, "known": known, "refusal": refusal}
    context |= {"in_the_way": problems, "warmest": dryer_of(batch.dryer).shelf_highest}
    return render(request, "plans/best_program.html", context | _found(batch, known, units))


def _problems(batch: Batch) -> list[str]:
    """Return why no program can be searched for this load."""
    loads = tray_loads(batch)
    if not loads:
        return [_("There is no food on the trays yet.")]
    try:
        program_question(batch, {})
    except (InputError, InputErrors) as error:
        return [tray_words(one, loads) for one in error.problems]
    return []


def _fingerprint(batch: Batch, row: Kept[FoundProgram] | None) -> str:
    """Return what the search rests on now, before its own program was used; nothing when the engine refuses it."""
    if row is None:
        return ""
    if row.result is not None and _is_used(batch, row.result):
        batch = copy(batch)
        batch.program = row.result.own.program
    try:
        return program_question(batch, row.asked).fingerprint
    except DrystowError:
        return ""


def _is_used(batch: Batch, found: FoundProgram) -> bool:
    return bool(batch.program == found.found.program)


def _use(request: HttpRequest, batch: Batch, known: SearchState[FoundProgram]) -> str:
    """Write the program that was found into the batch, and return why that cannot be, else nothing."""
    found = known.result
    if known.row is None or found is None:
        return _("Nothing found yet; search first.")
    if not known.current or request.POST.get("fingerprint") != known.row.fingerprint:
        return _("Someone changed the batch or your limits meanwhile, so this program no longer fits. "
                 "Search again.")  # fmt: skip
    if not found.usable:
        return _("No program keeps the limits here. This one may pass a limit by more, so it is not used.")
    changes, told = {"program": found.found.program}, msg("The batch now uses this program.")
    try:
        written = records.change(batch, changes, expected=batch.version, who=person(request), words=told)
    except (Conflict, Gone):
        return _("Someone changed this batch at the same moment. Look at it, then search again.")
    saved(request, written, told)
    return ""


def _found(batch: Batch, known: SearchState[FoundProgram], units: str) -> dict[str, Any]:
    found = known.result
    if known.row is None or found is None:
        return {"problems": [one.words for one in known.row.problems]} if known.row is not None else {}
    ways = [(_("Found"), found.found), (_("Yours"), found.own)]
    return {
        "found": found,
        "ways": ways,
        "wished": SURE.get(known.row.asked["confidence"], ""),
        "drawing": _drawn(found.found.line, found.own.line, units, get_language()),
        "used": known.current and _is_used(batch, found),
        "sooner": _sooner(found),
    }


def _sooner(found: FoundProgram) -> float | None:
    """Return by how much the load is dry sooner, None where the two do not compare [s]."""
    return found.saved if found.safe and found.own_safe and found.saved and found.saved > 60.0 else None


@lru_cache(MOST_KEPT)
def _drawn(found: Line, own: Line, units: str, _language: str | None) -> Drawing | None:
    picture = limit_picture(found, own, units)
    return None if picture is None else drawing_of(picture)

"""Searches for one batch: the load that is best for its basket, the fastest program that its trays allow."""

from abc import ABC, abstractmethod
from collections.abc import Callable
from copy import copy
from datetime import timedelta
from math import ceil, isfinite
from typing import Any, ClassVar

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.errors import DrystowError, InputError, InputErrors
from drystow.messages import msg
from drystow.numerics.remembered import remembered
from drystow.planning.load.load_plan import last_dry, times_of
from drystow.reports.pictures import limit_picture
from drystow.shown import DISPLAY, to_display
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import dryer_of, predict, tray_loads
from drystow.web.batches.models import Batch, Item
from drystow.web.batches.request import kept_batch, only_part, units_of
from drystow.web.batches.traypicture import looks_of, tray_words
from drystow.web.foods.spec import foods_of
from drystow.web.kit import records
from drystow.web.kit.answers import Kind
from drystow.web.kit.drawing import Drawing, drawing_of
from drystow.web.kit.forms import sent
from drystow.web.kit.notices import person, saved
from drystow.web.kit.records import Conflict, Gone
from drystow.web.kit.words import in_words
from drystow.web.plans.batch_adapters import load_question, program_question
from drystow.web.plans.forms_batch import (
    HOUR,
    SURE,
    USUAL_TIME,
    FoodWishForm,
    LoadWishesForm,
    ProgramWishesForm,
    food_initial,
    load_initial,
    load_wishes,
    program_initial,
    tell_refusal,
)
from drystow.web.plans.found import BEST_LOAD, BEST_PROGRAM, FoundLoad, FoundProgram, answer_state
from drystow.web.plans.laying import USED, foods_view, lies_there, use_load, views_of

View = Callable[[HttpRequest, int], HttpResponse]
Line = tuple[tuple[float, float], ...]
MOST_KEPT = 32


class SearchPage(ABC):
    """A search of a batch, as its page shows it.

    kind: of its answer
    page: name of its address, and of its template with other signs
    stage: of the batch, to which it belongs
    begun: why nothing is searched or used once the run has started
    unfit: why what was found is not used when the batch or the limits are others by now
    taken: why it is not used when somebody writes at the same moment
    """

    kind: ClassVar[Kind[Any]]
    page: ClassVar[str]
    stage: ClassVar[str]
    begun: ClassVar[Any]
    unfit: ClassVar[Any]
    taken: ClassVar[Any]

    def __init__(self, batch: Batch, units: str) -> None:
        self.batch, self.units, row = batch, units, self.kind.kept(batch.pk)
        self.asked: Any = row.asked if row is not None else {}
        try:
            fingerprint = "" if row is None else self.fingerprint(row.result)
        except DrystowError:  # the engine refuses what it would rest on now
            fingerprint = ""
        self.known = answer_state(self.kind, row, fingerprint)

    @abstractmethod
    def fingerprint(self, found: Any) -> str:
        """Return what the search rests on now."""

    @abstractmethod
    def forms(self, sent: dict[str, Any]) -> list[Any]:
        """Return the forms of the limits, that of the whole batch first."""

    @abstractmethod
    def wishes(self, forms: list[Any]) -> Any:
        """Return what is searched for, None with the reasons on the forms or on the page."""

    @abstractmethod
    def use(self, found: Any, who: str) -> tuple[Any, ...]:
        """Write what was found into the batch; return the changed record, what was done, and what to do next."""

    @abstractmethod
    def told(self, found: Any) -> dict[str, Any]:
        """Return what the page tells of what was found."""

    def more(self) -> dict[str, Any]:
        """Return what else the page tells."""
        return {}

    def unusable(self, found: Any) -> str:
        """Return why what was found is never used, nothing when it may be."""
        return ""

    def found(self) -> dict[str, Any]:
        """Return what the page tells of the answer."""
        row, result = self.known.row, self.known.result
        context = {"batch": self.batch, "known": self.known, "page": self.page, "stop": f"{self.page}-stop"}
        if row is None or result is None:
            return context | {"problems": [one.words for one in row.problems] if row is not None else ()}
        return context | self.told(result)

    def refusal(self, request: HttpRequest) -> str:
        """Write what was found into the batch and return why that cannot be, else nothing."""
        row, found = self.known.row, self.known.result
        if self.batch.started_at is not None:
            return str(self.begun)
        if row is None or found is None:
            return _("Nothing found yet; search first.")
        if not self.known.current or request.POST.get("fingerprint") != row.fingerprint:
            return str(self.unfit)
        if why := self.unusable(found):
            return why
        try:
            saved(request, *self.use(found, person(request)))
        except (Conflict, Gone):
            return str(self.taken)
        return ""

    def shown(self, request: HttpRequest, forms: list[Any], refusal: str = "") -> HttpResponse:
        """Show the page."""
        context = {"here": self.stage, "form": forms[0], "wishes": forms[1:], "refusal": refusal}
        return render(request, self.template(), context | self.more() | self.found())

    def template(self, part: str = "") -> str:
        """Return the template of the page, or of its part that changes."""
        return f"plans/{self.page.replace('-', '_')}{part}.html"


def search_page(search: type[SearchPage]) -> View:
    """Return the page with the limits and what was found, or, for htmx, what was found; a POST searches."""

    @right(reads="viewer", writes="helper")
    def view(request: HttpRequest, pk: int) -> HttpResponse:
        page, posted = search(kept_batch(pk), units_of(request)), request.method == "POST"
        if only_part(request) and not posted:
            return render(request, page.template("_part"), page.found())
        if posted and page.batch.started_at is not None:
            return page.shown(request, page.forms({}), str(page.begun))
        forms = page.forms(sent(request))
        wishes = page.wishes(forms) if False not in [one.is_valid() for one in forms] else None
        if wishes is None:
            return page.shown(request, forms)
        page.kind.ask(pk, wishes)
        return redirect(reverse(page.page, args=[pk]) + "#found")

    return view


def stop_search(search: type[SearchPage]) -> View:
    """Return the view that stops a search."""

    @right(writes="helper", page=search.page)
    def view(request: HttpRequest, pk: int) -> HttpResponse:
        search.kind.task.stop(kept_batch(pk).pk)
        return redirect(search.page, pk)

    return view


def use_found(search: type[SearchPage]) -> View:
    """Return the view that writes what was found into the batch."""

    @right(writes="helper", page=search.page)
    def view(request: HttpRequest, pk: int) -> HttpResponse:
        page = search(kept_batch(pk), units_of(request))
        refusal = page.refusal(request)
        return page.shown(request, page.forms({}), refusal) if refusal else redirect(f"batch-{page.stage}", pk)

    return view


class LoadSearch(SearchPage):
    """How to cut what is in the basket, and what of it goes on which tray, so that it is dry in time."""

    kind, page, stage = BEST_LOAD, "best-load", "trays"
    begun = lazy("The run has started; its load stays as it is.")
    unfit = lazy("Someone changed the batch or your limits meanwhile, so this load no longer fits. Search again.")
    taken = lazy("Someone changed a food of this batch at the same moment. Look at it, then search again.")

    def __init__(self, batch: Batch, units: str) -> None:
        self.every = list(Item.objects.filter(batch=batch))
        self.items = [item for item in self.every if item.binned_at is None]
        self.foods = foods_of(item.food for item in self.items)
        super().__init__(batch, units)

    def fingerprint(self, found: Any) -> str:
        """Return what the search rests on now."""
        return load_question(self.batch, self.asked, self.items, self.foods).fingerprint

    def forms(self, sent: dict[str, Any]) -> list[Any]:
        """Return the limits of the load, then those of each food."""
        usual: dict[str, Any] = {"units": self.units} | sent
        first = load_initial(self.asked, USUAL_TIME if self.asked else _time_now(self.batch))
        wishes = [FoodWishForm(item=one, initial=food_initial(self.asked, one), **usual) for one in self.items]
        return [LoadWishesForm(initial=first, **usual), *wishes]

    def wishes(self, forms: list[Any]) -> Any:
        """Return what is searched for, None with the reasons on the forms."""
        new = load_wishes(forms[0], forms[1:])
        try:
            load_question(self.batch, new, self.items, self.foods)
        except (InputError, InputErrors) as problem:
            for one in problem.problems:
                tell_refusal(forms[0], forms[1:], one)
            return None
        return new

    def use(self, found: FoundLoad, who: str) -> tuple[Any, ...]:
        """Lay the load on the trays."""
        advice = _("What is left over stays in the basket.") if found.left else ""
        return use_load(self.items, found, who=who), USED, advice

    def told(self, found: FoundLoad) -> dict[str, Any]:
        """Return the load, how it lies on the trays, and what of it is too much or too warm."""
        looks = looks_of(self.every)
        shown = foods_view(self.items, looks, found)
        return {
            "found": found,
            "wished": self.asked["time_h"] * HOUR,
            "there": sum(item.mass_kg for item in self.items),
            "foods": shown,
            "too_warm": ", ".join(row.item.name for row in shown if row.too_warm),
            "views": views_of(self.batch, self.items, self.foods, looks, found),
            "per_mass": _per_mass(found, self.units),
            "by": None if found.sure is None else timezone.now() + timedelta(seconds=found.sure),
            "used": self.known.current and lies_there(tray_loads(self.batch), self.items, found),
        }


class ProgramSearch(SearchPage):
    """The fastest shelf program that keeps the ice of the load cool enough, beside the batch's own."""

    kind, page, stage = BEST_PROGRAM, "best-program", "program"
    begun = lazy("The run has started; its program stays as it is.")
    unfit = lazy("Someone changed the batch or your limits meanwhile, so this program no longer fits. Search again.")
    taken = lazy("Someone changed this batch at the same moment. Look at it, then search again.")

    def fingerprint(self, found: FoundProgram | None) -> str:
        """Return what the search rests on now, before its own program was used."""
        batch = self.batch
        if found is not None and self._is_used(found):
            batch = copy(batch)
            batch.program = found.own.program
        return program_question(batch, self.asked).fingerprint

    def forms(self, sent: dict[str, Any]) -> list[Any]:
        """Return the limits."""
        return [ProgramWishesForm(units=self.units, initial=program_initial(self.asked), **sent)]

    def wishes(self, forms: list[Any]) -> Any:
        """Return what is searched for, None when no program can be searched for this load."""
        return None if self._problems() else forms[0].wishes()

    def more(self) -> dict[str, Any]:
        """Return what is in the way of a search, and how warm the shelf can be."""
        return {"in_the_way": self._problems(), "warmest": dryer_of(self.batch.dryer).shelf_highest}

    def unusable(self, found: FoundProgram) -> str:
        """Return why the program is not used, nothing when it keeps the limits."""
        words = _("No program keeps the limits here. This one may pass a limit by more, so it is not used.")
        return "" if found.usable else words

    def use(self, found: FoundProgram, who: str) -> tuple[Any, ...]:
        """Make the program the batch's own."""
        program, done = {"program": found.found.program}, msg("The batch now uses this program.")
        return records.change(self.batch, program, expected=self.batch.version, who=who, words=done), done

    def told(self, found: FoundProgram) -> dict[str, Any]:
        """Return the program beside the batch's own."""
        return {
            "found": found,
            "ways": [(_("Found"), found.found), (_("Yours"), found.own)],
            "wished": SURE.get(self.asked["confidence"], ""),
            "drawing": _drawn(found.found.line, found.own.line, self.units, get_language()),
            "used": self.known.current and self._is_used(found),
            "sooner": _sooner(found),
        }

    def _is_used(self, found: FoundProgram) -> bool:
        return bool(self.batch.program == found.found.program)

    def _problems(self) -> list[str]:
        """Return why no program can be searched for this load."""
        loads = tray_loads(self.batch)
        if not loads:
            return [_("There is no food on the trays yet.")]
        try:
            program_question(self.batch, {})
        except (InputError, InputErrors) as error:
            return [tray_words(one, loads) for one in error.problems]
        return []


def _time_now(batch: Batch) -> float:
    """Return by when 8 of 10 runs of the load as it lies are dry, in half hours; else the usual time [s]."""
    loads = tray_loads(batch)
    try:
        spread = predict(batch, loads)[1] if loads else None
    except DrystowError:
        return USUAL_TIME
    time = USUAL_TIME if spread is None else times_of(last_dry(spread.runs.dry)).p80
    return ceil(time / HOUR * 2) / 2 * HOUR if isfinite(time) else USUAL_TIME


def _per_mass(found: FoundLoad, units: str) -> str:
    """Return the electricity per weight of fresh food in words."""
    kwh = found.energy / 3.6e6 / to_display(found.mass, "mass", units)
    return in_words(msg("{kwh:.2f} kWh per {unit} of fresh food", kwh=kwh, unit=msg(DISPLAY["mass"][units][0])))


def _sooner(found: FoundProgram) -> float | None:
    """Return by how much the load is dry sooner, None where the two do not compare [s]."""
    return found.saved if found.safe and found.own_safe and found.saved and found.saved > 60.0 else None


@remembered(MOST_KEPT)
def _drawn(found: Line, own: Line, units: str, _language: str | None) -> Drawing | None:
    picture = limit_picture(found, own, units)
    return None if picture is None else drawing_of(picture)

"""From a noted power cut of a batch to the engine and back."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta

from django.utils.translation import gettext_noop as later

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError, InputErrors
from drystow.evidence.outage import LONGEST, survive
from drystow.evidence.outage_advice import ADVICE, NAMES
from drystow.evidence.outage_result import Outage, OutageResult, TrayOutage
from drystow.web.batches.adapters import load_of, predict
from drystow.web.batches.models import Batch, Happening, Load
from drystow.web.site.memory import Memory
from drystow.web.site.words import problem_words

KEPT = 32  # outages remembered

TOO_EARLY = later(
    "The power went before the vacuum was on, so the food may not have been frozen yet. Nothing can be calculated: "
    "treat it as food without refrigeration. Measure its temperature; what spoils easily and was above 4 °C (40 °F) "
    "for more than 2 hours is thrown away."
)
NO_MINUTES = later("Write for how many minutes the power was off, then it can be said what that did to each tray.")

_results: Memory[OutageResult] = Memory(KEPT)


@dataclass(frozen=True)
class TrayAfter:
    """One food after a power cut.

    tray: number of its tray
    after: what the engine says
    name: of the advice, to be told
    """

    tray: int
    after: TrayOutage
    name: str


@dataclass(frozen=True)
class PowerCut:
    """A noted power cut and what it did.

    row: as noted
    result: of the engine, None when it cannot be calculated
    trays: one for each food
    problem: why there is no result, in the reader's language
    untold: why there is no result, still to be translated
    """

    row: Happening
    result: OutageResult | None = None
    trays: tuple[TrayAfter, ...] = ()
    problem: str = ""
    untold: str = ""

    @property
    def summary(self) -> list[tuple[str, str, list[TrayAfter]]]:
        """Return the advices that occur, worst first, each with its name and its trays."""
        return [
            (advice, NAMES[advice], [one for one in self.trays if one.after.advice == advice])
            for advice in reversed(ADVICE)
            if any(one.after.advice == advice for one in self.trays)
        ]

    @property
    def later(self) -> tuple[timedelta, timedelta] | None:
        """Return by how much later the run ends, at least and at most."""
        if self.result is None:
            return None
        return timedelta(seconds=self.result.delay.low), timedelta(seconds=self.result.delay.high)


def power_cuts(batch: Batch, loads: list[Load], rows: Iterable[Happening]) -> list[PowerCut]:
    """Return the power cuts among what happened to a batch, with what they did.

    loads: from `tray_loads`
    """
    cuts = [row for row in rows if row.kind == "power"]
    return [power_cut(batch, loads, row) for row in cuts] if batch.started_at is not None else []


def power_cut(batch: Batch, loads: list[Load], row: Happening) -> PowerCut:
    """Return what a noted power cut did to a batch.

    loads: from `tray_loads`
    """
    if not row.minutes:
        return PowerCut(row, untold=NO_MINUTES)
    if batch.started_at is None:
        return PowerCut(row, untold=TOO_EARLY)
    try:
        load = load_of(batch, loads, overload=True)
        began = predict(batch, loads, overload=True).drying_start
        start = (row.at - batch.started_at).total_seconds() - began
        if start < 0.0:
            return PowerCut(row, untold=TOO_EARLY)
        room = load.dryer.room if row.room_c is None else row.room_c + ZERO_CELSIUS
        outage = Outage(start, min(row.minutes * 60.0, LONGEST), row.opened, room)
        key = repr((load, outage))
        result = _results.keep(key, _results.get(key) or survive(load, outage))
    except (InputError, InputErrors) as problem:
        return PowerCut(row, problem=problem_words(problem))
    after = tuple(TrayAfter(place.tray, one, NAMES[one.advice]) for place, one in zip(loads, result.trays, strict=True))
    return PowerCut(row, result, after)

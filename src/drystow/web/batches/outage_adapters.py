"""From a noted power cut of a batch to the engine and back."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils.translation import gettext_noop as later

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError, InputErrors
from drystow.evidence.outage.advice import ADVICE, NAMES, Outage, OutageResult, TrayOutage
from drystow.evidence.outage.simulate import LONGEST, survive
from drystow.machine import load as engine
from drystow.messages import msg
from drystow.shown import REFRIGERATOR
from drystow.web.batches.adapters import load_of, tray_loads
from drystow.web.batches.drying_clock import DryingClock, began_at, pauses_of
from drystow.web.batches.models import Batch, Happening, Load
from drystow.web.dryers.taught import calibration_for
from drystow.web.kit.memory import Memory
from drystow.web.kit.words import problem_words

KEPT = 32  # outages remembered

TOO_EARLY = msg(
    "The power went out before the vacuum was on, so the food may not have been frozen yet. "
    "Nothing can be calculated: treat it as food without refrigeration. Take its "
    "temperature, and throw out perishable food that was above {cold} for more than 2 hours.",
    cold=REFRIGERATOR,
)
NO_MINUTES = later("Enter how many minutes the power was off to see what that did to each tray.")

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
    waited: how long the vacuum waited for the power, None when it was on already
    """

    row: Happening
    result: OutageResult | None = None
    trays: tuple[TrayAfter, ...] = ()
    problem: str = ""
    untold: str = ""
    waited: timedelta | None = None

    @property
    def summary(self) -> list[tuple[str, str, list[TrayAfter]]]:
        """Return the advices that occur, worst first, each with its name and its trays."""
        return [
            (advice, NAMES[advice], [one for one in self.trays if one.after.advice == advice])
            for advice in reversed(ADVICE)
            if any(one.after.advice == advice for one in self.trays)
        ]

    @property
    def shift(self) -> tuple[timedelta, timedelta, timedelta] | None:
        """Return by how much later one in ten, half and nine in ten runs end."""
        if self.result is None:
            return None if self.waited is None else (self.waited, self.waited, self.waited)
        early, middle, late = (timedelta(seconds=one) for one in self.result.shift)
        return early, middle, late

    @property
    def took(self) -> timedelta | None:
        """Return the time of the run that it cost, as the forecast and what was seen both count it."""
        return None if self.shift is None else self.shift[1]


def power_cuts(
    batch: Batch, loads: list[Load], rows: Iterable[Happening], began: datetime | None = None
) -> list[PowerCut]:
    """Return the power cuts among what happened to a batch, with what they did, each after those before it.

    loads: from `tray_loads`
    began: when drying began, asked for when None
    """
    powers = sorted((row for row in rows if row.kind == "power"), key=lambda row: (row.at, row.pk))
    if not powers or batch.started_at is None:
        return []
    try:
        began = began or began_at(batch, loads)
        load = load_of(batch, loads, overload=True)
    except (InputError, InputErrors) as problem:
        return [PowerCut(row, problem=problem_words(problem)) for row in powers]
    cuts: list[PowerCut] = []
    for row in powers:
        took = {cut.row.pk: cut.took for cut in cuts if cut.took is not None}
        earlier = pauses_of([cut.row for cut in cuts], (), load.dryer.pump_down, took)
        if not row.minutes:
            cuts.append(PowerCut(row, untold=NO_MINUTES))
        elif began is None or row.at < began:
            waited = timedelta(minutes=row.minutes) if row.at >= batch.started_at else None
            cuts.append(PowerCut(row, untold=TOO_EARLY, waited=waited))
        else:
            start = DryingClock(began, None, earlier).dried_until(row.at)
            cuts.append(_cut(batch, load, loads, row, (start, min(row.minutes * 60.0, LONGEST))))
    return cuts


def cuts_of(batch: Batch, powers: Iterable[Happening] | None = None) -> Iterator[PowerCut]:
    """Return what power cuts did to a batch; worked out only when somebody asks, which is before anything was seen.

    powers: those that were noted, read when None
    """
    rows = list(Happening.objects.kept().filter(batch=batch, kind="power") if powers is None else powers)
    if rows:
        yield from power_cuts(batch, tray_loads(batch), rows)


def _cut(batch: Batch, load: engine.Load, loads: list[Load], row: Happening, when: tuple[float, float]) -> PowerCut:
    """Return what a noted power cut did to a batch.

    when: drying time until then, and how long the power was off [s]
    """
    room = load.dryer.room if row.room_c is None else row.room_c + ZERO_CELSIUS
    outage = Outage(*when, row.opened, room)
    known = calibration_for(batch.dryer)
    key = repr((load, outage, known))
    try:
        result = _results.keep(key, _results.get(key) or survive(load, outage, known=known))
    except (InputError, InputErrors) as problem:
        return PowerCut(row, problem=problem_words(problem))
    after = tuple(TrayAfter(place.tray, one, NAMES[one.advice]) for place, one in zip(loads, result.trays, strict=True))
    return PowerCut(row, result, after)

"""When a batch dried, and its power cuts: from what was noted to the engine and back."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType

from django.utils.translation import gettext_noop as later

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError, InputErrors
from drystow.evidence.dryness.observed import ONE_OPENING
from drystow.evidence.outage.advice import ADVICE, NAMES, Outage, OutageResult, TrayOutage
from drystow.evidence.outage.simulate import LONGEST, survive
from drystow.machine import load as engine
from drystow.messages import msg
from drystow.numerics.remembered import by_value, remembered
from drystow.shown import REFRIGERATOR
from drystow.web.batches import run_readings as sensors
from drystow.web.batches.adapters import load_of, predict_overload, tray_loads
from drystow.web.batches.models import Batch, Happening, Load, Weighing
from drystow.web.dryers.lessons import calibration_for
from drystow.web.kit.words import page_problem_words


@dataclass(frozen=True)
class DryingClock:
    """When a batch dried.

    began: vacuum on
    ended: end of the run, None while it goes on
    pauses: from and until when it did not dry, in order, none touching another
    """

    began: datetime
    ended: datetime | None = None
    pauses: tuple[tuple[datetime, datetime], ...] = ()

    def dried_until(self, moment: datetime) -> float:
        """Return how long the batch had been drying at a moment, 0 before it began [s]."""
        end = moment if self.ended is None else min(moment, self.ended)
        away = sum((max(min(end, back) - max(self.began, out), timedelta()) for out, back in self.pauses), timedelta())
        return max((end - self.began - away).total_seconds(), 0.0)


def began_at(batch: Batch, loads: list[Load] | None = None) -> datetime | None:
    """Return when drying began: as somebody wrote, else when the measured pressure fell, else when the food was frozen
    as predicted, later by the power cuts before that; None: nobody knows.
    """
    if batch.drying_began_at is not None or batch.started_at is None:
        return batch.drying_began_at
    measured = sensors.measured_start(batch)
    if measured is not None:
        return measured
    hours = batch.prediction.get("drying_start_h")
    if hours is None:
        hours = predict_overload(batch, loads).drying_start / 3600.0
    began = batch.started_at + timedelta(hours=hours)
    cuts = Happening.objects.kept().filter(batch=batch, kind="power", minutes__gt=0, at__gte=batch.started_at)
    for at, minutes in cuts.order_by("at", "pk").values_list("at", "minutes"):
        began += timedelta(minutes=minutes or 0.0) if at < began else timedelta()
    return began


def pauses_of(
    happenings: Iterable[Happening],
    weighings: Iterable[Weighing],
    pump_down: float,
    took: Mapping[int, timedelta] = MappingProxyType({}),
) -> tuple[tuple[datetime, datetime], ...]:
    """Return when a batch did not dry: power cuts, and opened doors that no weighing tells of.

    pump_down: time until the vacuum is back [s]
    took: by how much later the run ends, of power cuts whose course is known
    """
    near = timedelta(seconds=ONE_OPENING)
    taken = [
        (row.at - timedelta(minutes=row.outside_min) - near, row.at + timedelta(minutes=row.outside_min) + near)
        for row in weighings
    ]
    spans = [
        (row.at, row.at + took.get(row.pk, timedelta(minutes=row.minutes, seconds=pump_down)))
        for row in happenings
        if row.minutes and (row.kind == "power" or (row.kind == "door" and not _told(row, taken)))
    ]
    joined: list[tuple[datetime, datetime]] = []
    for out, back in sorted(spans):
        if joined and out <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], back))
        else:
            joined.append((out, back))
    return tuple(joined)


def _told(door: Happening, taken: Iterable[tuple[datetime, datetime]]) -> bool:
    closed = door.at + timedelta(minutes=door.minutes or 0.0)
    return any(out <= door.at and closed <= back for out, back in taken)


KEPT = 32  # outages remembered

TOO_EARLY = msg(
    "The power went out before the vacuum was on, so the food may not have been frozen yet. "
    "Nothing can be calculated: treat it as food without refrigeration. Take its "
    "temperature, and throw out perishable food that was above {cold} for more than 2 hours.",
    cold=REFRIGERATOR,
)
NO_MINUTES = later("Enter how many minutes the power was off to see what that did to each tray.")

_survived = remembered(KEPT, by_value)(survive)


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
        return [PowerCut(row, problem=page_problem_words(problem)) for row in powers]
    cuts: list[PowerCut] = []
    for row in powers:
        took = {cut.row.pk: cut.took for cut in cuts if cut.took is not None}
        earlier = pauses_of([cut.row for cut in cuts], (), load.rig.dryer.pump_down, took)
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
    room = load.rig.dryer.room if row.room_c is None else row.room_c + ZERO_CELSIUS
    outage = Outage(*when, row.opened, room)
    known = calibration_for(batch.dryer)
    try:
        result = _survived(load, outage, known=known)
    except (InputError, InputErrors) as problem:
        return PowerCut(row, problem=page_problem_words(problem))
    after = tuple(TrayAfter(place.tray, one, NAMES[one.advice]) for place, one in zip(loads, result.trays, strict=True))
    return PowerCut(row, result, after)

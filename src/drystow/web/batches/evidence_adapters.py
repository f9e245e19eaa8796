"""From what was seen of a batch to the engine's evidence, on a clock that counts drying only."""

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from drystow.evidence import observed
from drystow.evidence.observed import ONE_OPENING, OPENED, ActivityReading, Cut, Evidence, OvenSample, Weighed, rows_of
from drystow.machine.draws import Knowledge
from drystow.machine.load import Load
from drystow.web.batches.adapters import load_of, predict
from drystow.web.batches.models import Batch, Happening, PressureRise, Sample, Weighing
from drystow.web.batches.models import Load as TrayLoad
from drystow.web.dryers.taught import known_for
from drystow.web.readings import adapters as sensors

KILO = 1000.0


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


@dataclass(frozen=True)
class Question:
    """What the engine is asked about a batch.

    load: food, dryer and program
    evidence: what was seen; tray numbers are places in `trays`, from 1
    groups: numbers of the load's items (from 0) of each tray
    trays: numbers of the trays as the batch has them
    clock: when it dried
    unheard: how many things were seen before drying began
    known: what earlier batches of the dryer taught
    marks: which readings of its sensors there are
    """

    load: Load
    evidence: Evidence
    groups: tuple[tuple[int, ...], ...]
    trays: tuple[int, ...]
    clock: DryingClock
    unheard: int
    known: Knowledge = field(default_factory=dict)
    marks: tuple[tuple[int, int, int], ...] = ()

    def now(self, moment: datetime) -> float:
        """Return a moment as the engine counts it, not before the last thing that was seen [s]."""
        seen = [row.time for row in rows_of(self.evidence)]
        return max([self.clock.dried_until(moment), *seen])

    @property
    def fingerprint(self) -> str:
        """Return a hash of everything that the answer rests on, besides the clock on the wall."""
        return hashlib.sha256(repr(self).encode()).hexdigest()


def began_at(batch: Batch, loads: list[TrayLoad] | None = None) -> datetime | None:
    """Return when drying began: as somebody wrote, else when the measured pressure fell, else when the food was frozen
    as predicted; None: nobody knows.
    """
    if batch.drying_began_at is not None or batch.started_at is None:
        return batch.drying_began_at
    measured = sensors.measured_start(batch)
    if measured is not None:
        return measured
    hours = batch.prediction.get("drying_start_h")
    if hours is not None:
        return batch.started_at + timedelta(hours=hours)
    return batch.started_at + timedelta(seconds=predict(batch, loads, overload=True).drying_start)


def question_of(batch: Batch, loads: list[TrayLoad]) -> Question | None:
    """Return what the engine is asked about a batch; None when it has no food or has not begun to dry.

    loads: from `tray_loads`
    Raises `InputErrors` with all that the engine refuses of the load.
    """
    began = began_at(batch, loads) if loads else None
    if began is None or began > timezone.now():
        return None
    load = load_of(batch, loads, overload=True)
    trays = tuple(sorted({row.tray for row in loads}))
    weighings = list(Weighing.objects.filter(batch=batch, corrected_by=None).order_by("at", "pk"))
    samples = list(Sample.objects.filter(batch=batch, corrected_by=None).order_by("at", "pk"))
    happenings = list(Happening.objects.kept().filter(batch=batch).order_by("at", "pk"))
    seen: list[Any] = [*weighings, *samples, *(row for row in happenings if row.kind == "core" and row.finding)]
    seen += PressureRise.objects.filter(batch=batch, corrected_by=None).order_by("at", "pk")
    heard = [row for row in seen if row.at > began and (isinstance(row, PressureRise) or row.tray in trays)]
    clock = DryingClock(began, batch.ended_at, pauses_of(happenings, weighings, load.dryer.pump_down))
    return Question(
        load=load,
        evidence=evidence_of(heard, clock, trays),
        groups=tuple(tuple(place for place, row in enumerate(loads) if row.tray == tray) for tray in trays),
        trays=trays,
        clock=clock,
        unheard=len(seen) - len(heard),
        known=known_for(batch.dryer),
        marks=sensors.reading_marks(batch),
    )


def pauses_of(
    happenings: Iterable[Happening], weighings: Iterable[Weighing], pump_down: float
) -> tuple[tuple[datetime, datetime], ...]:
    """Return when a batch did not dry: power cuts, and opened doors that no weighing tells of.

    pump_down: time until the vacuum is back [s]
    """
    near = timedelta(seconds=ONE_OPENING)
    taken = [
        (row.at - timedelta(minutes=row.outside_min) - near, row.at + timedelta(minutes=row.outside_min) + near)
        for row in weighings
    ]
    spans = [
        (row.at, row.at + timedelta(minutes=row.minutes, seconds=pump_down))
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


def evidence_of(rows: Iterable[Any], clock: DryingClock, trays: tuple[int, ...]) -> Evidence:
    """Return weighings, samples, cut pieces and pressure rises as the engine reads them.

    rows: weighings, samples, happenings, pressure rises, none from before drying began
    trays: numbers of the trays as the batch has them
    """
    found: dict[str, list[Any]] = {"weighed": [], "samples": [], "activities": [], "cuts": [], "rises": []}
    for row in rows:
        if isinstance(row, PressureRise):
            found["rises"].append(
                observed.PressureRise(clock.dried_until(row.at), row.seconds, row.before_pa, row.after_pa)
            )
            continue
        tray = trays.index(row.tray) + 1
        if isinstance(row, Weighing):
            outside = row.outside_min * 60.0
            time = _time(clock, row.at, outside)
            masses = (row.gross_g / KILO, row.tare_g / KILO, row.resolution_g / KILO)
            found["weighed"].append(Weighed(tray, time, *masses, outside))
        elif isinstance(row, Happening):
            found["cuts"].append(Cut(tray, _time(clock, row.at, OPENED), row.finding))
        elif row.kind == "meter":
            found["activities"].append(ActivityReading(tray, _time(clock, row.at, OPENED), row.activity))
        else:
            masses = (row.before_g / KILO, row.after_g / KILO, row.resolution_g / KILO)
            found["samples"].append(OvenSample(tray, _time(clock, row.at, OPENED), *masses))
    return Evidence(**{name: tuple(parts) for name, parts in found.items()})


def _time(clock: DryingClock, moment: datetime, outside: float) -> float:
    """Return a moment as the engine counts it: what it dried until the tray was taken out, and the time outside [s]."""
    return clock.dried_until(moment - timedelta(seconds=outside)) + outside


def with_readings(batch: Batch, question: Question) -> Question:
    """Return the question with what the sensors of the dryer wrote down while the batch dried.

    question: of the batch
    """
    if not question.marks:
        return question
    clock, places = question.clock, {tray: place for place, tray in enumerate(question.trays, start=1)}
    pressures, probes, powers = sensors.evidence_of(batch, clock.began)
    evidence = replace(
        question.evidence,
        pressures=tuple(_while_drying(clock, pressures)),
        powers=tuple(_while_drying(clock, powers)),
        probes=tuple(replace(row, tray=places[row.tray]) for row in _while_drying(clock, probes) if row.tray in places),
    )
    return replace(question, evidence=evidence)


def _while_drying(clock: DryingClock, rows: Iterable[Any]) -> Iterator[Any]:
    """Yield the readings on the clock of drying, without those of pauses and from after the run."""
    for row in rows:
        moment = clock.began + timedelta(seconds=row.time)
        paused = any(out <= moment <= back for out, back in clock.pauses)
        if not paused and (clock.ended is None or moment <= clock.ended):
            yield replace(row, time=clock.dried_until(moment))

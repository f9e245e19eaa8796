"""From what was seen of a batch to the engine's evidence, on a clock that counts drying only."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from drystow.evidence.dryness import observed
from drystow.evidence.dryness.observed import OPENED, ActivityReading, CutPiece, Evidence, OvenSample, Weighed, rows_of
from drystow.machine.load import Load
from drystow.machine.sampling import Calibration
from drystow.web.batches import run_readings as sensors
from drystow.web.batches.adapters import load_of
from drystow.web.batches.models import Batch, Happening, PressureRise, Sample, Weighing
from drystow.web.batches.models import Load as TrayLoad
from drystow.web.batches.outage_adapters import DryingClock, began_at, pauses_of, power_cuts
from drystow.web.dryers.lessons import calibration_for
from drystow.web.kit.answers import fingerprint

KILO = 1000.0
WORDS_ALONE = ("note", "photo")  # happenings that tell the engine nothing


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
    rests_on: rows and values from which all this follows
    """

    load: Load
    evidence: Evidence
    groups: tuple[tuple[int, ...], ...]
    trays: tuple[int, ...]
    clock: DryingClock
    unheard: int
    known: Calibration = field(default_factory=dict)
    marks: tuple[tuple[int, int, int], ...] = ()
    rests_on: tuple[object, ...] = ()

    def now(self, moment: datetime) -> float:
        """Return a moment as the engine counts it, not before the last thing that was seen [s]."""
        seen = [row.time for row in rows_of(self.evidence)]
        return max([self.clock.dried_until(moment), *seen])

    @property
    def fingerprint(self) -> str:
        """Return a hash of everything that the answer rests on, besides the clock on the wall."""
        return fingerprint(*self.rests_on)


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
    weighings = list(Weighing.objects.standing().filter(batch=batch).order_by("at", "pk"))
    samples = list(Sample.objects.standing().filter(batch=batch).order_by("at", "pk"))
    happenings = list(Happening.objects.kept().filter(batch=batch).order_by("at", "pk"))
    seen: list[Any] = [*weighings, *samples, *(row for row in happenings if row.kind == "core" and row.finding)]
    rises = list(PressureRise.objects.standing().filter(batch=batch).order_by("at", "pk"))
    seen += rises
    heard = [row for row in seen if row.at > began and (isinstance(row, PressureRise) or row.tray in trays)]
    took = {cut.row.pk: cut.took for cut in power_cuts(batch, loads, happenings, began) if cut.took is not None}
    clock = DryingClock(began, batch.ended_at, pauses_of(happenings, weighings, load.rig.dryer.pump_down, took))
    known, marks = calibration_for(batch.dryer), sensors.reading_marks(batch)
    noted = [row for row in happenings if row.kind not in WORDS_ALONE]
    rows = (batch, batch.dryer, loads, [row.item for row in loads], weighings, samples, rises, noted)
    return Question(
        load=load,
        evidence=evidence_of(heard, clock, trays),
        groups=tuple(tuple(place for place, row in enumerate(loads) if row.tray == tray) for tray in trays),
        trays=trays,
        clock=clock,
        unheard=len(seen) - len(heard),
        known=known,
        marks=marks,
        rests_on=(*rows, [item.food for item in load.items], began, known, marks),
    )


def evidence_of(rows: Iterable[Any], clock: DryingClock, trays: tuple[int, ...]) -> Evidence:
    """Return weighings, samples, cut pieces and pressure rises as the engine reads them.

    rows: weighings, samples, happenings, pressure rises, none from before drying began
    trays: numbers of the trays as the batch has them
    """
    found: dict[str, list[Any]] = {"weighed": [], "samples": [], "activities": [], "cuts": [], "rises": []}
    for row in rows:
        if isinstance(row, PressureRise):
            found["rises"].append(
                observed.ObservedRise(clock.dried_until(row.at), row.seconds, row.before_pa, row.after_pa)
            )
            continue
        tray = trays.index(row.tray) + 1
        if isinstance(row, Weighing):
            outside = row.outside_min * 60.0
            time = _time(clock, row.at, outside)
            masses = (row.gross_g / KILO, row.tare_g / KILO, row.resolution_g / KILO)
            found["weighed"].append(Weighed(tray, time, *masses, outside))
        elif isinstance(row, Happening):
            found["cuts"].append(CutPiece(tray, _time(clock, row.at, OPENED), row.finding))
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

"""What the finished batches of a dryer taught, as it is kept; made again from them at any time."""

from collections.abc import Iterable
from dataclasses import dataclass

from drystow.evidence.learning.learned import LearnedNumbers, calibration
from drystow.evidence.learning.words import TimeFactor
from drystow.machine.sampling import UNCALIBRATED, Calibration
from drystow.web.dryers.models import Dryer
from drystow.web.kit.answers import Kind, fingerprint
from drystow.web.kit.codec import Sentence

WITH_ROW = "_lessons"
FEWEST = 3
"""Batches from which on forecasts use what they taught. Source: drystow-default."""


@dataclass(frozen=True)
class LikelyCause:
    """What may be behind a batch out of line.

    tray: its number in the batch, 0: the machine
    ratio: how much better it explains the batch than usual spread does [-]
    words: what it may be
    check: how to find out
    """

    tray: int
    ratio: float
    words: Sentence
    check: Sentence


@dataclass(frozen=True)
class TaughtStep:
    """What one batch taught.

    print: hash of the batch
    batch: its number
    lot: of the batch
    expected_h: when it was expected to be dry [h]
    took_h: how long it took, None where that was not seen [h]
    out_of_line: it is far from what was expected
    contact: low, middle and high of the heat transfer after it, in standard deviations of the untaught spread [-]
    suspects: what may be behind that, the likeliest first
    """

    print: str
    batch: int
    lot: str
    expected_h: tuple[float, ...]
    took_h: float | None
    out_of_line: bool
    contact: tuple[float, float, float]
    suspects: tuple[LikelyCause, ...]


@dataclass(frozen=True)
class Lessons:
    """What the batches of a dryer taught.

    machine: hash of the dryer's own numbers that it rests on
    learned: the joint distribution
    factor: the time against the profile's, None before the first batch
    steps: what each batch taught, the oldest first
    """

    machine: str
    learned: LearnedNumbers
    factor: TimeFactor | None
    steps: tuple[TaughtStep, ...]


LESSONS = Kind("lessons", Lessons, "minutes")
"""What the batches of a dryer taught."""


def read_lessons(dryers: Iterable[Dryer]) -> None:
    """Read what is kept of several dryers at once; it stays with their rows."""
    rows = list(dryers)
    kept = LESSONS.kept_about(row.pk for row in rows) if rows else {}
    for row in rows:
        row.__dict__[WITH_ROW] = kept[row.pk].result if row.pk in kept else None


def lessons_of(dryer: Dryer) -> Lessons | None:
    """Return what is kept of a dryer, None when nothing is; once read it stays with the row."""
    if WITH_ROW not in dryer.__dict__:
        read_lessons([dryer])
    lessons: Lessons | None = dryer.__dict__[WITH_ROW]
    return lessons


def calibration_for(dryer: Dryer) -> Calibration:
    """Return what the forecasts of a dryer's batches know: nothing before the third one, or when it is switched off."""
    lessons = lessons_of(dryer) if dryer.use_taught else None
    if lessons is None or lessons.machine != machine_print(dryer):
        return UNCALIBRATED
    return calibration(lessons.learned) if lessons.learned.batches >= FEWEST else UNCALIBRATED


def machine_print(dryer: Dryer) -> str:
    """Return a hash of the numbers that what was learned is measured against."""
    return fingerprint(dryer)

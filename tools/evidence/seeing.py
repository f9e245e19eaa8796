"""What people see of a batch: weighings with their scale, clock and room air, now and then a sample."""

from dataclasses import dataclass, field, replace

import numpy as np

from drystow.evidence.dryness.observed import ActivityReading, Evidence, OvenSample, Weighed
from drystow.evidence.dryness.weighings import UPTAKE
from drystow.machine.layout import Tray
from drystow.numerics import Array
from tools.evidence.curves import activity_by, moisture_by
from tools.evidence.truth import SHARES, Course, Truth, at

HOUR, MINUTE = 3600.0, 60.0
SCALES = (0.001, 0.002835, 0.005)  # 1 g, 0.1 oz, 5 g [kg]

DIFFERENCES = {
    "scale": (
        "Scale in steps of 1 g, 0.1 oz or 5 g with a bias (0.1% of the weight), a drift (a third of a step from one "
        "weighing to the next) and noise of half a step; the tare is read on the same scale."
    ),
    "mistakes": (
        "Tare mistakes: 2% of trays with a wrong tare (spread 80 g), 1% of trays with another tray on the scale once."
    ),
    "air": (
        "Room air: dried food goes towards its moisture at 30 to 65% relative humidity with a time constant of 4 h "
        "(times or over 1.8); frozen food gathers frost, up to 0.04 g/(m2 s). The judge assumes a constant rate and "
        "no frost."
    ),
    "clock": (
        "3 to 12 minutes outside, written down with an error of 25%; how long it takes back, and the pump, differ too."
    ),
    "samples": (
        "Samples are two or three pieces of any thickness; oven samples lose 0.1% too little to 0.3% too much; "
        "meters of water activity are off by -0.01 to 0.02 and their noise."
    ),
}
"""Differences of what is seen from the judge's model: each but the samples can be left out, to see what it does."""
ALL = frozenset(DIFFERENCES)


@dataclass(frozen=True)
class Habits:
    """How a person weighs, and the errors of scale and room.

    resolution: step of the scale [kg]
    bias: of the scale, relative [-]
    humidity: of the room [-]
    soaking: time constant of dried food in room air [s]
    frost: on frozen food, per tray area [kg/(m2 s)]
    tares: true, of each tray [kg]
    written: tares as written [kg]
    pump: true time until the vacuum is back [s]
    """

    resolution: float
    bias: float
    humidity: float
    soaking: float
    frost: float
    tares: tuple[float, ...]
    written: tuple[float, ...]
    pump: float


@dataclass
class Diary:
    """What a person has seen so far, and the time that the chamber was open.

    truth: of the batch
    course: true course
    groups: numbers of the items of each tray
    habits: of the person
    random: numbers
    evidence: so far
    openings: start and length of each [s]
    drift: of the scale so far [kg]
    differ: names of the differences from the judge's model
    """

    truth: Truth
    course: Course
    groups: tuple[tuple[int, ...], ...]
    habits: Habits
    random: np.random.Generator
    evidence: Evidence = field(default_factory=Evidence)
    openings: list[tuple[float, float]] = field(default_factory=list)
    drift: float = 0.0
    differ: frozenset[str] = ALL


def habits_of(truth: Truth, trays: int, random: np.random.Generator, differ: frozenset[str] = ALL) -> Habits:
    """Return the habits and errors of a person.

    truth: of the batch
    trays: their number
    random: numbers
    differ: names of the differences from the judge's model
    """
    resolution = float(random.choice(SCALES, p=[0.55, 0.25, 0.2]))
    bias = 0.001 * float(random.standard_normal()) * ("scale" in differ)
    tares = tuple(float(tare) for tare in random.uniform(0.3, 0.9, trays))
    written = []
    for tare in tares:
        wrong = 0.08 * random.standard_normal() if random.random() < 0.02 * ("mistakes" in differ) else 0.0
        written.append(max(stepped(tare * (1.0 + bias) + wrong, resolution), resolution))
    return Habits(
        resolution=resolution,
        bias=bias,
        humidity=float(random.uniform(0.3, 0.65)),
        soaking=4 * HOUR * float(np.exp(0.6 * random.standard_normal())),
        frost=float(random.uniform(0.0, 4e-5)) * ("air" in differ),
        tares=tares,
        written=tuple(written),
        pump=truth.load.rig.dryer.pump_down * float(np.exp(0.3 * random.standard_normal() * ("clock" in differ))),
    )


def stepped(value: float, step: float) -> float:
    """Return a value as a scale shows it."""
    return round(value / step) * step


def drying_time(diary: Diary, moment: float) -> float:
    """Return how long the food has really been drying [s].

    diary: with the openings so far
    moment: since drying began [s]
    """
    return moment - sum(min(max(moment - start, 0.0), length) for start, length in diary.openings)


def open_and_weigh(
    diary: Diary, moment: float, trays: tuple[int, ...], sample: int | None = None, activity: int | None = None
) -> None:
    """Open the chamber, weigh some trays, perhaps take a sample, and write it all down.

    diary: changed in place
    moment: when the chamber is opened [s]
    trays: numbers from 1
    sample: tray whose pieces are dried in an oven, if any
    activity: tray whose pieces go into a water-activity meter, if any
    """
    random, habits = diary.random, diary.habits
    dried = drying_time(diary, moment)
    rows = []
    outside = float(random.uniform(3.0, 12.0)) * MINUTE
    latest = 0.0
    for number in trays:
        told = max(round(outside * float(np.exp(0.25 * random.standard_normal())) / MINUTE), 1) * MINUTE
        told = told if "clock" in diary.differ else outside
        gross = habits.tares[number - 1] + net_weight(diary, number, dried, outside)
        diary.drift += habits.resolution / 3.0 * random.standard_normal() * ("scale" in diary.differ)
        shown = gross * (1.0 + habits.bias) + diary.drift + 0.5 * habits.resolution * random.standard_normal()
        if random.random() < 0.01 / 4.0 * ("mistakes" in diary.differ):  # of four weighings of a tray, each once
            shown += float(random.uniform(0.03, 0.2)) * float(random.choice([-1.0, 1.0]))
        tare = habits.written[number - 1]
        shown = max(stepped(shown, habits.resolution), tare + habits.resolution)
        rows.append(Weighed(number, moment + outside, shown, tare, habits.resolution, told))
        latest = moment + outside
        outside += float(random.uniform(0.7, 2.0)) * MINUTE
    samples, activities = diary.evidence.samples, diary.evidence.activities
    if sample is not None:
        samples = (*samples, _oven_sample(diary, sample, dried, latest))
    if activity is not None:
        activities = (*activities, _activity(diary, activity, dried, latest))
    diary.evidence = replace(
        diary.evidence, weighed=(*diary.evidence.weighed, *rows), samples=samples, activities=activities
    )
    back = float(random.uniform(1.2, 2.2)) if "clock" in diary.differ else 2.0
    length = (latest - moment) * back + habits.pump
    diary.openings.append((moment, length))


def net_weight(diary: Diary, tray: int, dried: float, outside: float) -> float:
    """Return the true weight of the food on a tray that has lain in room air [kg].

    diary: of the batch
    tray: number from 1
    dried: drying time [s]
    outside: time in room air [s]
    """
    truth, course, habits = diary.truth, diary.course, diary.habits
    moisture, ice = at(course, course.moisture, dried), at(course, course.ice, dried)
    total = 0.0
    for number in diary.groups[tray - 1]:
        mine = truth.item == number
        rows = truth.rows[mine]
        solids, left = rows[:, Tray.SOLIDS], ice[mine]
        frozen = left * (rows[:, Tray.ICE] / solids + rows[:, Tray.UNFROZEN])
        layer = np.maximum(moisture[mine] - frozen, 0.0) / np.maximum(1.0 - left, 1e-6)
        sorbs = truth.sorption[number]
        room = float(moisture_by(sorbs.form, sorbs.constants, np.array(habits.humidity)))
        soaked = np.maximum(room - layer, 0.0) * (1.0 - np.exp(-outside / habits.soaking)) * (1.0 - left)
        if "air" not in diary.differ:
            soaked = UPTAKE * outside * (1.0 - left)
        total += float((solids * (1.0 + moisture[mine] + soaked)).sum())
        total += habits.frost * outside * float((rows[:, Tray.CONTACT] * left).sum())
    return total


def _pieces(diary: Diary, tray: int, dried: float) -> tuple[int, float]:
    """Return the item that two or three pieces were taken of, and their mean moisture, dry basis [-]."""
    truth, random = diary.truth, diary.random
    number = int(random.choice(diary.groups[tray - 1]))
    mine = truth.item == number
    solids = truth.rows[mine, Tray.SOLIDS].reshape(len(SHARES), -1)
    moisture = at(diary.course, diary.course.moisture, dried)[mine].reshape(len(SHARES), -1)
    each: Array = (solids * moisture).sum(axis=1) / solids.sum(axis=1)
    chosen = random.choice(len(SHARES), size=int(random.integers(2, 4)), p=SHARES)
    return number, float(each[chosen].mean())


def _oven_sample(diary: Diary, tray: int, dried: float, time: float) -> OvenSample:
    random = diary.random
    _number, moisture = _pieces(diary, tray, dried)
    step = float(random.choice([1e-5, 1e-4]))
    before = float(random.uniform(0.006, 0.015))
    wet = moisture / (1.0 + moisture) + float(random.uniform(-0.001, 0.003))
    after = before * (1.0 - max(wet, 0.0))
    before, after = stepped(before, step), stepped(after, step)
    return OvenSample(tray, time, before, min(after, before), step)


def _activity(diary: Diary, tray: int, dried: float, time: float) -> ActivityReading:
    random = diary.random
    number, moisture = _pieces(diary, tray, dried)
    sorbs = diary.truth.sorption[number]
    real = activity_by(sorbs.form, sorbs.constants, moisture)
    shown = real + float(random.uniform(-0.01, 0.02)) + 0.015 * float(random.standard_normal())
    return ActivityReading(tray, time, round(min(max(shown, 0.0), 1.0), 3), 0.015)

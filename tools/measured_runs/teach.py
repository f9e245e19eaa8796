"""What published times teach about the classes of food: a normal distribution over a few multipliers.

Each time is, on the scale of logarithms, a straight line of what is not known (`summary.Slopes`). Two kinds of unknowns
are told apart. Taught is what holds for every study: three numbers of each class of food, on the scale of the spread
that the program gives them, and how the heat of laboratory machines differs from ours. All else belongs to a run or to
a study: thickness, plate, machine, the single food. Studies are weighed as from a distribution with heavy tails, so
that one that fits nothing pulls little.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drystow.machine.sampling import SHARED, TOGETHER
from drystow.numerics import Array
from tools.measured_runs.predict import OWN_MACHINE, Taught
from tools.measured_runs.published import Run
from tools.measured_runs.summary import Said, Slopes

TAUGHT = ("resistance", "conductivity", "desorption")
"""The uncertain numbers of a class that are taught."""
ALIKE = 0.5  # correlation of one number between two classes; drystow-default
COMMON = 0.5  # share of the variance of heat that laboratory machines have in common; drystow-default
MODEL = 0.15  # standard deviation of what the equations leave out, as a logarithm, half of it common to a study
TAILS = 4.0  # degrees of freedom of the weights of the studies
ROUNDS = 20  # of weighing

Key = tuple[str, str]
"""Cause and class of food; no class for the heat of laboratory machines."""


@dataclass(frozen=True)
class Lesson:
    """A published time with the slopes of its prediction."""

    run: Run
    slopes: Slopes


@dataclass(frozen=True)
class Learned:
    """What lessons taught, in standard deviations of what was not known before.

    keys: in the order of the means
    means, widths: of each
    weights: of the studies, 1 for one that fits as expected
    """

    keys: tuple[Key, ...]
    means: Array
    widths: Array
    weights: Mapping[str, float]

    @property
    def taught(self) -> Taught:
        """The same as predictions take it."""
        by_key = {
            key: (float(mean), float(width))
            for key, mean, width in zip(self.keys, self.means, self.widths, strict=True)
        }
        mean, width = by_key.pop((OWN_MACHINE, ""))
        heat = (math.sqrt(COMMON) * mean, math.sqrt(COMMON * width**2 + 1.0 - COMMON))
        return Taught(by_key, heat)


def learned_from(lessons: Sequence[Lesson], kinds: Sequence[str]) -> Learned:
    """Return what lessons teach about some classes of food.

    lessons: published times with slopes
    kinds: classes of food
    """
    keys: tuple[Key, ...] = ((OWN_MACHINE, ""), *((cause, kind) for cause in TAUGHT for kind in kinds))
    before = np.array([[_alike(one, other) for other in keys] for one in keys])
    if not lessons:
        return Learned(keys, np.zeros(len(keys)), np.ones(len(keys)), {})
    slopes = np.array([[_slope(lesson, key) for key in keys] for lesson in lessons])
    errors = np.array([math.log(lesson.run.published) - lesson.slopes.middle for lesson in lessons])
    noise = np.array([[_noise(one, other) for other in lessons] for one in lessons])
    studies = np.array([lesson.run.source for lesson in lessons])
    weights = dict.fromkeys(dict.fromkeys(studies.tolist()), 1.0)
    for _round in range(ROUNDS):
        scale = np.array([1.0 / math.sqrt(weights[key]) for key in studies])
        scaled = noise * np.outer(scale, scale)
        gain = before @ slopes.T @ np.linalg.inv(slopes @ before @ slopes.T + scaled)
        means = gain @ errors
        after = before - gain @ slopes @ before
        left = errors - slopes @ means
        weights = {key: _weight(left[studies == key], noise[np.ix_(studies == key, studies == key)]) for key in weights}
    return Learned(keys, means, np.sqrt(np.diag(after)), weights)


def _alike(one: Key, other: Key) -> float:
    if one == other:
        return 1.0
    return ALIKE if one[0] == other[0] else 0.0


def _slope(lesson: Lesson, key: Key) -> float:
    cause, kind = key
    if cause == OWN_MACHINE:
        return math.sqrt(COMMON) * lesson.slopes.inputs.get(OWN_MACHINE, 0.0)
    _group, together = TOGETHER[cause]
    return math.sqrt(together) * lesson.slopes.numbers[cause] * lesson.slopes.kinds.get(kind, 0.0)


def _noise(one: Lesson, other: Lesson) -> float:
    """Covariance of what is not taught in two times."""
    if one is other:
        low, high = one.run.low, one.run.high
        own = sum(slope**2 for name, slope in one.slopes.inputs.items() if name != OWN_MACHINE)
        own += (1.0 - COMMON) * one.slopes.inputs.get(OWN_MACHINE, 0.0) ** 2
        for cause, slope in one.slopes.numbers.items():
            own += slope**2 * (1.0 - TOGETHER[cause][1] if cause in TAUGHT else 1.0)
        return own + one.slopes.scatter + MODEL**2 + math.log(high / low) ** 2 / 12.0
    if one.run.source != other.run.source:
        return 0.0
    shared = MODEL**2 / 2.0
    for name, slope in one.slopes.inputs.items():
        if one.run.missing[name] == other.run.missing.get(name):
            part = 1.0 - COMMON if name == OWN_MACHINE else 1.0
            shared += part * slope * other.slopes.inputs[name]
    for cause, slope in one.slopes.numbers.items():
        shared += _common(cause, one, other) * slope * other.slopes.numbers[cause]
    return shared


def _common(cause: str, one: Lesson, other: Lesson) -> float:
    """Correlation of an untaught uncertain number in two runs of one study, as the program draws it."""
    if cause in SHARED:
        return 1.0
    if cause in TAUGHT or cause not in TOGETHER:
        return 0.0
    kind, together = TOGETHER[cause]
    if kind == "food":
        return together * (one.run.table.get("food", "") == other.run.table.get("food"))
    kinds = other.slopes.kinds
    return together * sum(share * kinds.get(name, 0.0) for name, share in one.slopes.kinds.items())


def _weight(left: Array, noise: Array) -> float:
    """Weight of a study in a distribution with heavy tails."""
    far = float(left @ np.linalg.solve(noise, left))
    return (TAILS + len(left)) / (TAILS + far)


def lessons_of(runs: Sequence[Run], said: Mapping[str, Said]) -> list[Lesson]:
    """Return the published times that can teach: those that most members reach.

    runs: published
    said: of the engine, untaught, by the name of the run
    """
    with_slopes = ((run, said[run.name].slopes) for run in runs if run.timed)
    return [Lesson(run, slopes) for run, slopes in with_slopes if slopes is not None]


def taught_without(study: str, lessons: Sequence[Lesson], kinds: Sequence[str]) -> Learned:
    """Return what all studies but one teach.

    study: key of the source that is left out
    lessons: published times with slopes
    kinds: classes of food
    """
    return learned_from([lesson for lesson in lessons if lesson.run.source != study], kinds)

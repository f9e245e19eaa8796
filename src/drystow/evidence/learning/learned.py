"""What the batches of a dryer taught so far: one joint normal distribution over the machine's and the food classes'
numbers, as shifts of the published values counted in standard deviations of their untaught spread."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from drystow.machine.load import Load
from drystow.machine.sampling import PER_ITEM, SHARED, TOGETHER, Calibration, column
from drystow.numerics import Array

MACHINE_CAUSES = ("contact", "refrigeration", "vapour", "air", "shelf")
"""Causes of the machine that batches teach; how long freezing takes is left open in each batch anew."""

CLASS_CAUSES = tuple(cause for cause, (kind, _share) in TOGETHER.items() if kind == "class")
"""Causes of a food class that batches teach: the part that all its foods share."""

BETWEEN = 0.5
"""Batch-to-batch spread of the heat from shelf to food, beside what was learned: about 6% of a time, in standard
deviations of the untaught spread [-]. Source: drystow-default."""

REMEMBERED_DAYS = {"contact": 1500.0, "refrigeration": 700.0, "vapour": 700.0, "air": 350.0, "shelf": 700.0}
"""Time after which a machine's number has changed enough that only 1/e of what was known of it counts [d].
Source: drystow-default."""

SERVICE_KEEPS = {
    "oil": {"air": 0.3},
    "gasket": {"air": 0.3},
    "defrost": {"vapour": 0.8, "refrigeration": 0.9},
}
"""Share of what was known that still counts after an entry of the service log [-]. Source: drystow-default."""

Key = tuple[str, str]
"""A cause, and its food class; "" for a cause of the machine."""


@dataclass(frozen=True)
class LearnedNumbers:
    """A joint normal distribution over what batches taught.

    keys: cause and food class of each number, as in `draws.Knowledge`
    mean: in standard deviations of the untaught spread [-]
    covariance: of these numbers [-]
    calibrated: how many batches had to do with each number
    batches: how many taught in all
    day: of the last one, since the start of 1970 [d]
    """

    keys: tuple[Key, ...]
    mean: Array
    covariance: Array
    calibrated: tuple[int, ...]
    batches: int = 0
    day: float = math.nan

    def number(self, cause: str, group: str = "") -> tuple[float, float, int]:
        """Return mean and standard deviation of a number, and how many batches taught it; untaught: 0, 1 and 0.

        cause: as in `draws.SHARED` or `draws.TOGETHER`
        group: food class, "" for the machine
        """
        if (cause, group) not in self.keys:
            return 0.0, 1.0, 0
        at = self.keys.index((cause, group))
        return float(self.mean[at]), float(np.sqrt(self.covariance[at, at])), self.calibrated[at]


NOTHING_LEARNED = LearnedNumbers((), np.zeros(0), np.zeros((0, 0)), ())


def calibration(learned: LearnedNumbers) -> Calibration:
    """Return what is known of each number by itself, for forecasts: the heat transfer of a batch varies beside it.

    learned: by earlier batches
    Source: drystow-default, spread between batches; never wider than untaught.
    """
    known = {}
    for at, key in enumerate(learned.keys):
        variance = float(learned.covariance[at, at])
        if key[0] == "contact":
            variance = max(min(variance + BETWEEN**2, 1.0), variance)
        known[key] = (float(learned.mean[at]), math.sqrt(variance))
    return known


def with_keys(learned: LearnedNumbers, load: Load) -> LearnedNumbers:
    """Return the same knowledge with a place for every number that a load has to do with, untaught ones at 0 and 1.

    learned: by earlier batches
    load: food, dryer and program
    Source: definition, published values and their spreads are the prior.
    """
    wanted = [(cause, "") for cause in MACHINE_CAUSES]
    classes = dict.fromkeys(item.food.food_class for item in load.items)
    wanted += [(cause, name) for name in classes for cause in CLASS_CAUSES]
    new = [key for key in wanted if key not in learned.keys]
    if not new:
        return learned
    old, count = len(learned.keys), len(learned.keys) + len(new)
    covariance = np.eye(count)
    covariance[:old, :old] = learned.covariance
    return replace(
        learned,
        keys=(*learned.keys, *new),
        mean=np.concatenate([learned.mean, np.zeros(len(new))]),
        covariance=covariance,
        calibrated=(*learned.calibrated, *(0 for _ in new)),
    )


def spread_over(learned: LearnedNumbers, load: Load) -> tuple[Array, Array]:
    """Return how the draws of a load follow from what is learned: a matrix, and the covariance of all the rest.

    learned: with a place for everything in the load
    load: food, dryer and program
    Source: drystow-default, correlations as in `draws.load_draws`.
    """
    count = len(SHARED) + len(PER_ITEM) * len(load.items)
    follows, rest = np.zeros((count, len(learned.keys))), np.zeros((count, count))
    for number, cause in enumerate(SHARED):
        if cause in MACHINE_CAUSES:
            follows[number, learned.keys.index((cause, ""))] = 1.0
        else:
            rest[number, number] = 1.0
    for number, item in enumerate(load.items):
        for cause in PER_ITEM:
            at = column(cause, number)
            kind, share = TOGETHER.get(cause, ("", 0.0))
            rest[at, at] = 1.0 - share
            if kind == "class":
                follows[at, learned.keys.index((cause, item.food.food_class))] = math.sqrt(share)
            elif kind == "food":
                for other, beside in enumerate(load.items):
                    if beside.food.id == item.food.id:
                        rest[at, column(cause, other)] += share
    return follows, rest


def forget(learned: LearnedNumbers, days: float = 0.0, services: Iterable[str] = ()) -> LearnedNumbers:
    """Return what still counts of the knowledge of the machine after some time and some service; food does not change.

    learned: by earlier batches
    days: since the last batch [d]
    services: kinds of entries of the service log since then
    Source: definition, a process that returns to the published value and its spread (Ornstein and Uhlenbeck).
    """
    done = list(services)
    keeps = np.ones(len(learned.keys))
    for at, (cause, _group) in enumerate(learned.keys):
        if cause in REMEMBERED_DAYS:
            keeps[at] = math.exp(-max(days, 0.0) / REMEMBERED_DAYS[cause])
            for kind in done:
                keeps[at] *= SERVICE_KEEPS.get(kind, {}).get(cause, 1.0)
    covariance = learned.covariance * keeps[:, None] * keeps + np.diag(1.0 - keeps**2)
    return replace(learned, mean=learned.mean * keeps, covariance=covariance)

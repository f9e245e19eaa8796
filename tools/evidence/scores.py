"""Numbers that tell how good a forecast is: coverage, reliability, Brier score, false alarms with their limits."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.stats import beta, binom, kstest

from tools.evidence.batch import Row

NOMINAL = 0.9
BANDS = (0.0, 0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.98, 1.0)
"""Edges of the classes of probability."""


@dataclass(frozen=True)
class Share:
    """A count out of many, with the 95% interval of Wilson.

    hits: counted
    of: all
    low: of the interval [-]
    high: of the interval [-]
    """

    hits: int
    of: int
    low: float
    high: float

    @property
    def value(self) -> float:
        """Share [-]."""
        return self.hits / self.of if self.of else math.nan


def share_of(hits: int, of: int) -> Share:
    """Return a share with its 95% interval.

    hits: counted
    of: all
    Source: definition, Wilson's score interval.

    >>> print(f"{share_of(8, 10).low:.3f} {share_of(8, 10).high:.3f}")
    0.490 0.943
    """
    if of == 0:
        return Share(0, 0, 0.0, 1.0)
    z, p = 1.959964, hits / of
    middle = (p + z * z / (2 * of)) / (1 + z * z / of)
    half = z / (1 + z * z / of) * math.sqrt(p * (1 - p) / of + z * z / (4 * of * of))
    return Share(hits, of, max(middle - half, 0.0), min(middle + half, 1.0))


def upper_limit(hits: int, of: int, level: float = 0.95) -> float:
    """Return the share that is not exceeded with some confidence (Clopper and Pearson, one-sided) [-].

    hits: counted
    of: all
    level: confidence [-]

    >>> print(f"{upper_limit(0, 600):.4f}")
    0.0050
    """
    return 1.0 if hits >= of else float(beta.ppf(level, hits + 1, of - hits))


def coverage(rows: Iterable[Row], name: str) -> Share:
    """Return how often the truth lies in the 90% interval.

    rows: of trays
    name: moisture or activity
    """
    inside = [row[f"{name}_range"][0] <= row[name] <= row[f"{name}_range"][2] for row in rows]
    return share_of(sum(inside), len(inside))


def plausible(of: int, nominal: float = NOMINAL, level: float = 0.999) -> tuple[int, int]:
    """Return the counts between which a well calibrated judge stays but for one time in a thousand.

    of: all
    nominal: chance of each [-]
    level: of the range [-]
    """
    low, high = binom.interval(level, of, nominal)
    return int(low), int(high)


def brier(forecasts: Sequence[float], dry: Sequence[bool]) -> float:
    """Return the mean squared error of probabilities [-].

    forecasts: probabilities [-]
    dry: what was true

    >>> brier([1.0, 0.5], [True, False])
    0.125
    """
    return float(np.mean((np.asarray(forecasts, dtype=float) - np.asarray(dry, dtype=float)) ** 2))


def hindsight(rule: Sequence[bool], dry: Sequence[bool]) -> list[float]:
    """Return a rule's answers as the probabilities that they turned out to have: the best that it can score.

    rule: its answers
    dry: what was true
    """
    says, real = np.asarray(rule, dtype=bool), np.asarray(dry, dtype=float)
    chances = {answer: float(real[says == answer].mean()) for answer in (True, False) if (says == answer).any()}
    return [chances[bool(answer)] for answer in says]


@dataclass(frozen=True)
class Band:
    """Trays whose probability of being dry lies in one class.

    low: edge [-]
    high: edge [-]
    mean: of the probabilities [-]
    dry: how many were dry
    """

    low: float
    high: float
    mean: float
    dry: Share


def reliability(rows: Sequence[Row]) -> list[Band]:
    """Return how often trays were dry, by the probability that was said.

    rows: of trays
    """
    bands = []
    for low, high in pairwise(BANDS):
        mine = [row for row in rows if low <= row["chance"] < high or (high == 1.0 and row["chance"] == 1.0)]
        if mine:
            mean = float(np.mean([row["chance"] for row in mine]))
            bands.append(Band(low, high, mean, share_of(sum(row["dry"] for row in mine), len(mine))))
    return bands


def uniformity(places: Sequence[float]) -> tuple[float, float]:
    """Return the largest distance of the truth's places from an even spread, and its p-value (Kolmogorov, Smirnov).

    places: share of the weight below the truth [-]
    """
    found = kstest(places, "uniform")
    return float(found.statistic), float(found.pvalue)

"""How far a finished batch is from what was expected of it."""

from dataclasses import dataclass

import numpy as np
from scipy.stats import f, t

from drystow.evidence.dryness.observed import clock_of, drying_time
from drystow.evidence.learning.finished import Finished, SeenNumbers
from drystow.numerics import Array

OUT_OF_LINE = 0.01
"""Chance, of batches that are in line, to be called out of line nevertheless [-]. Source: drystow-default."""

TAILS = 20
"""Degrees of freedom of the spreads: they are guesses, so that unlikely things happen more often than under a normal
distribution [-]. Source: drystow-default, so that ordinary batches are not flagged (docs/evidence-learning.md)."""

USUAL = 0.05  # chance below which a batch teaches less, the further off the less; drystow-default
RANGE = (50.0, 5.0, 95.0)


@dataclass(frozen=True)
class Surprise:
    """How far a batch was from what was expected of it.

    chance: that a batch in line is at least as far off, all things seen together [-]
    time_chance: the same for the time until it was dry alone; None when that was not seen [-]
    expected: middle, and nine in ten between the first and the last, of the time from the beginning of drying [s]
    took: time that was seen, None when it was not [s]
    out_of_line: further than chance explains
    doubt: factor on the spread between expected and seen that would make the batch usual, at least 1 [-]
    """

    chance: float
    time_chance: float | None
    expected: tuple[float, float, float]
    took: float | None
    out_of_line: bool
    doubt: float


def surprise_of(finished: Finished, seen: SeenNumbers, times: Array) -> Surprise:
    """Return how far a batch is from what was expected of it.

    finished: the batch
    seen: what was seen beside what members expect that know of earlier batches only
    times: when all is dry, by each member, from the beginning of drying [s]
    Source: mahalanobis1936, squared distance over its expected size against an F distribution; posterior predictive.
    """
    off = distances(seen, seen.observed - seen.expected.mean(axis=0))
    distance, count = float(off @ off), len(seen.observed)
    chance = float(f.sf(distance / count, count, TAILS))
    doubt = distance / count / float(f.isf(USUAL, count, TAILS))
    middle, low, high = (float(value) for value in np.percentile(times, RANGE))
    whole = [one for one in finished.ended if one.tray is None]
    took, time_chance = None, None
    if whole:
        at = list(zip(seen.kinds, seen.trays, strict=True)).index(("end", 0))
        expected = seen.expected[:, at]
        spread = float(np.hypot(np.std(expected, ddof=1), np.sqrt(seen.noise[at, at])))
        sigmas = abs(float(seen.observed[at] - expected.mean())) / spread
        time_chance = float(2.0 * t.sf(sigmas, TAILS))
        doubt = max(doubt, (sigmas / float(t.isf(0.5 * USUAL, TAILS))) ** 2)
        took = float(drying_time(clock_of(finished.evidence, finished.load.dryer.pump_down), whole[0].time))
    least = chance if time_chance is None else 2.0 * min(chance, time_chance)
    return Surprise(chance, time_chance, (middle, low, high), took, least < OUT_OF_LINE, max(doubt, 1.0))


def distances(seen: SeenNumbers, off: Array) -> Array:
    """Return differences in independent standard deviations [-].

    seen: what members expect, and the errors
    off: differences from the mean of what members expect, or between two such means
    Source: mahalanobis1936.
    """
    covariance = np.atleast_2d(np.cov(seen.expected, rowvar=False)) + seen.noise
    root = np.linalg.cholesky(covariance)
    result: Array = np.linalg.solve(root, off)
    return result

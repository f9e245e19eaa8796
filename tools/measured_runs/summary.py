"""What the many answers to one published run come to: its range, and what the range follows."""

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri
from scipy.stats import rankdata

from drystow.machine.ensemble import WORDS
from drystow.machine.sampling import PER_ITEM, SHARED
from drystow.numerics import Array
from tools.measured_runs.predict import Answers

PERCENTILES = (10.0, 50.0, 90.0)
LEAST = 0.3  # rank correlation below which a cause is not worth naming
FINITE = 0.8  # share of members that must get there for slopes to mean something
CAUSES = (*SHARED, *PER_ITEM)


@dataclass(frozen=True)
class Prediction:
    """What the engine says of a run, in the unit of what was published.

    p10, p50, p90: percentiles; infinite where more members than that never get there
    widest: input or uncertain number that the result follows most, empty when it follows none
    icy: median share of the time until dry in which there is ice; NaN when it is not known
    """

    p10: float
    p50: float
    p90: float
    widest: str = ""
    icy: float = math.nan

    @property
    def ranges(self) -> tuple[float, float, float]:
        """The three percentiles."""
        return self.p10, self.p50, self.p90


@dataclass(frozen=True)
class Slopes:
    """How a result answers to what is not known, on the scale of logarithms and of standard deviations.

    middle: logarithm of the middle prediction
    inputs: per standard deviation of each missing input
    numbers: per standard deviation of each uncertain number of the engine
    scatter: variance that no straight line explains
    kinds: share of the members in each class of food
    """

    middle: float
    inputs: Mapping[str, float]
    numbers: Mapping[str, float]
    scatter: float
    kinds: Mapping[str, float]


@dataclass(frozen=True)
class Said:
    """What the engine says of a run, in short.

    prediction: range
    slopes: what it follows, None where too few members get there
    values: of the members, in the unit of what was published
    gone: time until the ice is gone [s]
    dry: time until dry [s]
    left: water left with the last ice, dry basis
    """

    prediction: Prediction
    slopes: Slopes | None
    values: Array
    gone: Array
    dry: Array
    left: Array


def said_of(answers: Answers) -> Said:
    """Return answers in short.

    answers: of the engine
    """
    return Said(prediction_of(answers), slopes_of(answers), answers.values, answers.gone, answers.dry, answers.left)


def prediction_of(answers: Answers) -> Prediction:
    """Return the range of the answers.

    answers: of the engine
    """
    low, middle, high = np.percentile(answers.values, PERCENTILES, method="nearest")
    with np.errstate(invalid="ignore"):
        icy = answers.gone / answers.dry
    icy = icy[np.isfinite(icy)]
    share = float(np.median(icy)) if len(icy) else math.nan
    return Prediction(float(low), float(middle), float(high), _widest(answers), share)


def slopes_of(answers: Answers) -> Slopes | None:
    """Return the slopes of the answers by least squares; None where too few members get there.

    answers: of the engine
    """
    there = np.isfinite(answers.values)
    if there.mean() < FINITE:
        return None
    columns = np.concatenate([ndtri(answers.shares[there]), answers.draws[there]], axis=1)
    # A column of a cause that an input replaces follows that input exactly; the input keeps the whole slope.
    columns[:, len(answers.names) :] -= columns[:, len(answers.names) :].mean(axis=0)
    logs = np.log(answers.values[there])
    count = len(answers.names)
    known, at = _independent(columns, count)
    bends = (
        columns[:, :count] ** 2 - 1.0
    )  # inputs with wide ranges act on no straight line; their slopes are the middle's
    terms = np.column_stack([known, np.ones(len(logs)), bends])
    found, *_ = np.linalg.lstsq(terms, logs, rcond=None)
    rest = logs - terms @ found
    slopes = np.zeros(columns.shape[1])
    slopes[at] = found[: len(at)]
    return Slopes(
        middle=float(np.log(np.median(answers.values))),
        inputs=dict(zip(answers.names, slopes[:count].tolist(), strict=True)),
        numbers=dict(zip(CAUSES, slopes[count:].tolist(), strict=True)),
        scatter=float(rest.var()),
        kinds={kind: times / len(answers.kinds) for kind, times in Counter(answers.kinds).items()},
    )


def _independent(columns: Array, inputs: int) -> tuple[Array, Array]:
    """Return the columns that are no copy of an input, with their places."""
    spread = columns.std(axis=0)
    keep = spread > 0.0
    for place in range(inputs, columns.shape[1]):
        for one in range(inputs):
            if keep[place] and keep[one]:
                keep[place] = abs(np.corrcoef(columns[:, place], columns[:, one])[0, 1]) < 0.9
    return columns[:, keep], np.flatnonzero(keep)


def _widest(answers: Answers) -> str:
    causes = [*answers.names, *(str(WORDS[cause]) for cause in CAUSES)]
    columns = np.concatenate([answers.shares, answers.draws], axis=1)
    ranks = rankdata(answers.values)
    if np.ptp(ranks) == 0.0:
        return ""
    follow = [
        abs(float(np.corrcoef(rankdata(column), ranks)[0, 1])) if np.ptp(column) > 0.0 else 0.0 for column in columns.T
    ]
    best = int(np.argmax(follow))
    return causes[best] if follow[best] >= LEAST else ""

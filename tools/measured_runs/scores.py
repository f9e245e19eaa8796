"""How well predictions and published times agree."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from drystow.numerics import Array
from tools.measured_runs.published import Run
from tools.measured_runs.summary import PERCENTILES, Prediction, Said

Pair = tuple[Run, Prediction]


@dataclass(frozen=True)
class Scores:
    """Agreement of some timed runs.

    runs, studies: how many
    covered: share of the runs whose time lies between P10 and P90
    covered_by_study: the same, each study counting once
    error: median of the absolute relative error of P50
    error_by_study: median over the studies of their own medians
    ratio: median of P50 over published
    width: median of P90 over P10
    """

    runs: int
    studies: int
    covered: float
    covered_by_study: float
    error: float
    error_by_study: float
    ratio: float
    width: float


def inside(run: Run, said: Prediction) -> bool:
    """Return whether a published time lies in the range, or can, when it is a limit.

    run: published
    said: its prediction
    """
    if run.bound == "at most":
        return said.p10 <= run.high
    if run.bound == "at least":
        return said.p90 >= run.low
    return said.p10 <= run.published <= said.p90


def scores_of(pairs: Iterable[Pair]) -> Scores | None:
    """Return the agreement of runs with a time; None when there are none.

    pairs: runs with predictions; limits and other numbers are left out
    """
    timed = [(run, said) for run, said in pairs if run.timed]
    if not timed:
        return None
    hit = [inside(run, said) for run, said in timed]
    ratios = [said.p50 / run.published for run, said in timed]
    errors = [abs(ratio - 1.0) for ratio in ratios]
    studies = sorted({run.source for run, _said in timed})

    def by_study(values: Sequence[float]) -> list[list[float]]:
        rows = list(zip(timed, values, strict=True))
        return [[value for (run, _said), value in rows if run.source == key] for key in studies]

    return Scores(
        runs=len(timed),
        studies=len(studies),
        covered=float(np.mean(hit)),
        covered_by_study=float(np.mean([np.mean(hits) for hits in by_study(hit)])),
        error=float(np.median(errors)),
        error_by_study=float(np.median([np.median(own) for own in by_study(errors)])),
        ratio=float(np.median(ratios)),
        width=float(np.median([said.p90 / said.p10 for _run, said in timed])),
    )


def ratio_of(of: Said, to: Said) -> Prediction:
    """Return the range of the ratio of two results, member by member: what both do not know is alike in both.

    of, to: what the engine says of two runs of one study
    """
    return range_of(of.values / to.values)


def range_of(values: Array) -> Prediction:
    """Return the range of numbers, those that are none counting as infinite.

    values: one a member
    """
    low, middle, high = np.percentile(np.where(np.isnan(values), np.inf, values), PERCENTILES, method="nearest")
    return Prediction(float(low), float(middle), float(high))


def same(one: Sequence[Prediction], other: Sequence[Prediction]) -> bool:
    """Return whether two sets of predictions are equal within what rounding leaves.

    one, other: of the same runs in one order
    """
    return all(
        math.isclose(a, b, rel_tol=0.005) for left, right in zip(one, other, strict=True)
        for a, b in zip(left.ranges, right.ranges, strict=True)
    )  # fmt: skip

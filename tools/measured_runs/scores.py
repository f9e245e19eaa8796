"""How well predictions and published times agree."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from tools.measured_runs.predict import Prediction
from tools.measured_runs.published import Run

Pair = tuple[Run, Prediction]


@dataclass(frozen=True)
class Scores:
    """Agreement of some timed runs.

    runs, studies: how many
    covered: share of the runs whose time lies between P10 and P90
    covered_by_study: the same, each study counting once
    error: median of the absolute relative error of P50
    ratio: median of P50 over published
    width: median of P90 over P10
    """

    runs: int
    studies: int
    covered: float
    covered_by_study: float
    error: float
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
    studies = sorted({run.source for run, _said in timed})
    by_study = [
        np.mean([ok for ok, (run, _said) in zip(hit, timed, strict=True) if run.source == key]) for key in studies
    ]
    return Scores(
        runs=len(timed),
        studies=len(studies),
        covered=float(np.mean(hit)),
        covered_by_study=float(np.mean(by_study)),
        error=float(np.median([abs(ratio - 1.0) for ratio in ratios])),
        ratio=float(np.median(ratios)),
        width=float(np.median([said.p90 / said.p10 for _run, said in timed])),
    )


def ratio_of(of: Pair, to: Pair) -> tuple[float, float]:
    """Return the published and the predicted ratio of two times.

    of, to: two runs of one study with their predictions
    """
    predicted = of[1].p50 / to[1].p50 if math.isfinite(to[1].p50) else math.nan
    return of[0].published / to[0].published, predicted


def same(one: Sequence[Prediction], other: Sequence[Prediction]) -> bool:
    """Return whether two sets of predictions are equal within what rounding leaves.

    one, other: of the same runs in one order
    """
    return all(
        math.isclose(a, b, rel_tol=0.005) for left, right in zip(one, other, strict=True)
        for a, b in zip(left.ranges, right.ranges, strict=True)
    )  # fmt: skip

"""What runs of one study say together: which food came first, and the ratios of two times."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from drystow.numerics import Array
from tools.measured_runs.published import FILE, Run
from tools.measured_runs.scores import range_of, ratio_of
from tools.measured_runs.summary import Prediction, Said

CLOSE = 0.10  # relative; two times of one study, read off curves, give their ratio no better


@dataclass(frozen=True)
class Order:
    """An order that a study found.

    name: a few words
    foods: names of the runs as the study found them, first to last
    found: names as the engine's middle results have them
    shown: middle results in the order of the study, hours or per hour
    share: of the draws in which the order is that of the study
    """

    name: str
    foods: tuple[str, ...]
    found: tuple[str, ...]
    shown: tuple[float, ...]
    share: float

    @property
    def agrees(self) -> bool:
        """Whether the middle results are in the order of the study."""
        return self.foods == self.found


@dataclass(frozen=True)
class Ratio:
    """A ratio of two times of one study.

    name: a few words
    published: of the study
    said: of the engine, member by member
    """

    name: str
    published: float
    said: Prediction

    @property
    def agrees(self) -> bool:
        """Whether the published ratio lies in the range, or close to its middle."""
        near = abs(self.said.p50 / self.published - 1.0) <= CLOSE
        return near or self.said.p10 <= self.published <= self.said.p90


def orders_of(runs: Mapping[str, Run], said: Mapping[str, Said]) -> list[Order]:
    """Return the orders that studies found, beside the engine's.

    runs: by name
    said: of the engine by the name of the run
    """
    return [_order(row, runs, said) for row in _raw()["order"]]


def ratios_of(runs: Mapping[str, Run], said: Mapping[str, Said]) -> list[Ratio]:
    """Return the ratios that studies found, beside the engine's.

    runs: by name
    said: of the engine by the name of the run
    """
    return [
        Ratio(
            row["name"],
            runs[row["of"]].published / runs[row["to"]].published,
            ratio_of(said[row["of"]], said[row["to"]]),
        )
        for row in _raw()["ratio"]
    ]


def _raw() -> dict[str, Any]:
    return tomllib.loads(FILE.read_text(encoding="utf-8"))


def _order(row: Mapping[str, Any], runs: Mapping[str, Run], said: Mapping[str, Said]) -> Order:
    foods = tuple(row["runs"])
    ice = row["by"] == "ice"
    results = np.array([said[name].gone / 3600.0 if ice else _rate(runs[name], said[name]) for name in foods])
    middles = [range_of(own).p50 for own in results]
    upward = results if ice else -results
    ranked = sorted(range(len(foods)), key=lambda place: middles[place] if ice else -middles[place])
    return Order(
        row["name"],
        foods,
        tuple(foods[place] for place in ranked),
        tuple(middles),
        float(np.mean(np.all(np.diff(upward, axis=0) > 0.0, axis=0))),
    )


def _rate(run: Run, said: Said) -> Array:
    """Rate at which the water that the ice left behind goes [1/h]: of the normalized curve."""
    end = run.given["end"] / (1.0 - run.given["end"])
    rate: Array = np.log(said.left / end) / ((said.dry - said.gone) / 3600.0)
    return rate

"""Whole fruit against fruit whose skin was opened."""

from collections.abc import Iterator

from drystow.machine.run import simulate
from tests.loads import machine
from tests.published.check import Check

BERRIES = {"food": "Blueberries, raw", "mass": "800 g", "shape": "sphere", "size": "13 mm"}
"""Neither size nor shelf nor pressure was read in either study; one size and a shelf at 45 °C are taken for all."""


def _times(state: str) -> tuple[float, float]:
    """Return how long until the ice is gone, and until the berries are dry [s]."""
    berries = BERRIES | {"skin_state": state}
    result = simulate(machine(berries, shelf=("45 degC until dry",), profile="bench-4"), series=False)
    (tray,) = result.trays
    assert tray.primary_end is not None
    assert tray.dry_end is not None
    return tray.primary_end - result.drying_start, tray.dry_end - result.drying_start


def in_step_whole_berries() -> Iterator[Check]:
    """The resistance of a blueberry's skin is fitted to this study; kept in step with it, it tests nothing."""
    yield Check(
        "ice of whole against pricked blueberries",
        _times("whole")[0] / _times("pricked")[0],
        17 / 13,
        0.17,
        unit="ratio of times",
        source="munzenmayer2020",
        where="abstract, 17 h (0.9 either way) and 13 h (2.0 either way)",
        mark="fitted",
        why="the tolerance is the spread of both times",
    )


def compare_opened_skins() -> Iterator[Check]:
    """Puncturing blueberries, in a study to which nothing was fitted."""
    yield Check(
        "dry with a pricked skin against a whole one",
        _times("pricked")[1] / _times("whole")[1],
        (0.0, 0.95),
        kind="band",
        unit="ratio of times",
        source="jakubczyk2025",
        where="abstract: puncturing the skin halves the drying time",
        why="direction only: size, shelf and end were not read",
    )

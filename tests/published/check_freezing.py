"""Freezing times against textbook examples; the enthalpy method meets both formulas in tests/laws/test_freezing.py."""

from collections.abc import Iterator

from drystow.freezing.estimate import freezing_time_pham, freezing_time_plank
from tests.published.check import Check

SPHERE = 0.07  # diameter of the textbook's sphere [m]


def compare_closed_freezing_times() -> Iterator[Check]:
    yield Check(
        "freezing of a 7 cm sphere by Plank",
        freezing_time_plank("sphere", SPHERE, 1000.0, 250e3, 273.15 - 1.25, 233.15, 50.0, 1.2),
        2600.0,
        0.002,
        unit="s",
        source="singh-heldman",
        where="example on Plank's equation; 2600 s = 0.72 h",
        mark="memory",
        why="printed with two to three digits; the problem statement was read, h = 50 and the answer recalled",
    )
    yield Check(
        "freezing of the same sphere to -18 °C by Pham",
        freezing_time_pham(
            "sphere", SPHERE, 1000.0, 950.0, 0.75, 3600.0, 1800.0, 283.15, 255.15, 233.15, 50.0, 1.2, 333.2e3
        ),
        3745.0,
        0.002,
        unit="s",
        source="singh-heldman",
        where="example on Pham's method; 3745 s = 1.04 h",
        mark="memory",
        why="the book rounds on the way",
    )


def in_step_plank() -> Iterator[Check]:
    yield Check(
        "freezing of the same sphere with h = 30 by Plank",
        freezing_time_plank("sphere", SPHERE, 1000.0, 250e3, 273.15 - 1.25, 233.15, 30.0, 1.2),
        3607.0,
        0.002,
        unit="s",
        source="plank1913",
        where="P = 1/6, R = 1/24, worked by hand with the inputs of a lecture sheet",
        mark="calc",
        why="four digits",
    )

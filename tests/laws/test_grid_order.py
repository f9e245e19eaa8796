"""Errors of the numerics fall as they should when steps get smaller."""

import numpy as np
import pytest

from drystow.foods.model import Composition
from drystow.freezing.piece import freeze_piece
from drystow.machine.load import Load
from drystow.machine.run import simulate
from tests.loads import held, machine, tray

MEAT = Composition(water=0.74, protein=0.21, fat=0.04, ash=0.01)


def ends(load: Load, tolerance: float) -> np.ndarray:
    result = simulate(load, series=False, tolerance=tolerance)
    times = [end for one in result.trays for end in (one.primary_end, one.dry_end)]
    return np.array(times, dtype=float) - result.drying_start


@pytest.mark.parametrize(
    "load",
    [
        held(tray(), tray(shape="sphere", size="12 mm"), shelf="30 degC"),
        machine(tray(), tray(shape="stick", size="9 mm"), shelf=("-10 degC for 2 h", "45 degC until dry")),
    ],
    ids=["held", "machine"],
)
def test_errors_fall_with_the_step_tolerance(load: Load) -> None:
    exact = ends(load, 1e-9)
    errors = [float(np.abs(ends(load, tolerance) / exact - 1.0).max()) for tolerance in (1e-3, 1e-5, 1e-7)]
    assert errors[0] < 2e-2  # twenty times the coarsest tolerance: nobody uses it, its few steps fall as they may
    assert errors[1] < 2e-4  # the usual tolerance, five times inside the 0.1% that is promised
    assert errors[2] < 2e-5
    assert errors[2] < 0.3 * max(errors[0], 1e-5)


@pytest.mark.parametrize("shape", ["slab", "stick", "sphere"])
@pytest.mark.parametrize("h", [10.0, 100.0])
def test_freezing_converges_to_first_order_in_time(shape: str, h: float) -> None:
    """Implicit Euler on a fixed grid: halving the step halves the error.

    One run can only end on a whole step, so the order is taken over a factor of 16.
    """

    def seconds(steps: int) -> float:
        return freeze_piece(
            MEAT, 272.0, shape, 0.03, 1050.0, 278.15, 255.15, 238.15, h, h, 10 * 86400.0, steps=steps
        ).time

    exact = seconds(40_000)
    coarse, fine = abs(seconds(100) / exact - 1.0), abs(seconds(1600) / exact - 1.0)
    assert coarse < 0.05
    assert fine < 0.2 * coarse + 1e-3


@pytest.mark.parametrize("shape", ["slab", "stick", "sphere", "cube"])
def test_the_usual_steps_of_freezing_are_fine_enough(shape: str) -> None:
    usual = freeze_piece(MEAT, 272.0, shape, 0.02, 1050.0, 278.15, 255.15, 241.15, 10.0, 14.0, 10 * 86400.0)
    exact = freeze_piece(
        MEAT, 272.0, shape, 0.02, 1050.0, 278.15, 255.15, 241.15, 10.0, 14.0, 10 * 86400.0, steps=20_000
    )
    assert usual.time == pytest.approx(exact.time, rel=0.02)
    assert usual.heat == pytest.approx(exact.heat, rel=5e-3)

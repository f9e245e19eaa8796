"""What is written down over time: it only grows, ends at the totals, and agrees with the flow that feeds it."""

from pathlib import Path

import numpy as np
import pytest

from drystow.machine.loadfile import read_load
from drystow.machine.run import simulate

LOAD = read_load(Path(__file__).parents[2] / "examples" / "mixed-load.toml")
RESULT = simulate(LOAD)
COURSE = RESULT.energy


def test_the_energy_begins_at_nothing_and_ends_at_the_totals() -> None:
    for course, total in (
        (COURSE.heaters, RESULT.machine.heater_energy),
        (COURSE.refrigeration, RESULT.machine.compressor_energy),
        (COURSE.pump, RESULT.machine.pump_energy),
    ):
        assert len(course) == len(COURSE.time)
        assert course[0] == 0.0
        assert course[-1] == pytest.approx(total, rel=1e-12)
        assert np.all(np.diff(course) >= 0.0)


def test_nobody_uses_more_power_than_the_machine_has() -> None:
    steps = np.diff(COURSE.time)
    real = steps > 1.0
    assert np.max(np.diff(COURSE.heaters)[real] / steps[real]) <= LOAD.rig.dryer.heater_power * (1 + 1e-6)
    # the pump's power is constant from the moment it begins to pull
    pulling = COURSE.time[:-1] >= RESULT.drying_start - LOAD.rig.dryer.pump_down - 1.0
    power = np.diff(COURSE.pump)[real & pulling] / steps[real & pulling]
    assert power == pytest.approx(LOAD.rig.dryer.pump_power, rel=1e-6)


def test_the_ice_on_the_trap_is_the_vapour_that_came() -> None:
    assert RESULT.trap_ice[0] == 0.0
    assert RESULT.trap_ice[-1] == pytest.approx(RESULT.machine.trap_ice, rel=1e-12)
    came = float(np.sum(np.diff(RESULT.time) * 0.5 * (RESULT.vapour[1:] + RESULT.vapour[:-1])))
    assert RESULT.trap_ice[-1] == pytest.approx(came, rel=0.02)  # trapezoids between the records


def test_the_limit_at_which_the_heaters_pause_is_the_dryers() -> None:
    assert RESULT.machine.pressure_limit == LOAD.rig.dryer.pressure_limit

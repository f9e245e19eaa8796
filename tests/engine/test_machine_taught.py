"""A load shifted to what earlier batches taught has the numbers that its members have on average."""

import numpy as np
import pytest

from drystow.machine.run import load_arrays
from drystow.machine.sampling import SHARED, TOGETHER, calibrated, column, drawn_numbers
from tests.loads import machine, tray

KNOWN = {
    ("contact", ""): (-1.1, 0.3),
    ("refrigeration", ""): (0.5, 0.9),
    ("vapour", ""): (-0.4, 0.9),
    ("air", ""): (1.0, 0.9),
    ("shelf", ""): (0.8, 0.9),
    ("resistance", "fruit"): (0.9, 0.5),
    ("conductivity", "fruit"): (-0.6, 0.5),
    ("desorption", "fruit"): (-1.2, 0.5),
    ("isotherm", "fruit"): (0.3, 0.9),
    ("desorption", "meat"): (2.0, 0.5),
}


@pytest.mark.parametrize("own_heat", [True, False])
def test_a_taught_load_is_the_load_of_the_mean_draws(own_heat: bool) -> None:
    rows = [tray(), tray(**{"class": "meat"})]
    if not own_heat:
        for row in rows:
            del row["heat"]
    load = machine(*rows)
    draws = np.zeros((1, column("position", 1) + 1))
    for cause in SHARED:
        draws[0, column(cause)] = KNOWN.get((cause, ""), (0.0, 1.0))[0]
    for number, item in enumerate(load.items):
        for cause, (_kind, share) in TOGETHER.items():
            draws[0, column(cause, number)] = share**0.5 * KNOWN.get((cause, item.food.food_class), (0.0, 1.0))[0]
    members, shifted = drawn_numbers(load, draws), calibrated(load, KNOWN)
    trays, numbers = load_arrays(shifted)
    np.testing.assert_allclose(trays, members.trays[0], rtol=1e-12)
    np.testing.assert_allclose(numbers, members.machines[0], rtol=1e-12)
    assert shifted.rig.program[0].shelf - load.rig.program[0].shelf == pytest.approx(float(members.shelf_offset[0]))


def test_nothing_known_changes_nothing() -> None:
    load = machine(tray())
    trays, numbers = load_arrays(calibrated(load, {}))
    np.testing.assert_array_equal(trays, load_arrays(load)[0])
    np.testing.assert_array_equal(numbers, load_arrays(load)[1])

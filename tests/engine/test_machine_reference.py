"""The compiled simulator against independent solutions with SciPy."""

import math
from pathlib import Path

import numpy as np
import pytest
from benchmarks.reference import reference
from scipy.integrate import quad
from scipy.optimize import brentq

from drystow.machine import stepper
from drystow.machine.layout import MACHINE_STATES, ItemState
from drystow.machine.load import Load
from drystow.machine.loadfile import read_load
from drystow.machine.run import load_arrays, simulate
from tests.loads import held, machine, tray

EXAMPLES = Path(__file__).parents[2] / "examples"


def worst(load: Load) -> float:
    result, ends = simulate(load), reference(load)
    start = result.drying_start
    pairs = [(one.primary_end, float(ends.primary[j])) for j, one in enumerate(result.trays)]
    pairs += [(one.dry_end, float(ends.dry[j])) for j, one in enumerate(result.trays)]
    pairs.append((result.total_time, ends.total))
    misses = []
    for got, expected in pairs:
        assert got is not None
        misses.append(abs((got - start) / expected - 1.0))
    return max(misses)


MEAT = tray(
    **{"composition": {"water": 0.74, "protein": 0.22, "fat": 0.03, "ash": 0.01}, "class": "meat", "size": "12 mm"},
    dried_layer={"A1": "5e7 1/s"},
)
BARS = tray(size="13 mm", width="25 mm", length="100 mm", mass="0.7 kg")
del BARS["area"]
BERRIES = {"food": "Blueberries, raw", "mass": "1 kg", "shape": "sphere", "size": "14 mm", "area": "0.1 m^2"}
BERRIES |= {"frozen": True, "start_temperature": "-30 degC"}
PIECES = {"composition": {"water": 0.8, "carbohydrate": 0.19, "ash": 0.01}, "class": "vegetable", "mass": "0.9 kg"}


@pytest.mark.parametrize(
    "load",
    [
        pytest.param(machine(tray(), tray(**PIECES, shape="sphere", size="12 mm")), id="slab and spheres"),
        pytest.param(
            machine(
                tray(faces=2),
                tray(**PIECES, shape="stick", size="10 mm"),
                shelf=("-10 degC for 2 h", "15 degC for 3 h", "45 degC until dry"),
            ),
            id="two-faced slab and sticks, three steps",
        ),
        pytest.param(held(tray(), tray(shape="cube", size="14 mm"), upper="60 degC"), id="held, warmer upper plate"),
        pytest.param(machine(tray(), tray(), heater_power="120 W"), id="weak heater"),
        pytest.param(machine(tray(), tray(mass="8 g", size="10 mm")), id="a crumb on a whole tray"),
        pytest.param(machine(tray(), tray(), refrigeration="150 W"), id="weak trap"),
        pytest.param(machine(tray(), tray(), choked_area="1 cm^2", pressure_limit="0 Pa"), id="choked opening"),
        pytest.param(machine(tray(), tray(shape="cube", size="12 mm"), leak="0.3 mbar*L/s"), id="much air"),
        pytest.param(held(tray(), tray(shape="sphere", size="9 mm"), air="25 Pa"), id="held, half of the gas is air"),
        pytest.param(held(tray(), surroundings="22 degC", shelf="45 degC"), id="held, walls of their own temperature"),
        pytest.param(held(tray(), shelf=("-10 degC for 2 h", "40 degC until dry")), id="held, program of two steps"),
        pytest.param(machine(BARS), id="bars that rest on the tray"),
        pytest.param(held(BERRIES, shelf="20 degC"), id="whole berries"),
        pytest.param(held(MEAT, {**MEAT, "shape": "stick"}, shelf="45 degC"), id="meat, slab and sticks"),
    ],
)
def test_end_times_agree_with_scipy_lsoda_on_the_same_equations(load: Load) -> None:
    # requirement: 0.1%; the engine's own step tolerance is 1e-5
    assert worst(load) < 1e-3


def test_end_times_of_a_written_load_agree_with_scipy_lsoda() -> None:
    assert worst(read_load(EXAMPLES / "berry-tray.toml")) < 1e-3


def ice_pressure(t: float) -> float:
    return math.exp(9.550426 - 5723.265 / t + 3.53068 * math.log(t) - 0.00728332 * t)


def latent(t: float) -> float:
    molar = 46782.5 + 35.8925 * t - 0.07414 * t * t + 541.5 * math.exp(-((t / 123.75) ** 2))
    return molar / 0.018015268


@pytest.mark.parametrize("shape", ["slab", "stick", "sphere", "cube", "two-faced slab"])
@pytest.mark.parametrize("shelf", [-5.0, 30.0])
def test_a_held_front_takes_the_time_of_the_written_model(shape: str, shelf: float) -> None:
    """The front problem of the design alone: a root for the front, a quadrature over the dried share."""
    ice, outer, contact, above, size, pressure = 0.8, 0.35, 0.1, 0.15, 0.012, 45.0
    r0, a1, a2, k_dried, k_frozen, h_contact, h_above = 2e4, 6e7, 30.0, 0.028, 1.8, 14.0, 3.5
    load = held(
        tray(
            shape=shape.split()[-1],
            faces=2 if shape.startswith("two") else 1,
            size="12 mm",
            ice_mass="0.8 kg",
            areas={"outer": "0.35 m^2", "contact": "0.1 m^2", "above": "0.15 m^2"},
            dried_layer={"R0": "2e4 m/s", "A1": "6e7 1/s", "A2": "30 1/m", "conductivity": "0.028 W/m/K"},
            heat={"contact": "14 W/m^2/K", "above": "3.5 W/m^2/K", "frozen_conductivity": "1.8 W/m/K"},
        ),
        shelf=f"{shelf} degC",
        pressure="45 Pa",
    )
    plate = shelf + 273.15
    length = size if shape == "slab" else size / 2

    def depth(dried: float) -> float:
        if "slab" in shape:
            return length * dried
        if shape == "stick":
            return length * math.log(1.0 / math.sqrt(1.0 - dried))
        return length * ((1.0 - dried) ** (-1.0 / 3.0) - 1.0)

    def front(dried: float) -> float:
        layer = depth(dried)
        resistance = r0 + a1 * layer / (1 + a2 * layer)
        below = length * (1 - dried) / k_frozen if shape == "slab" else layer / k_dried
        conductance = contact / (1 / h_contact + below) + above / (1 / h_above + layer / k_dried)

        def balance(t: float) -> float:
            return conductance * (plate - t) - outer * (ice_pressure(t) - pressure) / resistance * latent(t)

        return float(brentq(balance, 200.0, plate, xtol=1e-11))

    def seconds(dried: float) -> float:
        layer = depth(dried)
        flow = outer * (ice_pressure(front(dried)) - pressure) / (r0 + a1 * layer / (1 + a2 * layer))
        return ice / flow

    # dried = 1 - w^3 takes the steep end out of the integral for sticks and spheres
    expected, _ = quad(lambda w: seconds(1 - w**3) * 3 * w * w, 1e-9, 1.0, epsrel=1e-8, limit=400)
    result = simulate(load).trays[0]
    assert result.primary_end == pytest.approx(expected, rel=1e-4)
    assert result.front_temperature_start == pytest.approx(front(0.0), abs=2e-3)
    icy = result.dried_fraction < 1.0
    expected_fronts = [front(float(dried)) for dried in result.dried_fraction[icy]]
    assert result.front_temperature[icy] == pytest.approx(np.array(expected_fronts), abs=2e-3)


def test_food_that_is_dry_when_its_ice_ends_is_not_dry_before() -> None:
    row = tray(shape="sphere", size="13 mm", final_moisture="40%", dried_layer={"A1": "5e7 1/s"})
    for load in (held(row, shelf="60 degC"), machine(row, tray())):
        one = simulate(load, series=False).trays[0]
        assert one.primary_end is not None
        assert one.dry_end is not None
        assert one.primary_end <= one.dry_end <= one.primary_end + 60.0


def test_a_state_where_no_formula_holds_has_no_rates() -> None:
    """A trial step that is far too long ends there; taken for a good one, all that follows would be no number."""
    trays, row = load_arrays(machine(tray()))
    balance, state = stepper.new_balance(trays, row), stepper.new_state(trays, 1e6)
    out = np.zeros(state.size)
    state[MACHINE_STATES + ItemState.FRACTION] = 0.5
    assert not stepper.slopes(state, 320.0, trays, row, balance.foods, balance.chamber_state, out)

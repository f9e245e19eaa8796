"""Water and heat are conserved while drying."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import simpson
from scipy.interpolate import CubicSpline

from drystow.machine.layout import (
    CELLS,
    MACHINE_RECORD,
    MACHINE_STATES,
    RECORD_PER_TRAY,
    STATES_PER_TRAY,
    ItemRecord,
    ItemState,
    State,
    Tray,
    TrayTime,
)
from drystow.machine.load import Load
from drystow.machine.run import dry, drying_program, freeze_load, load_arrays, simulate, start_of_drying
from drystow.machine.summary import Raw
from drystow.properties.water import sublimation_heat
from tests.loads import held, machine, tray

BOUND_HEAT, LIQUID_HEAT_CAPACITY = 2.7e6, 4180.0  # heat of desorption and of bound water, as the model states them


def raw_run(load: Load, tolerance: float = 1e-6) -> Raw:
    _, shelf = start_of_drying(load, freeze_load(load))
    return dry(load_arrays(load), drying_program(load), shelf, tolerance, 6000)


def trays() -> st.SearchStrategy[dict[str, object]]:
    return st.builds(
        lambda shape, faces, size, mass, water, a1, conductivity: tray(
            shape=shape,
            faces=faces if shape == "slab" else 1,
            size=f"{size} mm",
            mass=f"{mass} kg",
            area="0.12 m^2",
            composition={"water": water, "carbohydrate": 0.98 - water, "ash": 0.02},
            dried_layer={"R0": "1e4 m/s", "A1": f"{a1} 1/s", "A2": "0 1/m", "conductivity": f"{conductivity} W/m/K"},
        ),
        st.sampled_from(["slab", "stick", "sphere", "cube"]),
        st.sampled_from([1, 2]),
        st.floats(5.0, 15.0),
        st.floats(0.3, 1.0),
        st.floats(0.6, 0.9),
        st.floats(1e7, 1e8),
        st.floats(0.012, 0.06),
    )


@given(st.lists(trays(), min_size=1, max_size=3), st.floats(15.0, 60.0), st.floats(10.0, 150.0))
@settings(max_examples=25, deadline=None)
def test_water_of_a_held_load_ends_in_the_trap_or_in_the_food(
    food: list[dict[str, object]], shelf: float, pressure: float
) -> None:
    result = simulate(held(*food, shelf=f"{shelf} degC", pressure=f"{pressure} Pa"))
    start = sum(one.water_start for one in result.trays)
    left = sum(one.solids * one.residual_moisture / (1.0 - one.residual_moisture) for one in result.trays)
    assert result.machine.trap_ice + left == pytest.approx(start, rel=1e-6)


@given(st.lists(trays(), min_size=1, max_size=4), st.floats(15.0, 60.0), st.floats(-20.0, 15.0))
@settings(max_examples=25, deadline=None)
def test_water_of_a_load_in_the_machine_ends_in_the_trap_or_in_the_food(
    food: list[dict[str, object]], shelf: float, first: float
) -> None:
    load = machine(*food, shelf=(f"{first} degC for 3 h", f"{shelf} degC until dry"), rim_height="60 mm")
    result = simulate(load)
    start = sum(one.water_start for one in result.trays)
    left = sum(one.solids * one.residual_moisture / (1.0 - one.residual_moisture) for one in result.trays)
    assert result.machine.trap_ice + left == pytest.approx(start, rel=1e-6)


@pytest.mark.parametrize(
    "load",
    [
        held(tray(), shelf="30 degC"),
        held(tray(shape="sphere", size="12 mm"), shelf="30 degC"),
        machine(tray(), tray(shape="stick", size="10 mm"), shelf=("-10 degC for 2 h", "45 degC until dry")),
    ],
    ids=["held slab", "held spheres", "machine"],
)
def test_heat_into_food_with_ice_is_the_ice_times_its_heat_of_sublimation(load: Load) -> None:
    """Integrated here over the share dried, with the heat of sublimation at the recorded front of each moment."""
    raw = raw_run(load)
    expected = 0.0
    for j, ice in enumerate(raw.trays[:, Tray.ICE]):
        record = raw.rows[:, MACHINE_RECORD + RECORD_PER_TRAY * j :]
        dried, front = record[:, ItemRecord.DRIED], record[:, ItemRecord.TEMPERATURE]
        icy = dried < 1.0
        share, heat = np.append(dried[icy], 1.0), np.asarray(sublimation_heat(front[icy]))
        heat = np.append(heat, sublimation_heat(raw.tray_times[j, TrayTime.FRONT_END]))
        expected += float(ice * np.sum(0.5 * (heat[1:] + heat[:-1]) * np.diff(share)))
    assert raw.state[State.SUBLIMATION_HEAT] == pytest.approx(
        expected, rel=1e-5
    )  # a millionth of the ice is closed without heat
    assert raw.state[State.FOOD_HEAT] >= raw.state[State.SUBLIMATION_HEAT]


@pytest.mark.parametrize(
    "load",
    [
        held(tray(), shelf="30 degC"),
        held(tray(shape="sphere", size="12 mm"), shelf="45 degC", pressure="100 Pa"),
        held(tray(faces=2), tray(shape="stick", size="8 mm"), shelf="20 degC"),
        machine(tray(), shelf=("-10 degC for 2 h", "45 degC until dry")),
        machine(tray(), tray(shape="cube", size="12 mm"), shelf=("40 degC until dry",)),
    ],
    ids=["held slab", "held spheres", "held pair", "machine slab", "machine pair"],
)
def test_heat_into_the_food_without_ice_is_desorption_and_warming(load: Load) -> None:
    """Heat in = heat of the bound water that left + warming of solids and bound water.

    The warming is integrated here, from the states of many runs that are stopped on the way: splines through the heat
    capacity and the temperature of each tray, not the engine's own sum.
    """
    full = raw_run(load)
    gone = float(np.nanmax(full.tray_times[:, TrayTime.ICE_GONE]))
    _, shelf = start_of_drying(load, freeze_load(load))
    stops = gone + 1.0 + np.geomspace(1.0, full.end - gone - 2.0, 160)
    states = [_state_at(load, drying_program(load), shelf, stop) for stop in stops]
    heat = states[-1][State.FOOD_HEAT] - states[0][State.FOOD_HEAT]
    assert states[-1][State.SUBLIMATION_HEAT] == states[0][State.SUBLIMATION_HEAT]  # nothing sublimes any more
    cells = [
        [state[MACHINE_STATES + ItemState.WATER + cell :: STATES_PER_TRAY] for cell in range(CELLS)] for state in states
    ]
    bound = np.mean(cells, axis=1) * full.trays[:, Tray.SOLIDS]
    food = np.array([state[MACHINE_STATES + ItemState.TEMPERATURE :: STATES_PER_TRAY] for state in states])
    capacity = full.trays[:, Tray.SOLIDS] * full.trays[:, Tray.HEAT_CAPACITY] + bound * LIQUID_HEAT_CAPACITY
    place = np.log(stops - gone)
    warming = 0.0
    for j in range(len(full.trays)):
        rate = CubicSpline(place, food[:, j]).derivative()
        curve = CubicSpline(place, capacity[:, j])
        middle = np.linspace(place[0], place[-1], 20001)
        warming += float(simpson(curve(middle) * rate(middle), x=middle))
    left = float((bound[0] - bound[-1]).sum())
    assert heat == pytest.approx(BOUND_HEAT * left + warming, rel=1e-5)


def _state_at(load: Load, program: np.ndarray, shelf: float, stop: float) -> np.ndarray:
    """State when the same program is cut off at `stop`."""
    steps, before = [], 0.0
    for duration, setpoint in program:
        if before + duration >= stop:
            steps.append((stop - before, setpoint))
            break
        steps.append((duration, setpoint))
        before += duration
    return dry(load_arrays(load), np.array(steps), shelf, 1e-7, 0).state

"""How drying time answers to thickness, heat, resistance, pressure, and to how a load is written."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drystow.drying.closed import drying_time_vapour_through_layer
from drystow.drying.layer import layer_conductivity, layer_depth, layer_resistance
from drystow.machine.load import Load
from drystow.machine.run import simulate
from tests.loads import FAST, held, machine, tray

SHAPES = ["slab", "stick", "sphere", "cube"]
HOLDS = {"rim_height": "80 mm"}


def primary(load: Load) -> float:
    end = simulate(load, series=False).trays[0].primary_end
    assert end is not None
    return end


def dry(load: Load) -> float:
    result = simulate(load, series=False)
    assert result.ended_by == "dry"
    return result.total_time - result.drying_start


def layer(**changes: str) -> dict[str, str]:
    return {"R0": "1e4 m/s", "A1": "5e7 1/s", "A2": "0 1/m", "conductivity": "0.03 W/m/K", **changes}


@pytest.mark.parametrize("shape", SHAPES)
@given(st.floats(4.0, 14.0), st.floats(1.03, 1.6))
@settings(max_examples=12, deadline=None)
def test_thicker_food_takes_longer(shape: str, size: float, factor: float) -> None:
    def load(millimetres: float, mass: float) -> Load:
        return held(tray(shape=shape, size=f"{millimetres} mm", mass=f"{mass} kg"))

    grows = factor if shape == "slab" else 1.0  # a slab covers the same tray; pieces: same mass, bigger pieces
    assert primary(load(size * factor, 0.8 * grows)) > primary(load(size, 0.8))


@pytest.mark.parametrize("shape", SHAPES)
@given(st.floats(-10.0, 60.0), st.floats(1.0, 20.0))
@settings(max_examples=12, deadline=None)
def test_a_warmer_shelf_dries_faster(shape: str, shelf: float, more: float) -> None:
    warm, cool = (held(tray(shape=shape), shelf=f"{t} degC") for t in (shelf + more, shelf))
    assert primary(warm) < primary(cool)


def test_a_warmer_shelf_dries_faster_in_the_machine_until_the_heaters_are_held_back() -> None:
    times = [
        dry(machine(tray(), tray(), shelf=(f"{t} degC until dry",), **HOLDS)) for t in (20.0, 30.0, 40.0, 50.0, 60.0)
    ]
    assert np.all(np.diff(times) < 0.0)
    gains = -np.diff(times) / np.array(times[:-1])
    assert gains[-1] < gains[0]  # pressure limit and trap take their share of every further kelvin


@pytest.mark.parametrize("shape", SHAPES)
@given(st.floats(1e7, 2e8), st.floats(1.05, 2.0))
@settings(max_examples=12, deadline=None)
def test_a_denser_layer_takes_longer(shape: str, slope: float, factor: float) -> None:
    open_layer, dense_layer = (
        held(tray(shape=shape, dried_layer=layer(A1=f"{a1} 1/s"))) for a1 in (slope, slope * factor)
    )
    assert primary(dense_layer) > primary(open_layer)


def test_dense_beef_with_a_warm_surface_dries_faster_at_higher_pressure() -> None:
    """Source: bralsford1967 (abstract): at normal surface temperatures the rate rises with chamber pressure.

    Its numbers are not known. In these equations the effect is small (2%), needs the least permeability published for
    beef (0.7e-8 s) and a surface close to its plate's 50 °C; beyond about 130 Pa the warmer front takes the gain back.
    The class's middle permeability (2e-8 s) gives a slowly falling rate: a known mismatch if the beef was of that kind,
    or if the pressure was raised with dry gas, which warms the layer without hindering the vapour.
    """
    beef = {"water": 0.72, "protein": 0.21, "fat": 0.06, "ash": 0.01}
    row = tray(
        **{"composition": beef, "class": "meat", "faces": 2},
        dried_layer={"R0": "1.5e4 m/s", "A1": f"{1 / 0.7e-8} 1/s"},  # conductivity of the class, rising with gas
        heat={"contact": "400 W/m^2/K", "above": "400 W/m^2/K"},
    )
    times = [primary(held(row, shelf="50 degC", pressure=f"{p} Pa")) for p in (15, 40, 80)]
    assert np.all(np.diff(times) < -0.005 * np.array(times[:-1]))


def test_a_slab_heated_across_a_gas_gap_dries_faster_at_higher_pressure() -> None:
    """Source: pikal-kv: gas conduction carries most of the heat from shelf to container, and rises with pressure.

    Above about 20 Pa the gap's conduction no longer rises much and the warmer front takes the gain back.
    """
    row = tray(heat={"above": "0 W/m^2/K"}, dried_layer=layer(A1="5e6 1/s"))  # contact is the dryer's
    times = [primary(held(row, shelf="20 degC", pressure=f"{p} Pa")) for p in (2, 5, 10, 15)]
    assert np.all(np.diff(times) < 0.0)


def test_a_slab_heated_from_below_and_held_up_by_its_layer_dries_slower_at_higher_pressure() -> None:
    """Source: sadikoglu-policy (abstracts): the least pressure is the fastest policy."""
    row = tray(dried_layer=layer(A1="3e8 1/s"), heat={"contact": "15 W/m^2/K", "above": "0 W/m^2/K"})
    times = [primary(held(row, shelf="0 degC", pressure=f"{p} Pa")) for p in (5, 20, 60, 120)]
    assert np.all(np.diff(times) > 0.0)


def slab_of(millimetres: float, **changes: Any) -> dict[str, Any]:
    return tray(size=f"{millimetres} mm", mass=f"{millimetres / 10} kg", **changes)


def test_a_slab_limited_by_contact_heat_takes_time_like_its_thickness() -> None:
    heat = {"contact": "5 W/m^2/K", "above": "0 W/m^2/K", "frozen_conductivity": "5 W/m/K"}
    thin, thick = (primary(held(slab_of(size, dried_layer=FAST, heat=heat))) for size in (5.0, 10.0))
    assert thick / thin == pytest.approx(2.0, rel=0.02)


def test_a_slab_limited_by_its_layer_takes_time_like_the_square_of_its_thickness() -> None:
    # plenty of heat: the front comes to a temperature that does not depend on the depth
    heat = {"contact": "0.01 W/m^2/K", "above": "9000 W/m^2/K"}
    resistive = layer(R0="0 m/s", A1="2e8 1/s")
    thin, thick = (primary(held(slab_of(size, dried_layer=resistive, heat=heat))) for size in (5.0, 10.0))
    assert thick / thin == pytest.approx(4.0, rel=0.02)


def test_a_layer_controlled_slab_agrees_with_the_closed_formula() -> None:
    """Source: singh-heldman, King's form: m L^2 / (2 Pi (p_front - p_chamber)) at a front that is steady."""
    heat = {"contact": "2000 W/m^2/K", "above": "0 W/m^2/K", "frozen_conductivity": "5 W/m/K"}
    row = tray(ice_mass="0.8 kg", dried_layer=layer(R0="0 m/s", A1="1e9 1/s"), heat=heat)
    result = simulate(held(row, shelf="-20 degC", pressure="20 Pa"))
    expected = drying_time_vapour_through_layer(0.8 / (0.1 * 0.010), 0.010, 1e-9, 103.25, 20.0)
    # p_ice(-20 °C) = 103.25 Pa (murphy2005); the front is a little colder than the plate: 1 K is 10% of pressure
    assert result.trays[0].primary_end == pytest.approx(expected, rel=0.01)


@given(st.sampled_from(["slab", "stick", "sphere"]), st.floats(0.2, 0.8), st.booleans())
@settings(max_examples=10, deadline=None)
def test_a_tray_written_as_two_parts_dries_like_the_whole(shape: str, share: float, is_held: bool) -> None:
    def part(fraction: float) -> dict[str, Any]:
        return tray(shape=shape, mass=f"{fraction * 0.9} kg", area=f"{fraction * 0.1} m^2")

    other = tray(shape="cube", size="8 mm", mass="0.5 kg")
    build = held if is_held else (lambda *rows: machine(*rows, **HOLDS))
    whole = simulate(build(part(1.0), other), series=False)
    parts = simulate(build(part(share), part(1.0 - share), other), series=False)
    for piece in parts.trays[:2]:
        assert piece.primary_end == pytest.approx(whole.trays[0].primary_end, rel=1e-4)
        assert piece.dry_end == pytest.approx(whole.trays[0].dry_end, rel=1e-4)
    assert parts.total_time == pytest.approx(whole.total_time, rel=1e-4)


def test_order_of_the_trays_does_not_matter() -> None:
    rows = [tray(), tray(shape="sphere", size="12 mm"), tray(faces=2)]
    straight = simulate(machine(*rows, **HOLDS), series=False)
    turned = simulate(machine(*rows[::-1], **HOLDS), series=False)
    for one, two in zip(straight.trays, turned.trays[::-1], strict=True):
        assert one.dry_end == pytest.approx(two.dry_end, rel=1e-4)


def test_a_dryer_twice_the_size_with_twice_the_load_takes_the_same_time() -> None:
    once = {
        "trays": 5, "tray_area": (0.16, "m^2"), "heater_power": (1100.0, "W"), "shelf_heat_capacity": (13000.0, "J/K"),
        "trap_capacity": (7.0, "kg"), "trap_area": (0.6, "m^2"), "vapour_conductance": (1.1e-5, "kg/s/Pa"),
        "choked_area": (0.035, "m^2"), "refrigeration": (560.0, "W"), "room_conductance": (1.0, "W/K"),
        "wall_conductance": (0.8, "W/K"), "compressor_power": (690.0, "W"), "pump_power": (420.0, "W"),
        "pump_speed": (8.0, "m^3/h"), "leak": (0.015, "mbar*L/s"), "chamber_volume": (80.0, "L"),
        "freezer_power": (130.0, "W"),
    }  # fmt: skip

    def scaled(factor: int) -> Load:
        numbers: dict[str, Any] = {}
        for name, value in once.items():
            numbers[name] = value * factor if isinstance(value, int) else f"{value[0] * factor} {value[1]}"
        numbers["rim_height"] = "80 mm"
        rows = [
            tray(mass=f"{0.9 * factor} kg", area=f"{0.1 * factor} m^2"),
            tray(shape="sphere", mass=f"{0.7 * factor} kg", area=f"{0.1 * factor} m^2"),
        ]
        return machine(*rows, shelf=("-10 degC for 2 h", "45 degC until dry"), **numbers)

    one, two = simulate(scaled(1)), simulate(scaled(2))
    assert two.total_time == pytest.approx(one.total_time, rel=1e-4)
    assert two.machine.energy == pytest.approx(2.0 * one.machine.energy, rel=1e-3)
    assert two.machine.trap_ice == pytest.approx(2.0 * one.machine.trap_ice, rel=1e-6)


@pytest.mark.parametrize(
    ("changes", "same"),
    [
        ({"mass": "1.0 kg"}, {"mass": "2.2046226218 lb"}),
        ({"size": "0.5 inch"}, {"size": "12.7 mm"}),
        ({"area": "0.1 m^2"}, {"area": "155.00031 inch^2"}),
        ({"start_temperature": "-30 degC"}, {"start_temperature": "-22 degF"}),
        ({"final_moisture": "3%"}, {"final_moisture": 0.03}),
    ],
)
def test_units_do_not_matter(changes: dict[str, Any], same: dict[str, Any]) -> None:
    assert dry(held(tray(**changes))) == pytest.approx(dry(held(tray(**same))), rel=1e-6)


def test_side_faces_speed_drying_and_cool_the_front() -> None:
    """Source: drying-notes (multi-dimensional study of 2007): side faces speed drying and lower the front temperature.

    A bar twice as wide as thick that dries from top and bottom, and the same bar also drying from its sides (a stick of
    the same thickness has the same depth to dry).
    """
    heat = {"contact": "12 W/m^2/K", "above": "4 W/m^2/K"}
    slab = simulate(held(tray(shape="slab", faces=2, size="12 mm", heat=heat)), series=False).trays[0]
    stick = simulate(held(tray(shape="stick", size="12 mm", heat=heat)), series=False).trays[0]
    sphere = simulate(held(tray(shape="sphere", size="12 mm", heat=heat)), series=False).trays[0]
    assert sphere.primary_end < stick.primary_end < slab.primary_end  # type: ignore[operator]
    # more faces for the vapour with the same heat: the front of the same food runs colder
    few = {"outer": "0.2 m^2", "contact": "0.1 m^2", "above": "0.1 m^2"}
    many = {**few, "outer": "0.3 m^2"}
    closed, opened = (
        simulate(held(tray(shape="stick", size="12 mm", areas=areas, heat=heat)), series=False).trays[0]
        for areas in (few, many)
    )
    assert opened.primary_end < closed.primary_end  # type: ignore[operator]
    assert opened.front_temperature_start < closed.front_temperature_start
    assert opened.front_temperature_max < closed.front_temperature_max


@given(st.sampled_from(SHAPES), st.floats(1e-3, 0.05), st.floats(1e-6, 0.5))
def test_the_dried_layer_grows_from_nothing_like_the_share_dried(shape: str, length: float, share: float) -> None:
    depth = layer_depth(shape, length, np.array([0.0, share * 1e-3, share]))
    assert depth[0] == 0.0
    assert np.all(np.diff(depth) > 0.0)
    dimension = {"slab": 1, "stick": 2, "sphere": 3, "cube": 3}[shape]
    assert depth[1] == pytest.approx(length * share * 1e-3 / dimension, rel=1e-3)  # volume = area times depth


@given(st.floats(0.0, 1e5), st.floats(1e7, 1e9), st.floats(0.0, 500.0), st.floats(0.0, 0.05))
def test_resistance_starts_at_r0_and_never_passes_its_ceiling(r0: float, a1: float, a2: float, depth: float) -> None:
    value = layer_resistance(depth, r0, a1, a2)
    assert layer_resistance(0.0, r0, a1, a2) == r0
    assert r0 <= value <= r0 + (a1 / a2 if a2 > 0 else a1 * depth) * (1 + 1e-12)


@given(st.floats(0.0, 1e5), st.floats(1.0, 1e4))
def test_conductivity_of_the_layer_rises_with_gas_towards_its_ceiling(pressure: float, more: float) -> None:
    low, high = (layer_conductivity(p, 0.02, 0.017, 215.0) for p in (pressure, pressure + more))
    assert 0.02 <= low < high < 0.037

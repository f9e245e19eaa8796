"""How food lies on its tray: areas and lengths that follow from mass, size and packing, and what they do to times."""

import itertools
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drystow.errors import InputErrors
from drystow.machine.layout import Tray
from drystow.machine.loadfile import parse_load
from drystow.machine.pieces import BLOCK_LAYER, PILE, ROUND_LAYER, Cut, covering_resistance, holds, lie_of, one_layer
from drystow.machine.run import simulate
from drystow.machine.sampling import drawn_numbers, load_samples
from tests.loads import FAST, SLOW, held, machine, tray

WATERLIKE = 1000.0
lengths = st.floats(0.002, 0.05)


def surface(cut: Cut) -> float:
    """Surface that lets vapor out, of one piece, by school geometry [m2]."""
    h, w = cut.size, cut.width or 0.0
    if cut.shape == "sphere":
        return math.pi * h**2
    if cut.shape == "cube":
        return 6.0 * h**2
    if cut.shape == "stick":
        return 2.0 * math.pi * (h / 2) ** 2 + math.pi * h * (cut.length or 0.0)
    if cut.length is None:
        return cut.faces * math.pi * w**2 / 4 + math.pi * w * h
    return cut.faces * w * cut.length + 2.0 * h * (w + cut.length)


@given(lengths, lengths, lengths, st.sampled_from([1, 2]), st.floats(0.01, 1.0))
def test_shape_number_and_drying_length_give_the_true_surface_over_volume(
    size: float, width: float, length: float, faces: int, mass: float
) -> None:
    cuts = (
        Cut("slab", size, width, length, faces),
        Cut("slab", size, width, None, faces),
        Cut("stick", size, None, length),
        Cut("sphere", size),
        Cut("cube", size),
    )
    for cut in cuts:
        lie = lie_of(cut, mass, WATERLIKE, None)
        volume = cut.volume
        assert volume is not None
        assert lie.count is not None
        assert lie.count * volume * WATERLIKE == pytest.approx(mass)
        assert lie.areas.outer == pytest.approx(lie.count * surface(cut))
        assert lie.length / lie.dimension == pytest.approx(volume / surface(cut))
        assert 1.0 <= lie.dimension <= 3.0
        assert lie.length <= size


def test_a_thin_slice_dries_through_its_thickness_from_one_face_and_half_of_it_from_two() -> None:
    one, two = (lie_of(Cut("slab", 0.008, faces=faces), 0.5, WATERLIKE, 0.2) for faces in (1, 2))
    assert (one.length, one.dimension, one.resting) == (0.008, 1.0, True)
    assert (two.length, two.dimension, two.resting) == (0.004, 1.0, False)
    assert one.shadow == two.shadow == pytest.approx(0.5 / WATERLIKE / 0.008)


def test_a_tall_bar_dries_through_its_narrow_way() -> None:
    bar = lie_of(Cut("slab", 0.04, 0.02, 0.2), 0.5, WATERLIKE, 0.2)
    assert bar.length == pytest.approx(0.01)


@given(
    st.sampled_from(["slab", "stick", "sphere", "cube"]),
    st.floats(0.004, 0.02),
    st.one_of(st.none(), st.floats(0.01, 0.06)),
    st.floats(0.02, 3.0),
    st.floats(0.02, 0.3),
    st.sampled_from(["", "apart", "touching", "piled"]),
)
def test_no_food_takes_more_of_a_tray_than_there_is(
    shape: str, size: float, width: float | None, mass: float, room: float, packing: str
) -> None:
    cut = Cut(shape, size, width if shape == "slab" else None, packing=packing)
    lie = lie_of(cut, mass, WATERLIKE, room)
    assert 0.0 < lie.areas.contact <= lie.shadow <= room * (1 + 1e-9)
    assert lie.areas.contact - 1e-12 <= lie.areas.above <= room * (1 + 1e-9)
    assert lie.areas.outer >= lie.areas.contact * (1 - 1e-9)
    assert lie.coverage is not None
    assert lie.coverage <= 1.0
    assert lie.layers >= 1.0
    filled = lie.height * room * WATERLIKE
    assert filled >= mass * (1 - 1e-9), "it does not vanish between the pieces"


@pytest.mark.parametrize(
    ("cut", "full"),
    [
        (Cut("sphere", 0.012), ROUND_LAYER),
        (Cut("slab", 0.01, 0.04), ROUND_LAYER),
        (Cut("slab", 0.01, 0.04, 0.09), BLOCK_LAYER),
        (Cut("cube", 0.01), BLOCK_LAYER),
        (Cut("slab", 0.01), 1.0),
    ],
)
def test_more_than_a_full_layer_dries_as_a_bed_of_its_depth(cut: Cut, full: float) -> None:
    layer = one_layer(cut, WATERLIKE, 0.1)
    least = lie_of(cut, layer, WATERLIKE, 0.1)
    assert not least.piled
    assert least.coverage == pytest.approx(full)
    double = lie_of(cut, 2.0 * layer, WATERLIKE, 0.1)
    assert double.piled
    assert double.length == double.height
    assert (double.shape, double.dimension, double.resting) == ("slab", 1.0, True)
    assert double.height >= 2.0 * cut.size * (1 - 1e-9)
    assert double.areas.above == pytest.approx(0.1)


def test_a_heap_of_round_pieces_is_as_deep_as_a_loose_pile() -> None:
    heap = lie_of(Cut("sphere", 0.008), 1.5, WATERLIKE, 0.16)
    assert heap.height == pytest.approx(1.5 / WATERLIKE / (PILE * 0.16))
    assert holds(Cut("sphere", 0.008), WATERLIKE, 0.16, 0.019) == pytest.approx(WATERLIKE * PILE * 0.16 * 0.019)


@given(st.floats(0.05, 2.0), st.floats(0.05, 0.3), st.floats(0.002, 0.02))
def test_what_pours_stands_as_deep_as_its_amount_makes_it(mass: float, room: float, size: float) -> None:
    lie = lie_of(Cut("slab", size, pours=True), mass, WATERLIKE, room)
    assert lie.packing == "poured"
    assert lie.length * room * WATERLIKE == pytest.approx(mass)
    assert lie.shadow == room


def test_a_written_area_wins() -> None:
    lie = lie_of(Cut("slab", 0.01), 0.3, WATERLIKE, 0.16, 0.09)
    assert (lie.areas.outer, lie.areas.contact, lie.areas.above) == (0.09, 0.09, 0.09)
    assert lie.length == 0.01
    own = machine(tray(areas={"outer": "0.5 m^2", "contact": "0.1 m^2", "above": "0.25 m^2"})).items[0]
    assert (own.areas.outer, own.areas.contact, own.areas.above) == (0.5, 0.1, 0.25)


def test_edges_beside_a_gap_are_heated_and_touching_ones_are_shut() -> None:
    apart, touching = (
        lie_of(Cut("slab", 0.01, 0.03, 0.06, packing=packing), 0.4, WATERLIKE, 0.16)
        for packing in ("apart", "touching")
    )
    assert apart.areas.above > apart.areas.contact == touching.areas.contact
    assert touching.areas.outer == pytest.approx(touching.areas.contact)
    assert touching.dimension == 1.0 < apart.dimension


def load_of_two(*rows: dict[str, Any]) -> Any:
    return parse_load(
        {"dryer": {"profile": "kitchen-5"}, "program": {"shelf": ["40 degC until dry"]}, "tray": list(rows)}
    )


def test_foods_on_one_tray_have_their_own_areas_and_no_more_than_the_tray() -> None:
    apples = {"food": "Apples, raw, without skin", "mass": "0.5 kg", "size": "8 mm", "tray": 1}
    berries = {"food": "Blueberries, raw", "mass": "0.6 kg", "size": "12 mm", "shape": "sphere", "tray": 1}
    load = load_of_two(apples, berries)
    rooms = [item.lie.room for item in load.items]
    assert sum(rooms) == pytest.approx(load.rig.dryer.tray_area)
    assert sum(item.areas.above for item in load.items) <= load.rig.dryer.tray_area * (1 + 1e-9)
    takes = [item.lie.shadow / item.cut.full_layer for item in load.items]
    assert rooms[0] / rooms[1] == pytest.approx(takes[0] / takes[1])
    alone = load_of_two(apples).items[0]
    assert alone.areas.contact == pytest.approx(load.items[0].areas.contact)


BARS = (0.0076, 0.0127, 0.01905, 0.0254)


def ice_time(size: float, **changes: Any) -> float:
    """Return how long the ice of 1.5 lb of bars lasts, which cover what follows from mass and size."""
    layer = changes.pop("layer", {"R0": "1e4 m/s", "A1": "5e7 1/s", "A2": "0 1/m", "conductivity": "0.016 W/m/K"})
    bars = tray(size=f"{size * 1000} mm", mass="0.68 kg", dried_layer=layer, **changes)
    del bars["area"]
    end = simulate(held(bars, shelf="45 degC", pressure="60 Pa"), series=False).trays[0].primary_end
    assert end is not None
    return end


@pytest.mark.parametrize("cut", [{}, {"on": "mesh"}, {"shape": "stick"}])
def test_thicker_bars_take_longer_by_a_power_between_one_and_two_that_grows(cut: dict[str, Any]) -> None:
    times = [ice_time(size, **cut) for size in BARS]
    powers = [
        math.log(later / sooner) / math.log(thick / thin)
        for (sooner, later), (thin, thick) in zip(itertools.pairwise(times), itertools.pairwise(BARS), strict=True)
    ]
    assert all(1.0 < power < 2.0 for power in powers)
    assert powers == sorted(powers)


def test_time_goes_with_thickness_where_heat_from_outside_decides_and_with_its_square_where_the_layer_does() -> None:
    little = {"contact": "2 W/m^2/K", "above": "0.01 W/m^2/K", "frozen_conductivity": "5 W/m/K"}
    outside = [ice_time(size, layer=FAST, heat=little) for size in (0.002, 0.004)]
    assert outside[1] / outside[0] == pytest.approx(2.0, rel=0.02)
    much = {"contact": "1e4 W/m^2/K", "above": "0.01 W/m^2/K", "frozen_conductivity": "5 W/m/K"}
    cold = {"layer": SLOW, "heat": much}
    inside = [_cold_ice_time(size, **cold) for size in (0.01, 0.02)]
    assert inside[1] / inside[0] == pytest.approx(4.0, rel=0.05)


def _cold_ice_time(size: float, layer: dict[str, str], heat: dict[str, str]) -> float:
    bars = tray(size=f"{size * 1000} mm", mass="0.68 kg", dried_layer=layer, heat=heat)
    del bars["area"]
    end = simulate(held(bars, shelf="-20 degC", pressure="10 Pa"), series=False).trays[0].primary_end
    assert end is not None
    return end


def test_a_wrapper_holds_vapor_back_by_what_is_open_of_it() -> None:
    slit, wide = (covering_resistance(Cut("slab", 0.012, wrapper="slit", opening=share)) for share in (0.01, 0.05))
    assert slit == pytest.approx(5.0 * wide)
    assert covering_resistance(Cut("slab", 0.012)) == 0.0
    shallow, deep = (covering_resistance(Cut("slab", size, 0.06, wrapper="cup")) for size in (0.01, 0.04))
    assert 0.0 < shallow < deep < slit
    bare, wrapped = (ice_time(0.012, **more) for more in ({}, {"wrapper": "slit", "opening": "0.2 %"}))
    assert wrapped > 1.05 * bare


def test_the_resistance_of_an_opening_is_that_of_effusion() -> None:
    gas, kelvin = 461.5, 253.15  # of water vapor [J/(kg K)]
    open_box = covering_resistance(Cut("slab", 0.012, wrapper="slit", opening=1.0))
    assert open_box == pytest.approx(math.sqrt(2.0 * math.pi * gas * kelvin), rel=2e-3)


def test_wrappers_are_never_counted_as_food() -> None:
    bare, wrapped = (
        machine(tray(size="12 mm", **more)).items[0]
        for more in ({}, {"wrapper": "slit", "opening": "100 %", "wrapper_mass": "50 g"})
    )
    assert (wrapped.mass, wrapped.water, wrapped.solids) == (bare.mass, bare.water, bare.solids)
    assert wrapped.wrapper_mass == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("wrong", "field", "words"),
    [
        ({"shape": "sphere", "width": "3 cm"}, "width", "only slices and sticks have a width"),
        ({"length": "3 cm"}, "length", "needs its width"),
        ({"packing": "tossed"}, "packing", "piled"),
        ({"shape": "cube", "packing": "poured"}, "packing", "only a layer can be poured"),
        ({"wrapper": "cup", "shape": "cube"}, "wrapper", "depth in the cup"),
        ({"opening": "2 %"}, "opening", "no wrapper"),
        ({"wrapper_mass": "20 g"}, "wrapper_mass", "no wrapper"),
        ({"on": "grid"}, "on", "mesh"),
    ],
)
def test_what_cannot_be_together_is_refused(wrong: dict[str, Any], field: str, words: str) -> None:
    with pytest.raises(InputErrors) as caught:
        machine(tray(**wrong))
    assert any(one.field == f"tray[1].{field}" and words in one.message for one in caught.value.problems)


def test_a_bar_may_stand_a_little_above_the_rim_but_not_far() -> None:
    bars = tray(size="25 mm", mass="0.5 kg")
    del bars["area"]
    assert machine(bars).items[0].length == pytest.approx(0.025)
    with pytest.raises(InputErrors, match="cut it smaller"):
        machine(bars | {"size": "40 mm"})


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ({"size": "10 mm", "mass": "0.5 kg", "width": "30 mm", "length": "60 mm"}, "pieces, covering"),
        ({"size": "10 mm", "mass": "2.4 kg"}, "dries as a bed"),
        ({"size": "9 mm", "mass": "0.4 kg", "packing": "poured"}, "the real depth counts"),
        ({"size": "10 mm", "mass": "0.4 kg", "area": "0.15 m^2"}, "check weight, size or area"),
        ({"size": "25 mm", "mass": "0.5 kg"}, "above the tray's rim"),
    ],
)
def test_what_was_assumed_and_what_cannot_be_true_is_said(rows: dict[str, Any], words: str) -> None:
    table = tray(**rows)
    if "area" not in rows:
        del table["area"]
    notes = simulate(machine(table), series=False).trays[0].notes
    assert any(words in note for note in notes)


def test_what_lies_on_a_mesh_dries_from_two_faces_unless_faces_are_written() -> None:
    def faces(**more: Any) -> int:
        return machine(tray(**more)).items[0].faces

    assert (faces(), faces(on="mat"), faces(on="mesh")) == (1, 1, 2)
    assert (faces(on="mesh", faces=1), faces(on="tray", faces=2)) == (1, 2)


def test_less_on_a_tray_dries_no_later() -> None:
    load = machine(tray(size="10 mm", mass="1.1 kg", shape="cube"))
    less = replace(load, items=(load.items[0].laid(0.5, 0.16),))
    assert simulate(less, series=False).total_time < simulate(load, series=False).total_time


def test_what_nobody_measured_of_a_wrapper_or_a_skin_widens_the_range() -> None:
    def spread_of(**more: Any) -> Any:
        load = machine(tray(size="12 mm", **more))
        rows = drawn_numbers(load, load_samples(load, 200)).trays[:, 0, Tray.R0]
        return float(np.log(rows).std())

    assert spread_of() == pytest.approx(0.0, abs=1e-12)
    assert spread_of(wrapper="slit", opening="0.1 %") == pytest.approx(1.1, rel=0.15)
    assert 0.0 < spread_of(wrapper="cup") < spread_of(wrapper="slit")
    berries = machine({"food": "Blueberries, raw", "mass": "0.5 kg", "shape": "sphere", "size": "13 mm"})
    whole = drawn_numbers(berries, load_samples(berries, 200)).trays[:, 0, Tray.R0]
    assert float(np.log(whole).std()) > 0.1

"""Bad load files: one clear sentence per problem, with the name of the field; never anything but an `InputError`."""

import copy
import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from drystow.errors import InputError, InputErrors
from drystow.fields import Problems
from drystow.machine.load import AreaSpec, HeatSpec, LayerSpec, Load, ProgramStep
from drystow.machine.loadfile import load_spec, load_table, parse_load
from drystow.machine.loading import load_of
from drystow.machine.profile import dryer_profile, profile_names
from drystow.machine.run import simulate
from drystow.messages import Reader
from drystow.shown import quantity
from drystow.units import kelvin

GOOD: dict[str, Any] = {
    "title": "Alder Lane Kitchen, one tray",
    "dryer": {"profile": "bench-4"},
    "program": {"shelf": ["-10 degC for 2 h", "45 degC until dry"]},
    "tray": [
        {
            "food": "Blueberries, raw",
            "mass": "1.7 lb",
            "shape": "sphere",
            "size": "13 mm",
            "start_temperature": "4 degC",
        }
    ],
}


def changed(place: str, value: Any) -> dict[str, Any]:
    """The good load with one field set, or dropped when the value is None."""
    load = copy.deepcopy(GOOD)
    *path, last = place.split(".")
    table: Any = load
    for key in path:
        table = table[0] if key == "tray" and isinstance(table, list) else table.setdefault(key, {})
        if isinstance(table, list):
            table = table[0]
    if value is None:
        del table[last]
    else:
        table[last] = value
    return load


def problems(raw: Mapping[str, Any]) -> list[InputError]:
    with pytest.raises((InputErrors, InputError)) as caught:
        parse_load(raw)
    if isinstance(caught.value, InputErrors):
        return list(caught.value.problems)
    return [caught.value]


def test_the_good_load_is_good() -> None:
    assert isinstance(parse_load(GOOD), Load)


WRONG_FIELD = [
    # place, written, field named, words that must be there
    ("tray.size", "12 C", "tray[1].size", "length"),
    ("tray.size", "13", "tray[1].size", "no unit"),
    ("tray.size", 13, "tray[1].size", "no unit"),
    ("tray.size", "-3 mm", "tray[1].size", "0.2 to 200 mm"),
    ("tray.size", "0 mm", "tray[1].size", "0.2 to 200 mm"),
    ("tray.size", "3 m", "tray[1].size", "200 mm"),
    ("tray.size", "nan mm", "tray[1].size", "nan mm"),
    ("tray.size", "1e400 mm", "tray[1].size", "not a usable length"),
    ("tray.size", "1/0 mm", "tray[1].size", "1/0 mm"),
    ("tray.size", "13 bogus", "tray[1].size", "bogus"),
    ("tray.size", True, "tray[1].size", "length"),
    ("tray.size", [], "tray[1].size", "length"),
    ("tray.size", None, "tray[1].size", "missing"),
    ("tray.mass", "-1 kg", "tray[1].mass", "500 kg"),
    ("tray.mass", "0 kg", "tray[1].mass", "500 kg"),
    ("tray.mass", "5000 kg", "tray[1].mass", "500 kg"),
    ("tray.mass", None, "tray[1].mass", "missing"),
    ("tray.mass", "3 kg", "tray[1].mass", "rim"),
    ("tray.start_temperature", "400 degC", "tray[1].start_temperature", "100"),
    ("tray.start_temperature", "4 V", "tray[1].start_temperature", "°C"),
    ("tray.start_temperature", "-300 degC", "tray[1].start_temperature", "absolute zero"),
    ("tray.shape", "ball", "tray[1].shape", "slab"),
    ("tray.shape", 3, "tray[1].shape", ""),
    ("tray.faces", 3, "tray[1].faces", "3"),
    ("tray.faces", True, "tray[1].faces", "True"),
    ("tray.frozen", "yes", "tray[1].frozen", "true"),
    ("tray.frozen", True, "tray[1].start_temperature", "freezing point"),
    ("tray.final_moisture", "300%", "tray[1].final_moisture", "50%"),
    ("tray.final_moisture", float("nan"), "tray[1].final_moisture", "nan"),
    ("tray.final_moisture", float("inf"), "tray[1].final_moisture", "inf"),
    ("tray.sise", "3 mm", "tray[1].sise", "size"),
    ("tray.class", "frut", "tray[1].class", "fruit"),
    ("tray.area", "3 m^2", "tray[1].area", "one tray"),
    ("tray.area", "0 m^2", "tray[1].area", "0 m^2"),
    ("tray.composition", {"water": 2}, "tray[1].composition.water", "2"),
    ("tray.composition", {"water": "lots"}, "tray[1].composition.water", "lots"),
    ("tray.composition", {"water": 0.5, "fat": 0.9}, "tray[1].composition", "1.4"),
    ("tray.composition", {"water": 0.02, "fat": 0.98}, "tray[1].food", "water"),
    ("tray.dried_layer", {"R0": "-1 m/s"}, "tray[1].dried_layer.R0", "-1 m/s"),
    ("tray.dried_layer", {"Rp": "1 m/s"}, "tray[1].dried_layer.Rp", "R0"),
    ("tray.dried_layer", {"conductivity": "0 W/m/K"}, "tray[1].dried_layer.conductivity", "0"),
    ("tray.heat", {"contact": "-1 W/m^2/K"}, "tray[1].heat.contact", "-1"),
    ("tray.heat", {"above": "15"}, "tray[1].heat.above", "no unit"),
    ("tray.heat", {"frozen_conductivity": "2 W/m^2/K"}, "tray[1].heat.frozen_conductivity", "conductivity"),
    ("tray.areas", {"outer": "0 m^2"}, "tray[1].areas.outer", "0 m^2"),
    ("tray.areas", {"inner": "1 m^2"}, "tray[1].areas.inner", "outer"),
    ("program.shelf", ["400 degC until dry"], "program.shelf[1]", "400 degC"),
    ("program.shelf", ["40 degC"], "program.shelf[1]", "until dry"),
    ("program.shelf", ["40 degC until dry", "30 degC for 1 h"], "program.shelf[1]", "last"),
    ("program.shelf", ["40 degC for 400 days"], "program.shelf[1]", "20 days"),
    ("program.shelf", ["40 degC for -2 h"], "program.shelf[1]", "-2 h"),
    ("program.shelf", [5], "program.shelf[1]", "5"),
    ("program.shelf", [], "program.shelf", "until dry"),
    ("program.shelf", "40 degC until dry", "program.shelf", "until dry"),
    ("program.shelf", None, "program.shelf", "missing"),
    ("program.freeze", "outside", "program.freeze", "household freezer"),
    ("program.freeze_to", "-35 degC", "program.freeze_to", "warmer"),
    ("program.overload", "yes", "program.overload", "true"),
    ("program.shelv", [], "program.shelv", "shelf"),
    ("dryer.profile", "bench-5", "dryer.profile", "'bench-4', 'kitchen-5', 'floor-7'"),
    ("dryer.profile", None, "dryer.profile", "missing"),
    ("dryer.heater_power", "5", "dryer.heater_power", "no unit"),
    ("dryer.heater_power", "-5 W", "dryer.heater_power", "-5 W"),
    ("dryer.hater_power", "5 W", "dryer.hater_power", "heater_power"),
    ("dryer.trays", 2.5, "dryer.trays", "whole"),
    ("dryer.trays", float("nan"), "dryer.trays", "nan"),
    ("dryer.contact_gas", float("nan"), "dryer.contact_gas", "nan"),
    ("dryer.pressure_mode", "fixed", "dryer.pressure_mode", "held"),
    ("dryer.pressure_mode", "held", "dryer.chamber_pressure", "missing"),
    ("trya", [], "trya", "tray"),
    ("tray", None, "tray", "[[tray]]"),
    ("tray", [5], "tray", "[[tray]]"),
]  # fmt: skip


@pytest.mark.parametrize(("place", "written", "field", "words"), WRONG_FIELD)
def test_one_wrong_field_gives_one_sentence_that_names_it(place: str, written: Any, field: str, words: str) -> None:
    found = problems(changed(place, written))
    assert [problem.field for problem in found] == [field]
    sentence = found[0].message
    assert words in sentence
    assert "\n" not in sentence
    assert 10 < len(sentence) < 400
    if isinstance(written, str) and "mass" not in place and "area" not in place:
        assert written in str(found[0]) or place.split(".")[-1] in found[0].field


TOLD_TWICE = [
    # place, written, the one field that is wrong
    ("program.shelf", ["40 degC for nan h"], "program.shelf[1]"),
    ("program.shelf", ["40 degC for 1e400 h"], "program.shelf[1]"),
    ("program.shelf", ["20 degC for 3 kg"], "program.shelf[1]"),
    ("program.freeze_to", "-90 degC", "program.freeze_to"),
    ("program.freeze_to", 5, "program.freeze_to"),
    ("program.freeze_to", "20 degC", "program.freeze_to"),
    ("program", 5, "program"),
    ("dryer", 5, "dryer"),
    ("tray.composition", 5, "tray[1].composition"),
    ("tray.composition", {"water": "85%", "sugars": 0.9}, "tray[1].composition.sugars"),
]


@pytest.mark.parametrize(("place", "written", "field"), TOLD_TWICE)
def test_one_mistake_is_told_once(place: str, written: Any, field: str) -> None:
    assert [problem.field for problem in problems(changed(place, written))] == [field]


IN_SI = [
    # place, a value as a text, and what is asked for in its place
    ("tray.size", "12 mm", {"size": 0.012}),
    ("tray.size", "300 mm", {"size": 0.3}),
    ("tray.mass", "900 kg", {"mass": 900.0}),
    ("tray.area", "3 m^2", {"area": 3.0}),
    ("tray.shape", "ball", {"shape": "ball"}),
    ("tray.faces", 3, {"faces": 3}),
    ("tray.tray", 5, {"tray": 5}),
    ("tray.start_temperature", "-200 degC", {"start_temperature": kelvin(-200.0)}),
    ("tray.final_moisture", 0.6, {"final_moisture": 0.6}),
    ("tray.ice_mass", "0 kg", {"ice_mass": 0.0}),
    ("tray.dried_layer", {"R0": "-1 m/s"}, {"dried_layer": LayerSpec(R0=-1.0)}),
    ("tray.heat", {"contact": "0 W/m^2/K"}, {"heat": HeatSpec(contact=0.0)}),
    ("tray.areas", {"outer": "0 m^2"}, {"areas": AreaSpec(outer=0.0)}),
    ("dryer.trap_capacity", "2 kg", {"numbers": {"trap_capacity": 2.0}}),
    ("dryer.trap_capacity", "0 kg", {"numbers": {"trap_capacity": 0.0}}),
    ("dryer.trays", 0, {"numbers": {"trays": 0}}),
    ("dryer.profile", "bench-5", {"profile": "bench-5"}),
    ("program.freeze", "outside", {"freeze": "outside"}),
    ("program.freeze_to", "20 degC", {"freeze_to": kelvin(20.0)}),
    ("program.freeze_to", "-39 degC", {"freeze_to": kelvin(-39.0)}),
    ("program.shelf", ["30 degC for 3 h"], {"shelf": (ProgramStep(kelvin(30.0), 10800.0),)}),
    ("program.shelf", ["40 degC until dry", "30 degC for 1 h"],
     {"shelf": (ProgramStep(kelvin(40.0), math.inf), ProgramStep(kelvin(30.0), 3600.0))}),
    ("program.shelf", ["40 degC for 400 day"], {"shelf": (ProgramStep(kelvin(40.0), 400 * 86400.0),)}),
    ("program.shelf", ["40 degC for -2 h"], {"shelf": (ProgramStep(kelvin(40.0), -7200.0),)}),
    ("program.shelf", ["400 degC for 2 h"], {"shelf": (ProgramStep(kelvin(400.0), 7200.0),)}),
    ("program.shelf", [], {"shelf": ()}),
]  # fmt: skip


@pytest.mark.parametrize(("place", "written", "asked"), IN_SI)
def test_what_is_asked_for_in_si_is_told_and_checked_like_a_file(
    place: str, written: Any, asked: dict[str, Any]
) -> None:
    good = load_spec(GOOD, Problems())
    if place.startswith("tray"):
        spec = replace(good, trays=(replace(good.trays[0], **asked),))
    else:
        spec = replace(good, rig=replace(good.rig, **asked))
    try:
        expected = parse_load(changed(place, written))
    except InputErrors:
        with pytest.raises(InputErrors) as caught:
            load_of(spec)
        told = [str(problem) for problem in problems(changed(place, written))]
        assert [str(problem) for problem in caught.value.problems] == told
    else:
        assert load_of(spec) == expected
        assert parse_load(load_table(spec)) == expected


def test_an_unknown_food_lists_the_three_nearest() -> None:
    (problem,) = problems(changed("tray.food", "Blubery rw"))
    assert problem.field == "tray[1].food"
    assert "'Blubery rw'" in problem.message
    assert "Blueberries, raw" in problem.message
    assert problem.message.count("'") == 8  # the word and three foods in quotes


def test_every_problem_is_told_at_once() -> None:
    raw = changed("tray.size", "3 m")
    raw["tray"][0]["mass"] = "heavy"
    raw["program"]["freeze"] = "outside"
    raw["dryer"]["heater_power"] = "5 kg"
    raw["tray"].append({"food": "Blueberries, raw", "mass": "1 lb"})
    fields = [problem.field for problem in problems(raw)]
    assert sorted(fields) == ["dryer.heater_power", "program.freeze", "tray[1].mass", "tray[1].size", "tray[2].size"]


def test_more_food_than_trays_is_told() -> None:
    light = {**GOOD["tray"][0], "mass": "0.2 lb"}
    (problem,) = problems({**GOOD, "tray": [light] * 5})
    assert problem.field == "tray"
    assert "5.0 trays" in problem.message
    assert "has 4" in problem.message


def test_more_water_than_the_trap_holds_is_told_and_can_be_allowed() -> None:
    raw = changed("dryer.trap_capacity", "0.3 kg")
    (problem,) = problems(raw)
    assert problem.field == "tray"
    assert "trap" in problem.message
    assert "program.overload" in problem.message
    raw["program"]["overload"] = True
    result = simulate(parse_load(raw))
    assert result.ended_by == "trap_full"
    assert "trap" in result.ended_text
    assert result.machine.trap_ice == pytest.approx(0.3, rel=1e-3)


def test_ice_that_melts_is_told_and_never_called_dry() -> None:
    result = simulate(parse_load(changed("tray.dried_layer", {"A1": "1e15 1/s"})))
    assert result.ended_by == "melted"
    assert "melts instead of drying" in result.ended_text
    assert any("melts during the run" in note for note in result.trays[0].notes)
    assert any(event.kind == "thaw" for event in result.events)


def test_a_weak_heater_is_named_as_the_cause() -> None:
    result = simulate(parse_load(changed("dryer.heater_power", "1 W")))
    assert result.ended_by in ("stalled", "time_limit")
    assert "heaters are too weak" in result.ended_text


@pytest.mark.parametrize(
    ("place", "written", "ended_by", "words"),
    [
        ("program.shelf", ["-46 degC until dry"], "stalled", "ice hardly turns to vapor"),
        ("program.shelf", ["-25 degC until dry"], "stalled", "last moisture no longer leaves"),
        ("program.shelf", ["20 degC for 5 h"], "program_end", "program ended"),
        ("tray.areas", {"contact": "0 m^2", "above": "0 m^2"}, "stalled", "ice hardly turns to vapor"),
        ("dryer.ultimate_pressure", "100 Pa", "stalled", "pressure"),
        ("dryer.trap_floor", "-10 degC", "stalled", "pressure"),
    ],
)
def test_a_program_that_never_dries_ends_and_says_why(place: str, written: Any, ended_by: str, words: str) -> None:
    result = simulate(parse_load(changed(place, written)))
    assert result.ended_by == ended_by
    assert words in result.ended_text
    assert "Blueberries, raw still holds" in result.ended_text
    assert result.trays[0].dry_end is None
    assert len(result.time) < 6000  # a reasonable amount of work


def test_food_that_cannot_freeze_through_in_four_days_is_told() -> None:
    raw = changed("dryer.rim_height", "0.3 m")
    raw["tray"][0].update({"shape": "slab", "size": "180 mm", "mass": "3 lb", "area": "0.008 m^2"})
    raw["dryer"]["freezer_air"] = raw["dryer"]["freezer_base"] = "0.5 W/m^2/K"
    with pytest.raises(InputError, match="not frozen through after four days") as caught:
        simulate(parse_load(raw))
    assert caught.value.field == "tray[1]"


def test_the_guide_tells_the_tray_area_and_the_ice_of_all_starting_numbers() -> None:
    guide = (Path(__file__).parents[2] / "docs" / "load-file.md").read_text(encoding="utf-8")
    for name in profile_names():
        dryer = dryer_profile(name)
        area = [quantity(dryer.trays * dryer.tray_area, "tray area", short=True).told(Reader(units=units))
                for units in ("us", "si")]  # fmt: skip
        ice = [quantity(dryer.trap_capacity, "mass", 1, short=True).told(Reader(units=units)) for units in ("us", "si")]
        assert f"| `{name}` | {area[0]} ({area[1]}) on {dryer.trays} trays | {ice[0]} ({ice[1]}) |" in guide

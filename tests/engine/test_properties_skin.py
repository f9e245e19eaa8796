"""A skin that holds vapor back: which foods have one, what opens it, what a run says of it."""

from typing import Any

import pytest

from drystow.errors import InputErrors
from drystow.fields import Problems
from drystow.foods.kinds import relative_rows
from drystow.foods.table import get
from drystow.machine.ensemble import simulate_spread
from drystow.machine.layout import Tray
from drystow.machine.load import Load
from drystow.machine.loadfile import load_spec, load_table, parse_load
from drystow.machine.run import load_arrays, simulate
from drystow.properties.skin import SKIN_STATES, STATE_WORDS, _rows, has_skin, skin_of, usual_state
from drystow.reports.plain_data import load_json
from drystow.sources import MARKS, bibliography

WHOLE_FRUIT = ("Blueberries, raw", "Grapes, raw", "Gooseberries, raw", "Cranberries, raw", "Tomatoes, grape, raw")
BARE = ("Carrots, raw", "Strawberries, raw", "Apples, raw, without skin", "Bread, rye",
        "Peas, green, split, mature seeds, raw", "Corn flour, masa, unenriched, white",
        "Grape juice, 100%")  # fmt: skip


def load(food: str = "Blueberries, raw", shelf: str = "45 degC until dry", **tray: Any) -> Load:
    row = {"food": food, "mass": "600 g", "shape": "sphere", "size": "13 mm"} | tray
    return parse_load(
        {"dryer": {"profile": "bench-4"}, "program": {"shelf": ["-10 degC for 2 h", shelf]}, "tray": [row]}
    )


def test_every_number_of_a_skin_names_its_source_and_how_it_got_here() -> None:
    rows = _rows()
    for row in (*rows["skin"].values(), *rows["state"].values()):
        assert row["source"] in bibliography()
        assert row["mark"] in MARKS
    assert tuple(sorted(rows["state"])) == tuple(sorted(SKIN_STATES)) == tuple(sorted(STATE_WORDS))
    named = {row["skin"]["name"] for row in relative_rows().values() if isinstance(row.get("skin"), dict)}
    assert named == set(rows["skin"])
    usual = {row["skin_state"]["state"] for row in relative_rows().values() if "skin_state" in row}
    assert usual <= set(SKIN_STATES)


@pytest.mark.parametrize("name", WHOLE_FRUIT)
def test_whole_fruit_with_a_waxy_skin_has_one(name: str) -> None:
    food = get(name)
    assert has_skin(food)
    assert usual_state(food, "sphere") == "whole"
    assert usual_state(food, "slab") == "halved"


@pytest.mark.parametrize("name", BARE)
def test_other_food_has_none(name: str) -> None:
    assert skin_of(get(name), "sphere") is None


@pytest.mark.parametrize(
    ("name", "state"),
    [
        ("Peas, green, raw", "blanched"),
        ("Corn, sweet, yellow, raw", "halved"),
        ("Cherries, sweet, raw", "halved"),  # opened for their stones
        ("Green peas, fresh, cooked, no added fat", "blanched"),
    ],
)
def test_what_cooks_do_to_a_skin_anyway_is_its_usual_state(name: str, state: str) -> None:
    assert usual_state(get(name), "sphere") == state


def test_each_opening_lowers_the_resistance_and_none_adds_to_it() -> None:
    skins = [skin_of(get("Blueberries, raw"), "sphere", state) for state in SKIN_STATES]
    whole, pricked, halved, peeled, blanched = (skin.resistance for skin in skins if skin is not None)
    assert whole > blanched > pricked > halved == peeled == 0.0


@pytest.mark.parametrize("name", WHOLE_FRUIT)
def test_the_skin_stands_before_the_dried_layer(name: str) -> None:
    whole, peeled = load(name, skin_state="whole"), load(name, skin_state="peeled")
    (row,), (bare,) = load_arrays(whole)[0], load_arrays(peeled)[0]
    assert row[Tray.R0] - bare[Tray.R0] == pytest.approx(whole.items[0].covering)
    assert whole.items[0].covering > 1e6


def test_the_more_a_skin_is_opened_the_sooner_it_is_dry_and_the_colder_its_ice() -> None:
    runs = [simulate(load(skin_state=state)).trays[0] for state in ("whole", "blanched", "pricked", "halved")]
    times = [run.dry_end for run in runs]
    assert times == sorted(times, reverse=True)
    assert [run.front_temperature_max for run in runs] == sorted(
        (run.front_temperature_max for run in runs), reverse=True
    )


def test_a_whole_skin_is_told_with_the_hours_that_pricking_saves() -> None:
    whole, pricked = (simulate(load(skin_state=state)).trays[0] for state in ("whole", "pricked"))
    assert any("Halve it or prick the skin" in note for note in whole.notes)
    (saved,) = [note for note in whole.notes if "sooner" in note]
    assert whole.dry_end is not None
    assert pricked.dry_end is not None
    assert f"about {(whole.dry_end - pricked.dry_end) // 3600:.0f} h" in saved
    assert not any("skin" in note or "sooner" in note for note in pricked.notes)


@pytest.mark.parametrize("name", WHOLE_FRUIT)
def test_fruit_that_melts_under_its_skin_gets_no_time(name: str) -> None:
    row = {"dried_layer": {"R0": "2e7 m/s"}}  # a skin without a crack
    result = simulate(load(name, skin_state="whole", shelf="60 degC until dry", **row))
    assert result.ended_by == "melted"
    assert "prick it" in result.ended_text
    tray = result.trays[0]
    assert (tray.primary_end, tray.dry_end) == (None, None)
    assert any("burst" in note and "no time is given" in note for note in tray.notes)
    assert not {"ice_gone", "dry"} & {event.kind for event in result.events}


def test_what_was_taken_of_a_skin_is_told() -> None:
    assert any("counts as halved or cut" in note for note in load(shape="slab").items[0].notes)
    assert any("changes nothing" in note for note in load("Carrots, raw", skin_state="halved").items[0].notes)
    stated = load("Carrots, raw", skin=True).items[0].skin
    assert stated is not None
    assert stated.state == "whole"
    assert load(skin=False).items[0].skin is None


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({"skin_state": "holed"}, "skin_state"),
        ({"skin_state": "whole", "shape": "slab"}, "a layer can't be whole; choose round pieces"),
        ({"skin_state": 3}, "skin_state"),
    ],
)
def test_a_state_that_cannot_be_is_refused(row: dict[str, Any], words: str) -> None:
    with pytest.raises(InputErrors, match=words):
        load(**row)


@pytest.mark.parametrize("state", [*SKIN_STATES, None])
def test_a_file_says_it_and_says_it_again(state: str | None) -> None:
    raw = {"dryer": {"profile": "bench-4"}, "program": {"shelf": ["40 degC until dry"]}}
    row = {"food": "Blueberries, raw", "mass": "600 g", "shape": "sphere", "size": "13 mm"}
    row |= {"skin_state": state} if state else {}
    spec = load_spec(raw | {"tray": [row]}, Problems())
    assert spec.trays[0].skin_state == state
    assert load_spec(load_table(spec), Problems()).trays[0].skin_state == state


def test_fruit_that_bursts_has_no_range_either() -> None:
    bursting = load(skin_state="whole", shelf="60 degC until dry", dried_layer={"R0": "2e7 m/s"})
    spread = simulate_spread(bursting, 20)
    (tray,) = load_json(simulate(bursting), spread=spread)["trays"]
    assert (tray["primary_end_h"], tray["dry_end_h"]) == (None, None)
    calm = load(skin_state="pricked")
    (tray,) = load_json(simulate(calm), spread=simulate_spread(calm, 20))["trays"]
    assert tray["dry_end_h"]["p10"] <= tray["dry_end_h"]["p90"]

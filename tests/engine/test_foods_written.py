"""A food comes through every file format with its marks, its cautions and what its label says."""

import tomllib
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drystow.errors import InputError, InputErrors
from drystow.evidence.dryness.batch_file import parse_batch
from drystow.fields import toml_text
from drystow.foods.classify import ALLERGENS
from drystow.foods.kinds import relative_rows
from drystow.foods.marks import NOT_STATED, UNKNOWN, in_order
from drystow.foods.model import FOOD_CLASSES, Composition, Food
from drystow.foods.table import get
from drystow.foods.written import food_fields
from drystow.machine.loadfile import parse_load, tray_table
from drystow.packing.packfile import PackSpec, parse_pack
from drystow.planning.load.basket import parse_basket
from drystow.planning.schedule.plan_file import parse_lots
from drystow.planning.season.garden_file import parse_garden
from drystow.properties.suitability import suitability
from drystow.reports.labels import label_pdf
from drystow.reports.package_plan import package_labels, package_plan
from drystow.reports.sheets import SHEETS
from drystow.serving.cautions import serving_cautions
from tests.engine.pdf_reading import page_texts

SEVERAL = settings(max_examples=60, deadline=None)
STEW = Composition(water=0.78, protein=0.06, fat=0.03, carbohydrate=0.1, fibre=0.01, ash=0.02, sugars=0.02, salt=0.01)
SPANISH = ["Camarones", "Nueces", "Pan de trigo", "Leche cruda"]
NAMES = [*SPANISH, "Raw milk", "Shrimp", "Креветки", "エビ", "جمبري", "Crème brûlée", 'Aunt\'s "best" \\ stew', "ß"]
FRAME = {"dryer": {"profile": "bench-4"}, "program": {"shelf": ["-10 degC for 2 h", "40 degC until dry"]}}
BEGIN, ARRIVES = datetime(2026, 9, 7), datetime(2026, 9, 7, 18)

letters = st.text(st.characters(categories=("L", "N"), include_characters=" '-"), min_size=1, max_size=30)
names = st.sampled_from(NAMES) | letters.map(str.strip).filter(bool)
listed = st.lists(st.sampled_from([*ALLERGENS, "celery", "mostaza", NOT_STATED]), max_size=4).map(in_order)
foods = st.builds(
    lambda name, kind, spread, like, raw, skin, allergens: Food(
        f"own:{name}", name, kind, replace(STEW, water_sd=spread), like=like, raw_animal=raw, skin=skin,
        allergens=allergens, own=True, source="own-measurement",
    ),
    names, st.sampled_from(FOOD_CLASSES), st.floats(0.0, 0.1),
    st.lists(st.sampled_from(sorted(relative_rows())), max_size=3), st.sampled_from([True, False, None]),
    st.sampled_from([True, False, None]), st.just(UNKNOWN) | listed,
)  # fmt: skip


def in_toml(food: Food, key: str = "food") -> dict[str, Any]:
    """The fields of a food, written as TOML and read again."""
    return tomllib.loads(toml_text({"row": [food_fields(food, key)]}))["row"][0]


def through_load(food: Food) -> Food:
    tray = in_toml(food) | {"mass": "200 g", "shape": "cube", "size": "10 mm"}
    return parse_load({**FRAME, "tray": [tray]}).items[0].food


def through_lots(food: Food) -> Food:
    lot = in_toml(food) | {"mass": "3 kg", "shape": "cube", "size": "10 mm", "arrives": ARRIVES}
    return parse_lots({"begin": BEGIN, "dryer": [{"profile": "bench-4"}], "arrival": [lot]}).lots[0].item.food


def through_garden(food: Food) -> Food:
    crop = in_toml(food) | {"mass": "9 kg", "size": "10 mm", "shape": "cube"}
    crop |= {"first": date(2026, 5, 20), "peak": date(2026, 5, 25), "last": date(2026, 5, 30)}
    choice = {"dryer": [{"profile": "bench-4"}]}
    garden = parse_garden({"begin": date(2026, 5, 18), "crop": [crop], "choice": [choice]})
    return garden.choices[0].frame.lots[0].item.food


def through_counter(food: Food) -> Food:
    wish = in_toml(food) | {"mass": "3 kg", "shape": "cube", "size": "10 mm"}
    counter = parse_basket({"time": "30 h", **FRAME, "food": [wish]})
    # what the plan writes into its load file is what it read
    tray = tray_table(replace(counter.wishes[0].spec.tray, mass=0.2, size=0.01))
    came = counter.wishes[0].full[0].food
    assert parse_load(tomllib.loads(toml_text({**FRAME, "tray": [tray]}))).items[0].food == came
    return came


def through_dryness(food: Food) -> Food:
    tray = in_toml(food) | {"mass": "200 g", "shape": "cube", "size": "10 mm"}
    load = {**FRAME, "tray": [tray]}
    return parse_batch({"load": load, "run": {"now": "20 h"}}, Path()).load.items[0].food


def packed(food: Food) -> PackSpec:
    table = {"dry_mass": "100 g", "packed_on": "x", "food": in_toml(food, "name")}
    return parse_pack(toml_text(table).replace('packed_on = "x"', "packed_on = 2026-09-09"))


FORMATS: dict[str, Callable[[Food], Food]] = {
    "load": through_load,
    "lots": through_lots,
    "garden": through_garden,
    "counter": through_counter,
    "dryness": through_dryness,
    "pack": lambda food: packed(food).food,
}


@pytest.mark.parametrize("way", FORMATS)
@SEVERAL
@given(food=foods)
def test_a_food_of_ones_own_comes_through_every_format_as_it_is(way: str, food: Food) -> None:
    came = FORMATS[way](food)
    assert (came.raw_animal, came.allergens, came.skin) == (food.raw_animal, food.allergens, food.skin)
    assert (came.food_class, came.like) == (food.food_class, food.like)
    assert suitability(came).cautions == suitability(food).cautions
    assert serving_cautions(came) == serving_cautions(food)
    assert came == food


@settings(max_examples=25, deadline=None)
@given(food=foods)
def test_its_package_says_the_same_when_the_file_comes_back(food: Food) -> None:
    pack = replace(packed(get("Strawberries, raw")), lot="A1")
    mine, again = (package_plan(replace(pack, food=one)) for one in (food, packed(food).food))
    assert again.cautions == mine.cautions
    assert package_labels(again) == package_labels(mine)


@pytest.mark.parametrize("name", SPANISH)
@pytest.mark.parametrize("way", FORMATS)
def test_a_food_that_no_table_knows_is_asked_about_in_every_language(way: str, name: str) -> None:
    own = food_fields(Food("x", name, "dish", STEW, own=True))
    assert not {"raw_animal", "allergens"} & own.keys()
    came = FORMATS[way](Food("x", name, "dish", STEW, own=True))
    assert (came.raw_animal, came.allergens) == (None, UNKNOWN)
    said = " ".join((*suitability(came).cautions, *serving_cautions(came)))
    assert "No one has said whether this is raw" in said
    assert "Allergens: not stated. Ask whoever made it." in said
    assert "COOK BEFORE EATING" in said


@pytest.mark.parametrize("name", SPANISH)
def test_its_label_says_that_nobody_has_stated_it(name: str) -> None:
    def printed(**marks: Any) -> str:
        plan = package_plan(packed(Food("x", name, "dish", STEW, own=True, **marks)))
        pdf = label_pdf(package_labels(plan, lot="A1", count=1), SHEETS["letter-2x5"])
        return " ".join(page_texts(pdf))

    open_question = printed()
    assert "MAY BE RAW – COOK BEFORE EATING" in open_question
    assert "Allergens: not stated. Ask whoever made it." in open_question
    stated = printed(raw_animal=False, allergens=())
    assert "RAW" not in stated
    assert "llergens" not in stated
    partly = printed(raw_animal=True, allergens=("milk", NOT_STATED))
    assert "RAW – COOK BEFORE EATING" in partly
    assert "MAY BE RAW" not in partly
    assert "Contains: milk. Other allergens: not stated. Ask whoever made it." in partly


@pytest.mark.parametrize(
    "food",
    [
        get("Blueberries, raw"),
        get("Chicken, breast, boneless, skinless, raw"),
        replace(get("Blueberries, raw"), food_class="sweet", like=("crushed", "blueberry")),
    ],
)
@pytest.mark.parametrize("way", FORMATS)
def test_a_food_of_the_table_keeps_its_marks(way: str, food: Food) -> None:
    assert FORMATS[way](food) == food


def tray(**marks: Any) -> Food:
    table = {"food": "Chicken, breast, boneless, skinless, raw", "mass": "200 g", "size": "10 mm"} | marks
    return parse_load({**FRAME, "tray": [table]}).items[0].food


def test_a_file_may_add_marks_to_a_food_of_the_table_but_take_none_away() -> None:
    breaded = tray(allergens=["Wheat", " egg "])
    assert (breaded.own, breaded.raw_animal, breaded.allergens) == (True, True, ("egg", "wheat"))
    assert through_load(breaded) == replace(breaded, id=f"own:{breaded.name}", category="", nutrients={},
                                            portion=None, source="own-measurement")  # fmt: skip
    with pytest.raises(InputErrors, match="a file can't change that"):
        tray(raw_animal=False)
    with pytest.raises(InputErrors, match="contains peanut, and a file can't change that"):
        tray(food="Peanut butter, smooth style, without salt", allergens=[], like="fruit")


def test_like_and_its_older_name_are_one_field() -> None:
    assert tray(like="fish").food_class == tray(**{"class": "fish"}).food_class == "fish"
    with pytest.raises(InputErrors, match="leave 'class' out"):
        tray(like="fish", **{"class": "fish"})


@pytest.mark.parametrize(
    ("marks", "words"),
    [
        ({"raw_animal": "no"}, "neither true nor false"),
        ({"allergens": "milk"}, "list"),
        ({"allergens": [1]}, "list"),
        ({"allergens": [" "]}, "blank"),
        ({"like": "fowl"}, "closest"),
        ({"like": "fruit, meat"}, "only one food class"),
        ({"like": "cooked"}, "write a food class too"),
        ({"like": ["fruit", 3]}, "list"),
        ({"skin": "waxy"}, "neither true nor false"),
    ],
)
def test_marks_that_cannot_be_are_refused(marks: dict[str, Any], words: str) -> None:
    with pytest.raises((InputError, InputErrors), match=words):
        tray(**marks)

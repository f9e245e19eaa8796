"""A food's name is for people: with the same composition and `like` every result is the same, whatever it says."""

import ast
import dataclasses
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drystow.errors import InputError
from drystow.evidence.outage.advice import TrayFate, advise, longest_warm
from drystow.fields import toml_text
from drystow.foods.classify import written_like
from drystow.foods.kinds import relative_rows
from drystow.foods.model import FOOD_CLASSES, Composition, Food
from drystow.foods.table import get
from drystow.foods.written import food_fields
from drystow.keeping.shelf_life import shelf_life
from drystow.machine.loadfile import parse_load
from drystow.machine.run import simulate
from drystow.packing.packfile import parse_pack
from drystow.packing.plan import pack_batch
from drystow.planning.schedule.cold_storage import judged_by_eye, storage_window
from drystow.planning.separation import depth, smells, stains, takes_smell
from drystow.properties.glass import collapse_limits, stickiness
from drystow.properties.ice import initial_freezing_point, solutes
from drystow.properties.sorption import isotherm_for
from drystow.properties.suitability import suitability
from drystow.serving.cautions import cooking_target, serving_cautions

ROOT = Path(__file__).parents[2] / "src" / "drystow"
PULP = Composition(water=0.82, protein=0.03, fat=0.01, carbohydrate=0.11, fibre=0.02, ash=0.01, sugars=0.07)
NAMES = (
    "Strawberries, raw", "Fresas", "Erdbeeren", "イチゴ", "Applesauce, canned", "Chicken liver, ground, raw",
    "Onions, green", "Grape juice", "Cornish hen", "Potatoes, mashed", "Eis", "Perejil", "Blue cheese, cooked", "x",
)  # fmt: skip
names = st.sampled_from(NAMES) | st.text(min_size=1, max_size=40)
kinds = st.lists(st.sampled_from(sorted(relative_rows())), max_size=4).map(tuple)
foods = st.builds(
    lambda kind, like, raw: Food("own:x", "x", kind, PULP, like=like, raw_animal=raw, own=True),
    st.sampled_from(FOOD_CLASSES), kinds, st.sampled_from([True, False, None]),
)  # fmt: skip


def told(food: Food) -> tuple[Any, ...]:
    """All that is calculated or advised for one food."""
    fate = TrayFate(dry=False, had_ice=True, melted=0.5, icy=0.0, warm=9e3, surely_warm=3e3, room=295.0, soft=False)
    return (
        isotherm_for(food),
        collapse_limits(food.composition, food.food_class, food.like),
        stickiness(food.composition, food.food_class, 0.03, 298.15, food.like),
        initial_freezing_point(food.composition, food.food_class, food.like),
        solutes(food.composition, food.food_class, food.like),
        suitability(food),
        storage_window(food),
        judged_by_eye(food),
        (smells(food), takes_smell(food), stains(food), depth(food)),
        (cooking_target(food), serving_cautions(food)),
        (longest_warm(food, 295.0), advise(food, fate)),
    )


@settings(max_examples=200, deadline=None)
@given(food=foods, name=names)
def test_a_renamed_food_is_told_the_same(food: Food, name: str) -> None:
    assert told(dataclasses.replace(food, name=name)) == told(food)


def dried(food: Food) -> Any:
    tray = food_fields(food) | {"mass": "600 g", "shape": "cube", "size": "10 mm"}
    frame = {"dryer": {"profile": "bench-4"}, "program": {"shelf": ["-10 degC for 2 h", "40 degC until dry"]}}
    result = simulate(parse_load(frame | {"tray": [tray]}), series=False)
    trays = [repr(dataclasses.replace(one, name="")) for one in result.trays]
    return trays, repr(result.machine), result.total_time, result.notes


def kept(food: Food) -> Any:
    table = {"dry_mass": "100 g", "packed_on": "x", "food": food_fields(food, "name")}
    pack = parse_pack(toml_text(table).replace('packed_on = "x"', "packed_on = 2026-09-09"))
    found = shelf_life(pack_batch(pack))
    return found.verdict, found.days, found.limit, found.limits, found.notes, found.cautions


@pytest.mark.parametrize("of_the_table", ["Strawberries, raw", "Potatoes, mashed, ready-to-eat", "Parsley, fresh"])
def test_a_renamed_food_dries_and_keeps_the_same(of_the_table: str) -> None:
    first = dataclasses.replace(get(of_the_table), id="own:x", own=True)
    for name in NAMES:
        again = dataclasses.replace(first, name=name)
        assert dried(again) == dried(first), name
        assert kept(again) == kept(first), name


def test_what_a_food_is_like_does_change_it() -> None:
    fruit, strawberry = (Food("own:x", "x", "fruit", PULP, like=like) for like in ((), ("strawberry",)))
    assert isotherm_for(fruit) == isotherm_for(strawberry)
    assert storage_window(strawberry).fridge < storage_window(fruit).fridge
    limits = [collapse_limits(PULP, "fruit", food.like).melting_onset for food in (fruit, strawberry)]
    assert limits[1] == pytest.approx(273.15 - 41) != limits[0]
    assert written_like("fruit", strawberry.like) == "fruit, strawberry"
    with pytest.raises(InputError, match="closest"):
        Food("own:x", "x", "fruit", PULP, like=("strawbery",))


def test_only_what_enters_a_food_reads_its_name_for_hints() -> None:
    readers = {
        "drystow.foods.classify": {"hinted", "starts_words", "food_class", "is_raw_animal", "allergens"},
        "drystow.foods": {"classify"},
    }
    found = {
        str(path.relative_to(ROOT))
        for path in ROOT.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom)
        if readers.get(node.module or "", set()) & {alias.name for alias in node.names}
    }
    assert {name for name in found if not name.startswith(("foods/", "web/"))} == set()
    assert {"foods/own.py", "foods/recipe.py", "foods/written.py", "web/foods/models.py"} <= found

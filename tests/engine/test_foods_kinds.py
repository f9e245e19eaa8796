"""The rows of classes and kinds of food: all that a class needs, known sources, and what a name hints at."""

import json
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drystow.errors import InputError
from drystow.foods.classify import _names, hinted, read_like, written_like
from drystow.foods.kinds import WORDS, class_rows, in_order, relative_rows
from drystow.foods.model import FOOD_CLASSES
from drystow.foods.table import every
from drystow.machine.loadfile import parse_load
from drystow.serving.cautions import COOKING_TARGETS
from drystow.sources import MARKS, bibliography

NEW_CLASS = """
[insect]
is = ["cooked-first"]
form = "pieces"
ash = 0.012
water_sd = 0.010
target = 0.025
vapor = { permeability = 1.9e-8, spread = 0.5, surface = 1.5e4, source = "drystow-default", mark = "class default" }
heat = { vacuum = 0.03, gas = 0.017, half = 215.0, spread = 0.4, source = "drystow-default", mark = "class default" }
bound = { rate = 8e-5, spread = 0.6, source = "drystow-default" }
porosity = 0.1
sugars = { shares = { glucose = 1.0 }, acid = 0.0, spread = 0.4, source = "drystow-default", mark = "class default" }
fat = { unsaturated = 0.6, poly = 0.3, speed = 1.0, source = "fat-shares", mark = "memory" }
studied = []
practice = { years = [2, 4] }
cold = { fridge = 2, freezer = 60, source = "drystow-default" }
cooking = "leftovers and dishes"
rehydration = "meat"
[insect.isotherm]
monolayer = 0.06
c = 10.0
k = 0.9
low = 0.05
high = 0.8
heat = 8000.0
spread = 0.4
source = "drystow-default"
mark = "class default"
"""

THE_WAY = """
import json, sys, tomllib
from drystow.foods import kinds
kinds.class_rows().update(tomllib.loads(sys.stdin.read()))
from drystow.foods.own import from_label, own_food
from drystow.foods.recipe import Ingredient, RecipeSpec, prepare
from drystow.foods.written import food_fields
from drystow.machine.loadfile import parse_load
from drystow.machine.run import simulate
from drystow.packing.packfile import parse_pack
from drystow.packing.plan import pack_batch
from drystow.keeping.shelf_life import shelf_life
from drystow.planning.schedule.cold_storage import storage_window
from drystow.fields import toml_text
from drystow.properties.suitability import suitability
from drystow.serving.cautions import cooking_target
from drystow.serving.rehydration import rehydration_time

made = from_label(0.1, 0.02, 0.006, 0.003, food_class="insect")
food = prepare(RecipeSpec("Crickets", (Ingredient(own_food("Crickets", made, "insect", raw_animal=True), 1.0),)))
tray = food_fields(food) | {"mass": "600 g", "shape": "cube", "size": "10 mm"}
load = parse_load({"dryer": {"profile": "bench-4"}, "program": {"shelf": ["40 degC until dry"]}, "tray": [tray]})
result = simulate(load, series=False)
pack = {"dry_mass": "100 g", "packed_on": "x", "food": food_fields(food, "name")}
pack = parse_pack(toml_text(pack).replace('packed_on = "x"', "packed_on = 2026-09-09"))
keeps = shelf_life(pack_batch(pack))
print(json.dumps({
    "class": load.items[0].food.food_class, "ash": made.ash, "target": load.items[0].target,
    "a1": load.items[0].layer.a1, "ended": result.ended_by, "keeps": keeps.keeps, "years": keeps.text,
    "fridge": storage_window(food).fridge, "cook": str(cooking_target(food).kind),
    "water": rehydration_time("insect", 0.01, True).low, "steps": suitability(food).preparation,
    "limits": [limit.name for limit in keeps.limits],
}))
"""


def test_a_new_class_is_one_row_and_goes_the_whole_way() -> None:
    run = subprocess.run(
        [sys.executable, "-c", THE_WAY], input=NEW_CLASS, capture_output=True, text=True, check=False,
        env={"PYTHONPATH": ":".join(path for path in sys.path if path), "PATH": ""},
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    found = json.loads(run.stdout)
    assert (found["class"], found["ash"], found["target"]) == ("insect", pytest.approx(0.012), 0.025)
    assert found["a1"] == pytest.approx(1 / 1.9e-8)
    assert (found["ended"], found["keeps"]) == ("dry", True)
    assert found["fridge"] == 2 * 86400
    assert found["cook"] == "leftovers and dishes"
    assert found["water"] == 300.0
    assert any("Better cooked first" in step for step in found["steps"])
    assert "common practice is 2 to 4 years" in found["years"]
    assert found["limits"][0] == "fat"


@pytest.mark.parametrize("food_class", FOOD_CLASSES)
def test_a_row_of_a_class_has_all_that_the_others_have(food_class: str) -> None:
    row = class_rows()[food_class]
    assert set(class_rows()["cheese"]) <= set(row)
    assert set(row["is"]) <= set(WORDS)
    assert row["cooking"] in {target.kind for target in COOKING_TARGETS}


def _tables(value: object) -> list[dict[str, object]]:
    if not isinstance(value, dict):
        return []
    return [value, *(inner for one in value.values() for inner in _tables(one))]


def test_every_value_names_a_source_that_there_is_and_how_it_got_here() -> None:
    for table in _tables(class_rows()) + _tables(relative_rows()):
        for key, value in table.items():
            if key.endswith("source"):
                assert value in bibliography(), value
            if key == "mark":
                assert value in MARKS
    bare = [name for row in relative_rows().values() for name, value in row.items()
            if isinstance(value, dict) and "source" not in value and name not in ("practice", "cooking")]  # fmt: skip
    assert bare == []


def test_kinds_belong_to_classes_and_have_the_words_that_point_to_them() -> None:
    assert list(_names()) == list(relative_rows())
    assert not set(relative_rows()) & set(FOOD_CLASSES)
    for kind, row in relative_rows().items():
        assert row.get("class", "dish") in FOOD_CLASSES
        assert set(_names()[kind].get("covers", ())) <= set(relative_rows())
        targets = {row["cooking"]["target"]} if "cooking" in row else set()
        assert targets <= {target.kind for target in COOKING_TARGETS}


def test_the_table_has_what_its_names_hint_at() -> None:
    differ = [food.name for food in every() if food.like != hinted(food.name, food.food_class)]
    assert differ == [], "run tools/build_food_table.py --derived-only"


# Names that the words of other foods stand in; each was once taken for them.
@pytest.mark.parametrize(
    ("name", "food_class", "kinds"),
    [
        ("Grapefruit juice, pink, raw", "liquid", ("grapefruit juice",)),
        ("Nectarines, raw", "fruit", ("nectarine",)),
        ("Sugar-apples, (sweetsop), raw", "fruit", ()),
        ("Java-plum, (jambolan), raw", "fruit", ("plum",)),
        ("Barley, pearled, raw", "starchy", ("grain",)),
        ("Pie, peanut butter cream", "starchy", ()),
        ("Cobbler, peach", "starchy", ("peach",)),
        ("Rice, uncooked", "starchy", ("grain",)),
        ("Tomatoes, grape, raw", "vegetable", ("cherry tomato",)),
        ("Ice creams, strawberry", "dairy", ("ice cream", "strawberry")),
        ("Cabbage, red, raw", "vegetable", ("red cabbage",)),
        ("Cornish game hen, raw", "meat", ("poultry",)),
    ],
)
def test_a_hint_takes_no_food_for_another(name: str, food_class: str, kinds: tuple[str, ...]) -> None:
    assert hinted(name, food_class) == kinds


@given(st.sampled_from(FOOD_CLASSES), st.lists(st.sampled_from(sorted(relative_rows())), max_size=6))
def test_what_is_written_is_read_again(food_class: str, kinds: list[str]) -> None:
    like = in_order(kinds)
    assert read_like(written_like(food_class, like).split(", ")) == (food_class, like)
    assert read_like([*kinds, food_class]) == (food_class, like)


def test_a_kind_alone_brings_its_class() -> None:
    assert read_like(["cooked", "carrot"]) == ("vegetable", ("cooked", "carrot"))
    with pytest.raises(InputError, match="closest: 'strawberry'"):
        read_like(["strawbery"])


def test_a_file_without_like_says_what_was_taken_and_what_may_fit_better() -> None:
    tray = {"mass": "600 g", "shape": "cube", "size": "10 mm", "composition": {"water": 0.9, "sugars": 0.05}}
    frame = {"dryer": {"profile": "bench-4"}, "program": {"shelf": ["40 degC until dry"]}}
    open_question = parse_load(frame | {"tray": [tray | {"name": "Strawberries"}]})
    assert open_question.items[0].food.food_class == "dish"
    assert "No 'like' is written for 'Strawberries', so it counts as dish, strawberry." in open_question.notes
    assert "For 'Strawberries' this may fit better: like = \"fruit, strawberry\"." in open_question.notes
    stated = parse_load(frame | {"tray": [tray | {"name": "Strawberries", "like": ["strawberry"]}]})
    assert (stated.items[0].food.food_class, stated.items[0].food.like) == ("fruit", ("strawberry",))
    assert not any("like" in note for note in stated.notes)

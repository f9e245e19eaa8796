"""What a load file sets beyond the forms survives the way file -> batch -> file; "the same" is the engine's reading."""

import math
import tomllib
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st

from drystow.errors import InputErrors
from drystow.foods.classify import ALLERGENS
from drystow.foods.kinds import relative_rows
from drystow.foods.marks import NOT_STATED, UNKNOWN, in_order
from drystow.foods.model import FOOD_CLASSES
from drystow.machine.load import Load
from drystow.machine.loadfile import parse_load
from drystow.machine.run import simulate
from drystow.properties.skin import SKIN_STATES, Skin
from drystow.properties.suitability import suitability
from drystow.serving.cautions import serving_cautions
from drystow.web.batches.adapters import load_of
from drystow.web.batches.models import Batch
from drystow.web.data.loads import batch_from_table, batch_from_text, load_text
from drystow.web.foods.models import OwnFood, Recipe, RecipeLine
from drystow.web.foods.spec import food_of, foods_of
from drystow.web.kit import records
from drystow.web.packing.spec import label_of
from drystow.web.plans.lots_file import plan_from_text, plan_text
from drystow.web.plans.models import Lot, Plan
from tests.web.batch_rows import a_batch, an_item, on_tray
from tests.web.pantry_rows import package, place

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))
ALIKE = ("mass", "shape", "size", "faces", "areas", "density", "frozen", "ice", "unfrozen", "contact_fixed", "covering",
         "skin", "above_fixed", "frozen_conductivity", "target")  # fmt: skip
QUIET = settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])

some = st.floats(1.0, 3.0).map(lambda value: round(value, 3))
heats = st.fixed_dictionaries(
    {},
    optional={
        "contact": some.map(lambda value: f"{10 * value:g} W/m^2/K"),
        "above": some.map("{} W/m^2/K".format),
        "frozen_conductivity": some.map("{} W/m/K".format),
    },
)
areas = st.fixed_dictionaries({}, optional={"outer": some.map("{} m^2".format), "above": some.map("{} ft^2".format)})
extras = st.fixed_dictionaries(
    {},
    optional={
        "heat": heats,
        "areas": areas,
        "ice_mass": some.map(lambda value: f"{value / 10:g} kg"),
        "area": some.map(lambda value: f"{0.06 + value / 100:g} m^2"),
        "skin_state": st.sampled_from(SKIN_STATES),
    },
)
programs = st.fixed_dictionaries(
    {}, optional={"freeze_to": st.sampled_from(["-12 degC", "5 degF"]), "overload": st.just(True)}
)


def assert_same(again: Load, written: Load) -> None:
    """Every number of the engine's reading agrees to a millionth; the file's rounding of hours and °C is finer."""
    assert (again.title, again.rig.dryer, again.rig.freezer, again.overload) == (
        written.title,
        written.rig.dryer,
        written.rig.freezer,
        written.overload,
    )
    assert again.rig.freeze_to == pytest.approx(written.rig.freeze_to, abs=1e-3)
    for ours, theirs in zip(again.rig.program, written.rig.program, strict=True):
        assert ours.shelf == pytest.approx(theirs.shelf, abs=1e-3)
        assert ours.duration == pytest.approx(theirs.duration, rel=1e-4) or math.isinf(theirs.duration)
    for one, other in zip(again.items, written.items, strict=True):
        assert (one.food.composition, one.food.food_class) == (other.food.composition, other.food.food_class)
        assert (one.food.like, one.food.skin) == (other.food.like, other.food.skin)
        for name in ALIKE:
            mine, yours = getattr(one, name), getattr(other, name)
            if name == "areas":
                mine, yours = vars(mine), vars(yours)
            assert mine == (yours if isinstance(yours, str | Skin | None) else pytest.approx(yours, rel=1e-3)), name
        assert one.layer == other.layer
        assert one.start_temperature == pytest.approx(other.start_temperature, abs=1e-3)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_comes_back_and_dries_the_same(path: Path) -> None:
    written = parse_load(tomllib.loads(path.read_text()))
    batch, _notes = batch_from_text(path.read_text())
    text = load_text(batch)
    assert_same(load_of(batch), written)
    assert_same(parse_load(tomllib.loads(text)), written)
    ours, theirs = (simulate(load, series=False) for load in (parse_load(tomllib.loads(text)), written))
    assert ours.total_time == pytest.approx(theirs.total_time, rel=2e-3)
    assert load_text(batch_from_text(text)[0]) == text


@QUIET
@given(st.sampled_from(EXAMPLES), programs, st.lists(extras, min_size=5, max_size=5), st.data())
def test_whatever_a_file_sets_beyond_the_forms_comes_back(
    path: Path, program: dict[str, Any], trays: list[dict[str, Any]], data: st.DataObject
) -> None:
    raw = tomllib.loads(path.read_text())
    raw["program"] |= program
    for tray, extra in zip(raw["tray"], trays, strict=False):
        tray.update({name: value for name, value in extra.items() if value})
        if layer := data.draw(st.just({}) | st.just({"conductivity": "0.03 W/m/K", "A1": "2e8 1/s", "A2": "900 1/m"})):
            tray["dried_layer"] = layer
    try:
        written = parse_load(raw)
    except InputErrors:  # a pile above the rim: not a file that a batch is made of
        reject()
    with transaction.atomic():
        batch, notes = batch_from_table(raw)
        text = load_text(batch)
        assert_same(load_of(batch), written)
        assert_same(parse_load(tomllib.loads(text)), written)
        assert bool(notes) == bool(batch.extra or any(item.extra for item in batch.items.all()))
        again, _notes = batch_from_text(text)
        assert load_text(again) == text
        transaction.set_rollback(True)


PARTS = {"water": 0.78, "protein": 0.06, "fat": 0.03, "carbohydrate": 0.11, "ash": 0.02}
words = st.text(st.characters(categories=("L", "N"), include_characters=" '-"), min_size=1, max_size=30)
own_foods = st.builds(
    lambda name, kind, spread, like, skin, raw, allergens: OwnFood(
        name=name, food_class=kind, composition=PARTS, moisture_sd=spread, like=like, skin=skin, raw_animal=raw,
        allergens=list(allergens),
    ),
    st.sampled_from(["Camarones", "Nueces", "Pan de trigo", "Leche cruda", "エビ"]) | words.map(str.strip).filter(bool),
    st.sampled_from(FOOD_CLASSES), st.floats(0.0, 0.1),
    st.none() | st.lists(st.sampled_from(sorted(relative_rows())), max_size=3), st.sampled_from([True, False, None]),
    st.sampled_from([True, False, None]),
    st.just(UNKNOWN) | st.lists(st.sampled_from([*ALLERGENS, "celery", NOT_STATED]), max_size=4).map(in_order),
)  # fmt: skip


def as_told(ref: str) -> tuple[object, ...]:
    """All that a kitchen is told of a food: its marks, its cautions, and what the label of its package says."""
    food = food_of(ref)
    with transaction.atomic():
        made = package(place("Cellar"), food=ref, name=food.name, lot="L1")
        label = label_of(made, "", False)
        transaction.set_rollback(True)
    return (food.name, food.raw_animal, food.allergens, suitability(food).cautions, serving_cautions(food),
            food.composition, food.food_class, food.like, food.skin, label.allergens, label.cautions)  # fmt: skip


def emptied() -> None:
    """Another kitchen: it has none of the foods, batches and plans."""
    for model in (Batch, Plan):
        model.objects.all().delete()
    OwnFood.objects.all().delete()


def through_a_load_file(ref: str) -> str:
    batch = a_batch()
    on_tray(an_item(batch, food_of(ref)), 1, 0.5)
    text = load_text(batch)
    emptied()
    return str(batch_from_text(text)[0].items.get().food)


def through_a_plan_file(ref: str) -> str:
    path = Path(__file__).parents[2] / "examples" / "planning" / "harvest-week.toml"
    plan = plan_from_text(path.read_text(encoding="utf-8"))[0]
    first, *others = Lot.objects.filter(plan=plan)
    for other in others:
        other.delete()
    records.change(first, {"food": ref, "fridge_days": None, "freezer_days": None}, expected=first.version)
    text = plan_text(plan)
    emptied()
    return str(Lot.objects.get(plan=plan_from_text(text)[0]).food)


@pytest.mark.parametrize("way", [through_a_load_file, through_a_plan_file])
@QUIET
@given(own=own_foods)
def test_a_food_of_the_kitchen_is_told_the_same_where_its_file_is_read(way: Any, own: OwnFood) -> None:
    with transaction.atomic():
        own.pk = None
        own._state.adding = True
        before = as_told(f"own:{records.create(own).pk}")
        came = way(f"own:{own.pk}")
        assert came.startswith("own:")
        assert as_told(came) == before
        transaction.set_rollback(True)


@pytest.mark.parametrize("way", [through_a_load_file, through_a_plan_file])
def test_a_dish_is_told_the_same_where_its_file_is_read(way: Any) -> None:
    salsa = records.create(OwnFood(name="Salsa de la abuela", food_class="vegetable", composition=PARTS))
    milk = records.create(OwnFood(name="Leche", composition=PARTS, raw_animal=False, allergens=["milk"]))
    dish = records.create(Recipe(name="Sopa"))
    for own in (salsa, milk):
        RecipeLine.objects.create(recipe=dish, food=f"own:{own.pk}", name=own.name, mass_kg=1.0)
    before = as_told(f"recipe:{dish.pk}")
    assert before[1:3] == (None, ("milk", NOT_STATED))
    assert as_told(way(f"recipe:{dish.pk}")) == before


def test_a_food_with_other_marks_is_another_food_and_an_open_one_is_the_same() -> None:
    def tray(**marks: Any) -> str:
        raw = tomllib.loads(EXAMPLES[0].read_text())
        shape = {"mass": "200 g", "shape": "cube", "size": "10 mm"}
        raw["tray"] = [{"name": "Torta", "composition": PARTS, "like": "dish", **shape, **marks}]
        return str(batch_from_table(raw)[0].items.get().food)

    first = tray(raw_animal=False, allergens=["milk"])
    assert tray(raw_animal=False, allergens=["milk"]) == first
    assert tray() == first  # the kitchen knows more than the file
    assert tray(allergens=["milk", NOT_STATED]) == first
    others = [tray(raw_animal=False, allergens=[]), tray(raw_animal=True, allergens=["milk"]), tray(allergens=["egg"])]
    assert len({first, *others}) == 4
    foods = foods_of(others)
    assert [(foods[ref].raw_animal, foods[ref].allergens) for ref in others] == [
        (False, ()), (True, ("milk",)), (None, ("egg",)),
    ]  # fmt: skip

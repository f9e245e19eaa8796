"""Sugars and fibre that nobody measured: told from none, taken from similar foods, said, and carried along."""

import gzip
import math
import tomllib
from datetime import date
from importlib.resources import files

import pytest
from tools import build_food_table

from drystow.fields import Fields, Problems
from drystow.foods.model import FOOD_CLASSES, Composition, Food
from drystow.foods.own import from_label, from_moisture
from drystow.foods.recipe import Ingredient, RecipeSpec, prepare, tap_water
from drystow.foods.table import COLUMNS, every, get
from drystow.foods.usual_parts import usual_share, with_usual_sugars
from drystow.foods.written import food_fields, written_food
from drystow.machine.load import LoadSpec, ProgramStep, RigSpec, TraySpec
from drystow.machine.loading import load_of
from drystow.machine.run import simulate
from drystow.properties.glass import LEAST_SPREAD, collapse_limits, dry_glass_temperature, stickiness
from drystow.reports.batch_sheet import batch_sheet_pdf
from tests.cli.run import drystow
from tests.engine.pdf_reading import page_texts

PLANTS = ("fruit", "vegetable", "mushroom")
CELSIUS = 273.15


def test_a_row_knows_whether_its_sugars_were_measured() -> None:
    for food in every():
        made_of, measured = food.composition, "sugars_g" in food.nutrients
        if measured:
            assert made_of.sugars_sd == 0.0, food.name
        elif made_of.carbohydrate > 1e-4:
            usual = usual_share("sugars", food.food_class, food.like, made_of.water)
            assert made_of.sugars == pytest.approx(usual.share * made_of.carbohydrate, abs=2e-5), food.name
            assert made_of.sugars_sd == pytest.approx(usual.spread * made_of.carbohydrate, abs=2e-5), food.name


def test_no_plant_without_a_figure_for_its_sugars_or_fibre_counts_as_having_none() -> None:
    missing = [food for food in every() if food.food_class in PLANTS and "sugars_g" not in food.nutrients]
    assert len(missing) > 180
    for food in missing:
        assert food.composition.sugars > 0.0 or food.composition.carbohydrate < 1e-4, food.name
    for food in every():
        if food.food_class in PLANTS and "fibre_g" not in food.nutrients and food.composition.carbohydrate > 0.001:
            assert food.composition.fibre > 0.0, food.name


def test_unmeasured_plants_soften_within_the_range_of_measured_ones_of_their_class() -> None:
    for food_class in PLANTS:
        foods = [food for food in every() if food.food_class == food_class and food.composition.water >= 0.4]
        dry = {food.name: dry_glass_temperature(food.composition, food_class, food.like) - CELSIUS for food in foods}
        known = [dry[food.name] for food in foods if "sugars_g" in food.nutrients]
        for food in foods:
            if "sugars_g" not in food.nutrients and food.composition.carbohydrate > 0.01:
                assert min(known) - 5.0 <= dry[food.name] <= max(known) + 5.0, food.name
    assert dry_glass_temperature(get("Grapes, muscadine, raw").composition, "fruit") - CELSIUS < 60.0
    assert dry_glass_temperature(get("Carrots, mature, raw").composition, "vegetable") - CELSIUS < 100.0


def test_the_shares_are_those_of_the_table_and_were_not_typed() -> None:
    packed = files("drystow.foods").joinpath("table.csv.gz").read_bytes()
    lines = gzip.decompress(packed).decode().splitlines()[1:]
    rows = [dict(zip(COLUMNS, line.split("\t"), strict=True)) for line in lines]
    kept = files("drystow.foods").joinpath("usual_parts.toml").read_text(encoding="utf-8")
    assert kept == build_food_table.usual_parts_file(rows), "run tools/build_food_table.py --derived-only"
    filled = build_food_table.usual_filled(rows)
    assert filled == rows, "run tools/build_food_table.py --derived-only"


def test_every_class_has_usual_sugars_and_they_are_shares() -> None:
    table = tomllib.loads(files("drystow.foods").joinpath("usual_parts.toml").read_text(encoding="utf-8"))
    assert set(table["sugars"]) - {"any"} <= set(FOOD_CLASSES)
    for food_class in FOOD_CLASSES:
        for water in (0.1, 0.9):
            usual = usual_share("sugars", food_class, (), water)
            assert 0.0 <= usual.low <= usual.share <= usual.high <= 1.0
            assert usual.foods >= 5


def test_a_kind_that_is_known_better_goes_before_its_class() -> None:
    assert usual_share("sugars", "vegetable", ("cooked", "carrot"), 0.9) == usual_share(
        "sugars", "vegetable", ("carrot",), 0.9
    )
    assert (
        usual_share("sugars", "vegetable", ("carrot",), 0.9).foods < usual_share("sugars", "vegetable", (), 0.9).foods
    )


@pytest.mark.parametrize("name", ["Grapes, muscadine, raw", "Carrots, mature, raw"])
def test_a_food_whose_sugars_nobody_measured_says_so(name: str) -> None:
    food = get(name)
    limits = collapse_limits(food.composition, food.food_class, food.like)
    assert "No one measured its sugars" in limits.basis
    known = get("Strawberries, raw")
    assert "No one measured" not in collapse_limits(known.composition, known.food_class, known.like).basis


def test_command_line_and_sheet_say_so_too() -> None:
    assert "No one measured its sugars" in " ".join(drystow("food", "show", "Grapes, muscadine, raw").stdout.split())
    spec = TraySpec(food=get("Grapes, muscadine, raw"), mass=0.5, shape="slab", size=0.01)
    shelf = (ProgramStep(313.15, math.inf),)
    result = simulate(load_of(LoadSpec(title="Grapes", rig=RigSpec(profile="bench-4", shelf=shelf), trays=(spec,))))
    printed = " ".join(page_texts(batch_sheet_pdf(result, prepared_on=date(2027, 3, 12))))
    assert "No one measured its sugars" in " ".join(printed.split())


def test_the_spread_of_unmeasured_sugars_widens_what_follows_from_them() -> None:
    bare = Composition(water=0.9, carbohydrate=0.07, fibre=0.02, ash=0.01)
    guessed = with_usual_sugars(bare, "vegetable")
    measured = Composition(**{**vars(guessed), "sugars_sd": 0.0})
    limits = collapse_limits(guessed, "vegetable")
    assert limits.spread > LEAST_SPREAD
    assert "either way" in limits.basis
    assert collapse_limits(measured, "vegetable").spread == 0.0
    assert (
        stickiness(guessed, "vegetable", 0.03, 298.15).spread
        > stickiness(measured, "vegetable", 0.03, 298.15).spread
        == 0.0
    )


def test_food_is_not_called_crisp_where_its_sugars_could_make_it_soft() -> None:
    guessed = with_usual_sugars(Composition(water=0.9, carbohydrate=0.07, fibre=0.02, ash=0.01), "vegetable")
    sure = Composition(**{**vars(guessed), "sugars_sd": 0.0})
    glass = stickiness(sure, "vegetable", 0.02, 298.15).glass_transition
    assert stickiness(sure, "vegetable", 0.02, glass - 2.0).verdict == "crisp"
    doubtful = stickiness(guessed, "vegetable", 0.02, glass - 2.0)
    assert doubtful.verdict == "leathery"
    assert "not known" in doubtful.text


def test_a_label_without_sugars_gets_the_usual_ones_and_one_with_none_has_none() -> None:
    silent = from_label(0.1, 0.001, 0.0, 0.012, food_class="fruit")
    assert silent.sugars > 0.5 * silent.carbohydrate
    assert silent.sugars_sd > 0.0
    none = from_label(0.1, 0.001, 0.0, 0.012, sugars=0.0, food_class="fruit")
    assert (none.sugars, none.sugars_sd) == (0.0, 0.0)


def test_a_file_without_sugars_gets_the_usual_ones_with_a_note_and_keeps_them_when_written() -> None:
    problems = Problems()
    parts = {"water": 0.88, "carbohydrate": 0.12}
    table = {"food": "Garden plums", "like": "fruit, plum", "composition": parts}
    known = ("food", "like", "composition", "name", "raw_animal", "allergens", "skin")
    food = written_food(Fields(table, "tray", known, problems))
    assert food is not None
    assert food.composition.sugars_sd > 0.0
    assert any("No 'sugars' are written for 'Garden plums'" in str(note) for note in problems.notes)
    again = Problems()
    same = written_food(Fields(food_fields(food), "tray", known, again))
    assert same is not None
    assert same.composition == food.composition
    assert not again.notes
    stated = written_food(Fields({**table, "composition": {**parts, "sugars": 0.0}}, "tray", known, again))
    assert stated is not None
    assert (stated.composition.sugars, stated.composition.sugars_sd) == (0.0, 0.0)


def test_the_spread_goes_into_dishes_and_along_with_a_change_of_water() -> None:
    grapes = get("Grapes, muscadine, raw")
    assert from_moisture(0.5, grapes).sugars_sd > 2 * grapes.composition.sugars_sd
    water = Ingredient(tap_water(), 1.0)
    dish: Food = prepare(RecipeSpec("Grape soup", (Ingredient(grapes, 1.0), water)))
    assert dish.composition.sugars_sd == pytest.approx(grapes.composition.sugars_sd / 2, rel=0.01)

"""Whole foods: freezing start, front limits, isotherms, stickiness."""

import pytest

from drystow.drying.layer import TARGET_ACTIVITY, target_moisture
from drystow.foods.classify import hinted, starts_words
from drystow.foods.kinds import class_row, relative_rows
from drystow.foods.model import FOOD_CLASSES, Composition, Food
from drystow.foods.own import own_food
from drystow.foods.recipe import Ingredient, RecipeSpec, prepare
from drystow.foods.table import every
from drystow.properties.glass import collapse_limits, dry_glass_temperature, is_tissue, stickiness
from drystow.properties.ice import (
    bound_water,
    ice_fraction,
    initial_freezing_point,
    solutes,
    sugar_split,
    unfreezable_water,
)
from drystow.properties.sorption import (
    equilibrium_moisture,
    gab_moisture,
    isotherm_for,
    moisture_at,
    water_activity_at,
)
from drystow.properties.thermal import fresh_density, frozen_conductivity, true_density
from drystow.sources import MARKS, bibliography

APPLE = Composition(water=0.86, carbohydrate=0.115, fibre=0.02, protein=0.003, ash=0.002, sugars=0.10)
CHICKEN = Composition(water=0.75, protein=0.225, fat=0.015, ash=0.01)
MILK = Composition(water=0.881, protein=0.032, fat=0.033, carbohydrate=0.047, ash=0.007, sugars=0.047)
LEAN = Composition(water=0.9, protein=0.01, carbohydrate=0.085, ash=0.005, sugars=0.07)
EGG = Composition(water=0.76, protein=0.126, fat=0.095, carbohydrate=0.008, ash=0.011, sugars=0.004)


def food(name: str, food_class: str, composition: Composition) -> Food:
    return Food("own", name, food_class, composition, like=hinted(name, food_class))


@pytest.mark.parametrize("food_class", FOOD_CLASSES)
def test_every_class_has_sugars_isotherm_and_limits(food_class: str) -> None:
    split = sugar_split(food_class)
    assert sum(split.shares.values()) == pytest.approx(1.0)
    isotherm = isotherm_for(food("thing", food_class, MILK))
    assert isotherm.mark in MARKS
    assert isotherm.source in bibliography()
    limits = collapse_limits(MILK, food_class)
    assert limits.glass_transition <= limits.melting_onset <= limits.collapse
    assert set(limits.sources) <= set(bibliography())
    assert initial_freezing_point(MILK, food_class) < 273.15


def test_solutes_never_exceed_the_carbohydrate() -> None:
    parts = solutes(APPLE, "fruit", ("lemon",))
    assert sum(parts.values()) == pytest.approx(APPLE.carbohydrate)


def test_names_are_matched_at_the_beginning_of_words() -> None:
    assert starts_words("Corn, sweet, yellow", ["corn", "sweet"])
    assert not starts_words("Pineapple", ["apple"])
    assert hinted("Apples, raw", "fruit") == ("apple",)
    assert hinted("Sugar-apples, raw", "fruit") == hinted("Pineapple, dried", "sweet")[1:] == ()
    assert hinted("Grapefruit juice", "liquid") == ("grapefruit juice",)
    assert hinted("Onions, green, raw", "vegetable") == ("green onion",)


def test_juice_has_a_colder_limit_than_the_pieces_of_the_same_fruit() -> None:
    pieces = collapse_limits(APPLE, "fruit", ("apple",))
    sauce = collapse_limits(APPLE, "fruit", ("crushed", "apple"))
    assert pieces.tissue
    assert not sauce.tissue
    assert sauce.collapse == sauce.melting_onset < pieces.collapse


def test_muscle_follows_its_protein_and_milk_its_lactose() -> None:
    assert collapse_limits(CHICKEN, "meat", ("poultry",)).collapse == pytest.approx(273.15 - 12)
    assert collapse_limits(MILK, "dairy").collapse == pytest.approx(273.15 - 30)


def test_measured_limits_win_over_computed_ones_and_say_so() -> None:
    kiwi = collapse_limits(APPLE, "fruit", ("kiwi",))
    assert kiwi.melting_onset == pytest.approx(273.15 - 40.4)
    assert kiwi.glass_transition == pytest.approx(273.15 - 52.0)
    assert "measured" in kiwi.basis
    assert "moraga2006" in kiwi.sources


def test_tissue_is_told_from_what_is_crushed() -> None:
    assert is_tissue("fruit", ("blueberry",))
    assert not is_tissue("fruit", hinted("Mango purée", "fruit"))
    assert not is_tissue("liquid")
    assert is_tissue("meat")


def test_unfreezable_water_is_at_least_what_protein_binds_and_at_most_the_water() -> None:
    for composition in (APPLE, CHICKEN, MILK, EGG):
        assert bound_water(composition) <= unfreezable_water(composition) <= composition.water
    honey = Composition(water=0.17, carbohydrate=0.83, sugars=0.82)
    assert unfreezable_water(honey) == honey.water
    assert ice_fraction(honey, 260.0, 240.0) == 0.0


def test_fat_holds_no_water() -> None:
    lean = isotherm_for(food("x", "egg", Composition(water=0.5, protein=0.5)))
    whole = isotherm_for(food("x", "egg", Composition(water=0.5, protein=0.25, fat=0.25)))
    assert whole.monolayer == pytest.approx(lean.monolayer / 2)


def test_a_known_fruit_gets_its_own_isotherm_and_says_how_it_is_known() -> None:
    kiwi = isotherm_for(food("Kiwifruit, green, raw", "fruit", APPLE))
    assert (kiwi.monolayer, kiwi.c, kiwi.mark) == (0.046, 10.6, "read")
    assert isotherm_for(food("Quince", "fruit", APPLE)).mark == "class default"


def test_warm_food_in_thin_vapour_is_drier_than_cold_food() -> None:
    isotherm = isotherm_for(food("x", "fruit", APPLE))
    assert equilibrium_moisture(isotherm, 50.0, 313.15) < equilibrium_moisture(isotherm, 50.0, 273.15)
    assert equilibrium_moisture(isotherm, 10.0, 313.15) < equilibrium_moisture(isotherm, 50.0, 313.15)
    assert moisture_at(isotherm, 0.2, 313.15) < moisture_at(isotherm, 0.2, 298.15)


def test_water_activity_of_a_moisture_inverts_the_moisture_of_a_water_activity() -> None:
    isotherm = isotherm_for(food("x", "vegetable", APPLE))
    moisture = moisture_at(isotherm, 0.25, 285.0)
    assert water_activity_at(isotherm, moisture, 285.0) == pytest.approx(0.25)


def test_sugary_fruit_softens_with_damp_and_warmth_while_meat_stays_crisp() -> None:
    assert stickiness(APPLE, "fruit", 0.01, 293.15, ("apple",)).verdict == "crisp"
    assert stickiness(APPLE, "fruit", 0.06, 303.15, ("apple",)).verdict == "sticky"
    assert stickiness(CHICKEN, "meat", 0.04, 303.15).verdict == "crisp"
    assert dry_glass_temperature(MILK, "dairy") == pytest.approx(374.15)


def test_densities_and_frozen_conductivity_are_those_of_real_food() -> None:
    assert 1020 < fresh_density(APPLE) < 1060
    assert fresh_density(APPLE, porosity=0.2) == pytest.approx(0.8 * fresh_density(APPLE))
    assert 1400 < true_density(APPLE, 0.03) < 1600
    assert 1.0 < frozen_conductivity(CHICKEN, 271.5, 253.15) < 1.8


@pytest.mark.parametrize("kind", [kind for kind, row in relative_rows().items() if "isotherm" in row])
def test_an_isotherm_is_its_published_curve_at_the_temperature_of_the_measurement(kind: str) -> None:
    row = relative_rows()[kind]["isotherm"]
    isotherm = isotherm_for(Food("own", "x", row["classes"][0], LEAN, like=(kind,)))
    assert isotherm.measured_at == pytest.approx(273.15 + row.get("at", 25.0))
    for activity in (0.1, 0.3, 0.45):
        published = gab_moisture(activity, row["monolayer"], row["c"], row["k"])
        assert moisture_at(isotherm, activity, isotherm.measured_at) == pytest.approx(published)
        assert moisture_at(isotherm, activity, isotherm.measured_at + 10.0) < published
    edges = water_activity_at(isotherm, gab_moisture(row["high"], row["monolayer"], row["c"], row["k"]))
    assert isotherm.high == pytest.approx(float(edges))


def test_no_food_of_the_table_is_called_dry_while_its_water_activity_is_above_the_goal() -> None:
    for food in every():
        if food.composition.solids <= 0.0:
            continue
        target = target_moisture(food)
        assert 0.0 < target <= class_row(food.food_class)["target"], food.name
        activity = water_activity_at(isotherm_for(food), target / (1.0 - target))
        assert activity <= TARGET_ACTIVITY + 1e-9, food.name


def test_own_and_mixed_food_is_dried_by_its_own_fat() -> None:
    lean = own_food("Chicken", CHICKEN, "meat")
    fatty = own_food("Sausage", Composition(water=0.45, protein=0.12, fat=0.41, ash=0.02), "meat")
    mixed = prepare(RecipeSpec("Mostly sausage", (Ingredient(lean, 1.0), Ingredient(fatty, 3.0))))
    assert target_moisture(lean) == class_row("meat")["target"]
    assert target_moisture(fatty) < target_moisture(mixed) < class_row(mixed.food_class)["target"]
    assert target_moisture(Food("own", "Water", "liquid", Composition(water=1.0))) == class_row("liquid")["target"]


@pytest.mark.parametrize("like", ["sea fish", "shellfish", "shark"])
def test_sea_animals_freeze_colder_than_their_make_up_tells_and_only_where_they_are_said_to_be_like_it(
    like: str,
) -> None:
    lean = Composition(water=0.89, protein=0.06, fat=0.01, carbohydrate=0.032, ash=0.008)
    plain = initial_freezing_point(lean, "fish")
    assert initial_freezing_point(lean, "fish", (like,)) < plain - 0.1
    assert initial_freezing_point(lean, "dish", (like,)) == initial_freezing_point(lean, "dish")
    assert hinted("Fish, trout, rainbow, farmed, raw", "fish") == ()
    assert like in hinted({"sea fish": "Cod fillet", "shellfish": "Shrimp", "shark": "Shark steak"}[like], "fish")

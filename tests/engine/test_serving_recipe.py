"""Cooking with dried food."""

import numpy as np
import pytest

from drystow.errors import InputError
from drystow.foods.classify import hinted
from drystow.foods.model import FOOD_CLASSES, Composition, Food
from drystow.foods.table import get
from drystow.serving.cautions import cooking_target, serving_cautions
from drystow.serving.recipe import replace_fresh, replace_recipe
from drystow.serving.rehydration import rehydration_ratio, rehydration_time, water_to_add, weibull_uptake


def test_a_recipe_amount_splits_into_dried_food_and_water() -> None:
    part = replace_fresh(get("Strawberries, raw"), 0.5, 0.02)
    assert part.dried_mass + part.water_mass == pytest.approx(0.5)
    assert part.dried_mass == pytest.approx(0.5 * 0.092, rel=0.05)  # 9.2 g dried from 100 g fresh strawberries
    assert part.dried_volume is None


def test_powder_gets_a_volume_for_spoons() -> None:
    part = replace_fresh(get("Carrots, raw"), 0.1, 0.03, powder=True)
    assert part.dried_volume == pytest.approx(part.dried_mass / 350.0)
    assert any("weigh one level cup" in note for note in part.notes)
    weighed = replace_fresh(get("Carrots, raw"), 0.1, 0.03, powder=True, bulk_density=420.0)
    assert weighed.dried_volume == pytest.approx(weighed.dried_mass / 420.0)


def test_rehydrated_food_is_to_be_eaten_or_cooled_within_two_hours() -> None:
    assert any("within 2 hours" in caution for caution in serving_cautions(get("Carrots, raw")))


def test_raw_meat_is_soaked_cold_and_cooked() -> None:
    part = replace_fresh(get("Chicken, ground, raw"), 0.5, 0.02, hot=True)
    assert not part.time.hot
    assert any("74 °C (165 °F)" in caution for caution in part.cautions)
    assert any("infants" in caution for caution in part.cautions)


@pytest.mark.parametrize(
    ("name", "food_class", "fahrenheit"),
    [
        ("Turkey breast, raw", "meat", 165),
        ("Beef, ground, raw", "meat", 160),
        ("Pork loin, raw", "meat", 145),
        ("Pollo", "meat", 165),
        ("Cornish game hen, raw", "meat", 165),
        ("Salmon, raw", "fish", 145),
        ("Egg, raw", "egg", 160),
        ("Raw milk soup", "dish", 165),
    ],
)
def test_each_raw_food_has_its_safe_temperature(name: str, food_class: str, fahrenheit: float) -> None:
    # USDA chart of safe minimum internal temperatures
    like = hinted(name, food_class)
    food = Food("x", name, food_class, Composition(water=0.7, protein=0.3), like=like, raw_animal=True)
    assert (cooking_target(food).temperature - 273.15) * 1.8 + 32 == pytest.approx(fahrenheit, abs=0.1)


def test_a_whole_recipe_is_replaced() -> None:
    parts = replace_recipe(((get("Carrots, raw"), 0.2), (get("Onions, raw"), 0.1)), 0.03, hot=True)
    assert [round(part.fresh_mass, 3) for part in parts] == [0.2, 0.1]


@pytest.mark.parametrize("food_class", FOOD_CLASSES)
def test_every_class_has_a_time_marked_as_an_estimate(food_class: str) -> None:
    hot, cold = rehydration_time(food_class, 0.01, True), rehydration_time(food_class, 0.01, False)
    assert hot.low <= cold.low < cold.high
    assert "typical for this kind of food" in hot.notes[0]
    assert hot.mark == "class default"
    assert hot.low < float(np.interp(0.9, weibull_uptake(np.linspace(0, 9e3, 9001), hot.alpha, hot.beta), range(9001)))


def test_sizes_outside_the_estimate_are_noted() -> None:
    assert any("outside" in note for note in rehydration_time("meat", 0.05, True).notes)
    assert rehydration_time("meat", 0.02, True).low > rehydration_time("meat", 0.01, True).low


def test_mixed_up_moistures_are_told() -> None:
    with pytest.raises(InputError, match="are the two swapped"):
        water_to_add(0.1, 0.9, 0.02)
    with pytest.raises(InputError, match="food class"):
        rehydration_time("stone", 0.01, True)
    with pytest.raises(InputError, match="dry_mass"):
        rehydration_ratio(0.1, 0.0)

"""Recipes keep their solids, and own foods close from a label or a moisture."""

from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drystow.errors import InputError
from drystow.foods.derive import SALT_PER_SODIUM
from drystow.foods.marks import UNKNOWN
from drystow.foods.model import PARTS, Composition, Food
from drystow.foods.own import from_label, from_moisture, own_food, slug
from drystow.foods.recipe import Ingredient, RecipeSpec, prepare, tap_water
from drystow.foods.table import get

WET = Food(
    "wet", "Wet", "vegetable", Composition(water=0.9, carbohydrate=0.1, water_sd=0.003), nutrients={"fat_g": 0.0}
)
RICH = Food(
    "rich",
    "Rich",
    "meat",
    Composition(water=0.5, protein=0.2, fat=0.3, water_sd=0.01),
    raw_animal=True,
    allergens=("milk",),
    nutrients={"fat_g": 30.0, "protein_g": 20.0},
)


def stew(**changes: Any) -> RecipeSpec:
    return RecipeSpec("Alder Lane stew", (Ingredient(WET, 3.0), Ingredient(RICH, 1.0)), **changes)


def test_a_raw_mix_has_the_mean_of_its_ingredients() -> None:
    # by hand: water 3 x 0.9 + 1 x 0.5 = 3.2 of 4 kg; fat 0.3 of 4 kg
    food = prepare(stew())
    assert food.composition.water == pytest.approx(0.8)
    assert food.composition.fat == pytest.approx(0.075)
    assert food.composition.carbohydrate == pytest.approx(0.075)
    # independent errors add in squares: sqrt((3 x 0.003)^2 + (1 x 0.01)^2) / 4
    assert food.composition.water_sd == pytest.approx(0.0033634, rel=1e-4)
    assert food.own
    assert food.id == "alder-lane-stew"


def test_what_is_lost_in_cooking_is_water() -> None:
    # by hand: 4 kg cooked to 3 kg: 2.2 kg of water in 3 kg, 0.3 kg of fat in 3 kg
    food = prepare(stew(final_mass=3.0))
    assert food.composition.water == pytest.approx(2.2 / 3)
    assert food.composition.fat == pytest.approx(0.1)
    assert prepare(stew(yield_fraction=0.75)).composition == food.composition


def test_nutrients_are_concentrated_and_unknown_ones_are_left_out() -> None:
    food = prepare(stew(final_mass=3.0))
    assert food.nutrients == {"fat_g": pytest.approx(10.0)}


def test_water_that_is_poured_in_dilutes_without_hiding_nutrients() -> None:
    recipe = RecipeSpec("Broth", (Ingredient(RICH, 1.0), Ingredient(tap_water(), 3.0)))
    food = prepare(recipe)
    assert food.composition.water == pytest.approx(3.5 / 4)
    assert food.nutrients == {"fat_g": pytest.approx(7.5), "protein_g": pytest.approx(5.0)}


def test_pasta_may_take_up_water() -> None:
    assert prepare(stew(yield_fraction=2.0)).composition.water == pytest.approx(0.9)


def test_raw_meat_is_marked_until_the_dish_is_cooked() -> None:
    assert prepare(stew()).raw_animal
    assert not prepare(stew(cooked=True)).raw_animal


def test_allergens_of_all_ingredients_are_kept_in_the_order_of_the_law() -> None:
    bread, egg = get("Bread, whole wheat"), get("Egg, whole, raw, fresh")
    food = prepare(RecipeSpec("Toast", (Ingredient(bread, 0.2), Ingredient(egg, 0.1), Ingredient(RICH, 0.1))))
    assert food.allergens == ("milk", "egg", "wheat")


def test_a_mix_is_a_dish_unless_one_class_dominates() -> None:
    assert prepare(stew()).food_class == "vegetable"
    assert prepare(RecipeSpec("Half", (Ingredient(WET, 1.0), Ingredient(RICH, 1.0)))).food_class == "dish"
    assert prepare(RecipeSpec("Soup", (Ingredient(RICH, 1.0), Ingredient(tap_water(), 9.0)))).food_class == "meat"
    assert prepare(RecipeSpec("Water", (Ingredient(tap_water(), 1.0),))).food_class == "liquid"


@pytest.mark.parametrize(
    ("recipe", "field", "words"),
    [
        (
            stew(final_mass=0.5),
            "final_mass",
            "cooking loses 3.50 kg but the ingredients hold only 3.20 kg of water",
        ),
        (stew(yield_fraction=0.1), "yield", "at least 800 g must be left"),
        (stew(final_mass=3.0, yield_fraction=0.75), "yield", "not both"),
        (stew(yield_fraction=0.0), "yield", "0.8 means 800 g left of 1 kg"),
        (RecipeSpec("None", ()), "ingredients", "a recipe needs at least one ingredient"),
        (RecipeSpec(" ", (Ingredient(WET, 1.0),)), "name", "a recipe needs a name"),
        (RecipeSpec("X", (Ingredient(WET, -1.0),)), "ingredients[1].mass", "weigh the Wet"),
        (RecipeSpec("X", (Ingredient(WET, float("nan")),)), "ingredients[1].mass", "weigh the Wet"),
    ],
)
def test_impossible_recipes_are_refused(recipe: RecipeSpec, field: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        prepare(recipe)
    assert caught.value.field == field
    assert words in caught.value.message


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["Carrots, raw", "Beef, ground, raw", "Milk, whole", "Olive oil", "Water, tap"]),
            st.floats(0.01, 5),
        ),
        min_size=1,
        max_size=5,
    ),
    st.floats(0.3, 3.0),
)
def test_solids_stay_in_the_pot(lines: list[tuple[str, float]], share: float) -> None:
    items = tuple(Ingredient(get(name), mass) for name, mass in lines)
    before = sum(item.mass for item in items)
    water = sum(item.mass * item.food.composition.water for item in items)
    assume(before * (1 - share) <= water)
    cooked = prepare(RecipeSpec("Pot", items, yield_fraction=share))
    made_of = cooked.composition
    assert sum(getattr(made_of, part) for part in PARTS) == pytest.approx(1.0)
    for part in ("protein", "fat", "carbohydrate", "fibre", "ash"):
        put_in = sum(item.mass * getattr(item.food.composition, part) for item in items)
        assert getattr(made_of, part) * before * share == pytest.approx(put_in, abs=2e-4 * before)


def test_a_us_label_gives_the_water_that_the_table_gives() -> None:
    # a cup of whole milk, rounded as a US label prints it; USDA water 88.1% (memory)
    milk = from_label(0.244, 0.008, 0.008, 0.012, sugars=0.012, sodium=0.000105, food_class="dairy")
    assert milk.water == pytest.approx(0.881, abs=2 * milk.water_sd)
    assert milk.salt == pytest.approx(SALT_PER_SODIUM * 0.000105 / 0.244, rel=0.01)


def test_an_eu_label_counts_fibre_apart() -> None:
    eu = from_label(0.1, 0.005, 0.002, 0.010, fibre=0.005, fibre_in_carbohydrate=False, rounding=1e-4)
    us = from_label(0.1, 0.005, 0.002, 0.015, fibre=0.005, rounding=1e-4)
    for part in (*PARTS, "water_sd"):
        assert getattr(eu, part) == pytest.approx(getattr(us, part))


def test_a_small_serving_makes_the_water_less_certain() -> None:
    large = from_label(0.240, 0.008, 0.008, 0.012, food_class="dairy")
    small = from_label(0.030, 0.001, 0.001, 0.002, food_class="dairy")
    assert small.water_sd > 3 * large.water_sd


def test_a_measured_moisture_overrules_what_the_label_leaves_over() -> None:
    food = from_label(0.1, 0.002, 0.003, 0.005, moisture=0.88, moisture_sd=0.004)
    assert food.water == pytest.approx(0.88)
    assert food.ash == pytest.approx(0.02)
    assert food.water_sd == 0.004


def test_a_moisture_alone_borrows_the_solids_of_a_like_food() -> None:
    apple = get("Apple, raw")
    dry = from_moisture(0.05, apple)
    assert dry.water == 0.05
    assert dry.fibre / dry.solids == pytest.approx(apple.composition.fibre / apple.composition.solids)


@given(*(st.floats(0.0, 1.0) for _ in range(3)), st.floats(0.0, 1.0), st.floats(0.005, 1.0))
def test_any_possible_label_closes(
    protein: float, fat: float, carbohydrate: float, fibre: float, amount: float
) -> None:
    food = from_label(
        amount, protein * amount / 3, fat * amount / 3, carbohydrate * amount / 3, fibre * carbohydrate * amount / 3
    )
    assert sum(getattr(food, part) for part in PARTS) == pytest.approx(1.0)
    assert 0 < food.water_sd <= 1


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"amount": 0.0}, "amount", "enter the weight of the serving"),
        ({"protein": 0.2}, "protein", "more than the serving itself; are both in the same unit?"),
        ({"fat": -0.001}, "fat", "out of range; enter 0 to 0.1 kg"),
        ({"fat": 0.09}, "label", "the parts add up to"),
        ({"fibre": 0.03}, "fibre", "more fiber than carbohydrate; for an EU label"),
        ({"sugars": 0.03}, "sugars", "more sugars than carbohydrate"),
        ({"food_class": "pudding"}, "class", "'pudding' is not a food class"),
        ({"moisture": 0.5}, "moisture", "leave 36.0% for minerals; it should be 0 to 15%"),
        ({"moisture": 0.95}, "moisture", "check the moisture and the label"),
        ({"moisture": 88.0}, "moisture", "enter a fraction or a percentage"),
    ],
)
def test_labels_that_cannot_be_are_refused(changes: dict[str, Any], field: str, words: str) -> None:
    label: dict[str, Any] = {"amount": 0.1, "protein": 0.002, "fat": 0.002, "carbohydrate": 0.010} | changes
    with pytest.raises(InputError) as caught:
        from_label(**{"rounding": 1e-4} | label)
    assert caught.value.field == field
    assert words in caught.value.message


def test_an_own_food_is_classified_by_its_name_unless_told() -> None:
    made_of = Composition(water=0.75, protein=0.2, fat=0.05)
    food = own_food("Salmon, raw", made_of)
    assert (food.food_class, food.raw_animal, food.allergens) == ("fish", None, UNKNOWN)
    told = own_food("Sunday special", made_of, "dish", raw_animal=False, allergens=("egg",))
    assert (told.food_class, told.raw_animal, told.allergens) == ("dish", False, ("egg",))
    assert slug(" Äpfel & Birnen ") == "pfel-birnen"
    with pytest.raises(InputError, match="a food needs a name"):
        own_food("  ", made_of)

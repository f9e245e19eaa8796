"""Which of the foods that people dry get a word on a warm ice front in a usual program, and that most do not.

A quarter inch thick, -10 °C for 2 h, then 45 °C, in the kitchen dryer with all its trays full: what home practice dries
well gets no warning, and what nothing holds together but its frozen syrup does.
"""

import math
from dataclasses import replace
from functools import cache

import pytest

from drystow.foods.model import Composition, Food
from drystow.foods.table import every, get
from drystow.machine.load import LoadSpec, ProgramStep, RigSpec, TraySpec
from drystow.machine.loading import fresh_density_of, load_of
from drystow.machine.profile import dryer_profile
from drystow.machine.result import TrayResult
from drystow.machine.run import simulate
from drystow.properties.glass import collapse_limits, tried_limit
from drystow.properties.ice import initial_freezing_point
from drystow.properties.skin import has_skin

QUARTER_INCH = 0.00635
PROGRAM = (ProgramStep(263.15, 7200.0), ProgramStep(318.15, math.inf))
SPARE = 2.0
"""Kelvin that a verdict keeps off its limit, so that it does not hang on the last digit of the front's temperature."""

QUIET = (
    "Apples, raw, without skin", "Bananas, raw", "Strawberries, raw", "Blueberries, raw", "Raspberries, raw",
    "Peach, raw", "Pears, raw", "Pineapple, raw", "Mangos, raw", "Kiwifruit, green, raw", "Grapes, red, seedless, raw",
    "Cherries, sweet, raw", "Orange, raw", "Watermelon, raw", "Plums, raw", "Apricots, raw",
    "Lemons, raw, without peel", "Tomatoes, raw", "Carrots, raw", "Onions, raw", "Peppers, sweet, red, raw",
    "Broccoli, raw", "Spinach, raw", "Asparagus, raw", "Chives, raw", "Peas, green, raw", "Corn, sweet, yellow, raw",
    "Potatoes, flesh and skin, raw", "Sweet potato, NFS", "Mushrooms, white, raw",
    "Beef, ground, 95% lean meat / 5% fat, raw", "Chicken, breast, boneless, skinless, raw",
    "Fish, salmon, Atlantic, wild, raw", "Crustaceans, shrimp, raw",
)  # fmt: skip

CLOSE = ("Egg, whole, raw", "Stew, beef")
"""Foods that come so close to their start of melting that a fuller tray is warned of."""

WARNED = {
    "Apple juice, 100%": "measured",
    "Orange juice, 100%, NFS": "measured",
    "Applesauce, unsweetened": "not known",
    "Milk, whole": "not known",
    "Yogurt, plain, whole milk": "not known",
    "Ice cream, vanilla": "not known",
    "Soup, tomato": "not known",
    "Cheese, cheddar": "measured",
}
"""Foods that no cells hold together, and how their limit is known."""


@cache
def dried(name: str) -> TrayResult:
    food = get(name)
    skin = "peeled" if has_skin(food) else None  # what a skin holds back is another matter
    spec = TraySpec(food=food, mass=1.0, shape="slab", size=QUARTER_INCH, skin_state=skin)
    dryer = dryer_profile("kitchen-5")
    spec = replace(spec, mass=0.9 * fresh_density_of(spec) * QUARTER_INCH * dryer.tray_area)
    rig = RigSpec(profile="kitchen-5", shelf=PROGRAM, overload=True)
    return simulate(load_of(LoadSpec(title="", rig=rig, trays=(spec,) * dryer.trays))).trays[0]


@pytest.mark.parametrize("name", QUIET)
def test_what_home_practice_dries_well_gets_no_warning(name: str) -> None:
    tray = dried(name)
    assert tray.front_temperature_max < tray.limit - SPARE
    assert not [note for note in tray.notes if "its ice got as warm" in note]


@pytest.mark.parametrize("name", CLOSE)
def test_what_lies_close_to_its_limit_is_not_far_on_either_side(name: str) -> None:
    tray = dried(name)
    assert abs(tray.front_temperature_max - tray.limit) < 3 * SPARE


@pytest.mark.parametrize("name", WARNED)
def test_what_no_cells_hold_together_is_warned_of_in_words_that_say_what_is_known(name: str) -> None:
    tray, food = dried(name), get(name)
    assert collapse_limits(food.composition, food.food_class, food.like).known == WARNED[name]
    assert tray.front_temperature_max > tray.limit + (SPARE if name != "Yogurt, plain, whole milk" else 0.5)
    said = next(note for note in tray.notes if "its ice got as warm" in note)
    assert ("is not known" in said) == (WARNED[name] == "not known")


def test_sweeter_pieces_have_a_colder_limit_and_very_sweet_ones_are_warned_of() -> None:
    limits = []
    for sugars in (0.08, 0.16, 0.24, 0.32):
        made_of = Composition(
            water=0.96 - sugars, carbohydrate=sugars, fibre=0.02, protein=0.01, ash=0.01, sugars=sugars
        )
        limits.append(collapse_limits(made_of, "fruit").collapse)
    assert limits == sorted(limits, reverse=True)
    assert limits[-1] < 273.15 - 20.0  # the front in the program above gets warmer


def test_no_piece_of_a_plant_counts_as_safe_where_its_ice_melts() -> None:
    for water in (0.55, 0.7, 0.85, 0.95):
        rest = 1.0 - water
        sweet = Composition(water=water, carbohydrate=0.9 * rest, fibre=0.1 * rest, sugars=0.9 * rest)
        plain = Composition(water=water, carbohydrate=0.9 * rest, fibre=0.1 * rest)
        for food in (Food("a", "a", "fruit", sweet), Food("b", "b", "starchy", plain)):
            limits = collapse_limits(food.composition, food.food_class)
            start = initial_freezing_point(food.composition, food.food_class)
            assert limits.melting_onset <= limits.collapse <= start
            assert limits.collapse <= max(tried_limit(start), limits.melting_onset)
            assert limits.known == "tried"


def test_the_three_temperatures_of_every_food_stand_in_order() -> None:
    for food in every():
        if food.composition.water < 0.05 or food.composition.carbohydrate + food.composition.protein < 1e-4:
            continue
        limits = collapse_limits(food.composition, food.food_class, food.like)
        assert limits.glass_transition <= limits.melting_onset <= limits.collapse < 273.15, food.name
        assert limits.known in ("measured", "tried", "not known")
        assert (limits.spread > 0.0) <= (food.composition.sugars_sd > 0.0), food.name


def test_pieces_and_their_juice_have_limits_of_their_own() -> None:
    for fruit in ("apple", "strawberry", "grape", "tomato"):
        made_of = Composition(water=0.86, carbohydrate=0.115, fibre=0.02, protein=0.003, ash=0.002, sugars=0.10)
        pieces = collapse_limits(made_of, "fruit", (fruit,))
        crushed = collapse_limits(made_of, "fruit", ("crushed", fruit))
        assert pieces.melting_onset == crushed.melting_onset
        assert pieces.collapse > pieces.melting_onset + 20.0
        assert (crushed.collapse, crushed.known) == (crushed.melting_onset, "not known")

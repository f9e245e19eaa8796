"""A recipe: ingredients by mass, cooked to a known mass, become one food."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from drystow.errors import InputError, check_range
from drystow.foods.classify import hinted
from drystow.foods.marks import in_order, worst_raw
from drystow.foods.model import PARTS, Composition, Food
from drystow.foods.own import slug
from drystow.messages import msg
from drystow.shown import quantity

DOMINANT = 0.7
"""Share of the mass that makes a recipe a food of that class and not a dish [-]. Source: food-classes."""

MINOR = 0.02
"""Ingredients below this share of the mass may lack a nutrient without hiding it [-]. Source: food-classes."""


@dataclass(frozen=True)
class Ingredient:
    """One line of a recipe.

    food: what goes in
    mass: how much of it, as weighed [kg]
    """

    food: Food
    mass: float


@dataclass(frozen=True)
class RecipeSpec:
    """What goes into a pot and how much comes out.

    name: name of the dish
    ingredients: what goes in, water too when it is poured in
    final_mass: mass after cooking [kg], or None
    yield_fraction: mass after cooking over mass before [-], or None; without either nothing is lost
    cooked: heated enough that raw animal ingredients are safe to eat
    like: kinds of food that the dish is like; None: as its name hints
    """

    name: str
    ingredients: tuple[Ingredient, ...]
    final_mass: float | None = None
    yield_fraction: float | None = None
    cooked: bool = False
    like: tuple[str, ...] | None = None


def tap_water() -> Food:
    """Return drinking water as an ingredient."""
    pure = Composition(water=1.0, water_sd=0.0)
    return Food("water", "Water", "liquid", pure, raw_animal=False, allergens=(), source="definition")


def _mass_after(recipe: RecipeSpec, before: float, water: float) -> float:
    """Return the mass after cooking; what is lost is water, what is gained is water taken up."""
    if recipe.final_mass is not None and recipe.yield_fraction is not None:
        raise InputError("yield", msg("give the weight after cooking or the yield, not both"))
    after = before
    if recipe.final_mass is not None:
        check_range(
            "final_mass", recipe.final_mass, 0, 10 * before, "mass", msg("weigh what is in the pot"), above=True
        )
        after = recipe.final_mass
    elif recipe.yield_fraction is not None:
        check_range("yield", recipe.yield_fraction, 0, 10, "", msg("0.8 means 800 g left of 1 kg"), above=True)
        after = recipe.yield_fraction * before
    if before - after > water + 1e-9:
        field = "final_mass" if recipe.final_mass is not None else "yield"
        raise InputError(
            field,
            msg(
                "cooking loses {lost} but the ingredients hold only {water} of water; at least {least} must be left",
                lost=quantity(before - after, "mass"),
                water=quantity(water, "mass"),
                least=quantity(before - water, "mass"),
            ),
        )
    return after


def prepare(recipe: RecipeSpec) -> Food:
    """Return the food that a recipe makes, as one of the user's own foods.

    Mass lost in cooking is taken for water; fat that drips off must be taken from the ingredients. Nutrients are the
    sum over the ingredients, without losses by heat, and only those known for every ingredient that matters.
    Allergens are those of the ingredients; what is not stated of one of them is not stated of the dish.
    """
    if not recipe.name.strip():
        raise InputError("name", msg("a recipe needs a name, for example 'Bean soup'"))
    if not recipe.ingredients:
        raise InputError("ingredients", msg("a recipe needs at least one ingredient"))
    for number, item in enumerate(recipe.ingredients, 1):
        check_range(
            f"ingredients[{number}].mass",
            item.mass,
            0,
            10_000,
            "kg",
            msg("weigh the {food}", food=item.food.name),
            above=True,
        )
    items = recipe.ingredients
    before = sum(item.mass for item in items)
    water_before = sum(item.mass * item.food.composition.water for item in items)
    after = _mass_after(recipe, before, water_before)

    def total(part: str) -> float:
        return sum(item.mass * float(getattr(item.food.composition, part)) for item in items)

    parts = {part: total(part) / after for part in PARTS[1:]}
    parts["water"] = max(0.0, (water_before - (before - after)) / after)
    scale = 1.0 / sum(parts.values())
    spread = math.sqrt(sum((item.mass * item.food.composition.water_sd) ** 2 for item in items)) / after
    composition = Composition(
        **{part: value * scale for part, value in parts.items()},
        sugars=min(total("sugars") / after, 1.0) * scale,
        sugars_sd=min(total("sugars_sd") / after, 1.0) * scale,
        salt=min(total("salt") / after, 1.0) * scale,
        water_sd=min(spread, 1.0),
    )
    food_class = class_of(items)
    return Food(
        id=slug(recipe.name),
        name=recipe.name.strip(),
        food_class=food_class,
        composition=composition,
        like=hinted(recipe.name, food_class) if recipe.like is None else recipe.like,
        raw_animal=False if recipe.cooked else worst_raw(item.food.raw_animal for item in items),
        allergens=in_order(name for item in items for name in item.food.allergens),
        nutrients=_nutrients(items, before, after),
        own=True,
        source="own-recipe",
    )


def class_of(items: Sequence[Ingredient]) -> str:
    """Return the class that most of the ingredients belong to, water apart, or ``dish``.

    items: the ingredients
    """
    mass: dict[str, float] = defaultdict(float)
    for item in items:
        if item.food.composition.water < 0.995:
            mass[item.food.food_class] += item.mass
    if not mass:
        return "liquid"
    kind = max(mass, key=lambda name: mass[name])
    return kind if mass[kind] >= DOMINANT * sum(mass.values()) else "dish"


def _nutrients(items: tuple[Ingredient, ...], before: float, after: float) -> dict[str, float]:
    """Return the nutrients per 100 g of the finished food that all ingredients of weight have."""
    solid = [item for item in items if item.food.composition.water < 0.9999]
    matter = [item for item in solid if item.mass >= MINOR * before] or solid
    keys = [key for item in matter[:1] for key in item.food.nutrients]
    return {
        key: sum(item.mass * item.food.nutrients.get(key, 0.0) for item in solid) / after
        for key in keys
        if all(key in item.food.nutrients for item in matter)
    }

"""Between the rows of foods and pantry and the engine: find foods, tell about them, cook from the pantry."""

from dataclasses import dataclass

from drystow.drying.layer import target_moisture
from drystow.errors import InputError
from drystow.foods import table
from drystow.foods.model import Food
from drystow.foods.nutrition import NAMES, PanelLine, concentration, dried, per_serving, us_panel
from drystow.properties.glass import FrontLimits, collapse_limits
from drystow.properties.ice import initial_freezing_point
from drystow.properties.suitability import Suitability, suitability
from drystow.serving.rehydration import dried_from_fresh
from drystow.sources import Source, bibliography
from drystow.web.foods.models import OwnFood, Recipe
from drystow.web.foods.spec import food_of, foods_of

USUAL_SERVING = 0.03
"""Dried serving where the table knows no portion [kg]. Source: drystow-default."""


@dataclass(frozen=True)
class About:
    """What the page of a food says.

    moisture: to dry to, wet basis [-]
    dried_from_one: dried food from one mass of fresh [-]
    freezing_point: [K], None where the engine knows none
    limits: of the ice front, None likewise
    why_no_limits: the reason in words
    nutrients: (name, unit, per 100 g fresh, per 100 g dried)
    serving: dried [kg]
    panel: US panel of the serving
    sources: where the numbers come from
    """

    food: Food
    verdict: Suitability
    moisture: float
    dried_from_one: float
    freezing_point: float | None
    limits: FrontLimits | None
    why_no_limits: str
    nutrients: tuple[tuple[str, str, float, float], ...]
    serving: float
    panel: tuple[PanelLine, ...]
    sources: tuple[Source, ...]


def own_foods() -> list[Food]:
    """Return the foods of the kitchen that are not in the bin."""
    refs = [f"own:{number}" for number in OwnFood.objects.kept().values_list("pk", flat=True)]
    found = foods_of(refs)
    return [found[ref] for ref in refs]


def search(text: str, limit: int = 20) -> list[Food]:
    """Return the foods of the kitchen and of the table that a text most likely means."""
    return table.find(text, limit, own=own_foods())


def named(text: str, own: list[Food]) -> Food:
    """Return the food with this exact name or reference; the error lists the nearest names."""
    return table.get(text, own=own)


def about(food: Food, serving: float | None = None) -> About:
    """Return what is known of a food.

    serving: dried [kg], None for the customary one
    """
    moisture = usual_moisture(food)
    water = food.composition.water
    keys = [key for key in NAMES if key in food.nutrients] if water < 1.0 else []
    per_dried = dried({key: food.nutrients[key] for key in keys}, water, moisture) if keys else {}
    amount = serving or usual_serving(food, moisture)
    freezing, limits, why = None, None, ""
    try:
        freezing = float(initial_freezing_point(food.composition, food.food_class, food.like))
        limits = collapse_limits(food.composition, food.food_class, food.like)
    except InputError as problem:
        why = problem.message
    known = bibliography()
    wanted = dict.fromkeys((food.source, *(limits.sources if limits else ()), "target-practice"))
    return About(
        food=food,
        verdict=suitability(food),
        moisture=moisture,
        dried_from_one=1.0 / concentration(water, moisture) if water < 1.0 else 0.0,
        freezing_point=freezing,
        limits=limits,
        why_no_limits=why,
        nutrients=tuple(
            (NAMES[key], key.rsplit("_", 1)[-1].replace("ug", "µg"), food.nutrients[key], per_dried[key])
            for key in keys
        ),
        serving=amount,
        panel=tuple(us_panel(per_serving(per_dried, amount))) if per_dried else (),
        sources=tuple(known[key] for key in wanted if key in known),
    )


def usual_moisture(food: Food) -> float:
    """Return the moisture to dry to, never more than the fresh food has."""
    return min(target_moisture(food), food.composition.water)


def usual_serving(food: Food, moisture: float) -> float:
    """Return the dried mass of a customary portion [kg]."""
    if food.portion is None or food.composition.water >= 0.99:
        return USUAL_SERVING
    return float(dried_from_fresh(food.portion[1], moisture, food.composition.water))


def scaled_nutrients(like: Food, moisture: float) -> dict[str, float]:
    """Return the nutrients per 100 g of a food that shares the dry matter of another but not its water."""
    water = like.composition.water
    if moisture <= water:
        return dried(like.nutrients, water, moisture)
    factor = 1.0 / concentration(moisture, water)
    return {key: value * factor for key, value in like.nutrients.items()}


def dish_of(recipe: Recipe) -> Food:
    """Return the food that a recipe makes; raises `InputError` with what is missing."""
    return food_of(f"recipe:{recipe.pk}")


def recipe_nutrients(recipe: Recipe, dish: Food) -> tuple[float, tuple[PanelLine, ...]]:
    """Return the mass of a fresh serving [kg] and its US panel."""
    total = recipe.final_mass_kg or sum(line.mass_kg for line in recipe.lines.all())
    serving = total / recipe.servings
    return serving, tuple(us_panel(per_serving(dish.nutrients, serving)))

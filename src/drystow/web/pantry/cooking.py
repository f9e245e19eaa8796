"""Cooking a recipe from the pantry: packages that expire first in front."""

from dataclasses import dataclass

from django.db.models import F

from drystow.properties.suitability import suitability
from drystow.serving.cautions import TWO_HOURS, serving_cautions
from drystow.serving.recipe import DriedIngredient, replace_recipe
from drystow.web.foods.adapters import usual_moisture
from drystow.web.foods.models import Recipe
from drystow.web.foods.spec import foods_of
from drystow.web.pantry.models import Package

FIRST_PACKAGES = 5


@dataclass(frozen=True)
class Take:
    """How much to take out of one package [kg]."""

    package: Package
    mass: float


@dataclass(frozen=True)
class CookingLine:
    """One line of a recipe to cook from the pantry.

    name: of the ingredient
    fresh: that the recipe asks for [kg]
    instead: dried food and water in its place, None where it goes in as it is
    takes: packages, those that expire first in front
    missing: dried food that the pantry does not hold [kg]
    cautions: of this ingredient; what holds for all stands once on the page
    """

    name: str
    fresh: float
    instead: DriedIngredient | None
    takes: tuple[Take, ...]
    missing: float
    cautions: tuple[str, ...] = ()


def cook_from_pantry(recipe: Recipe) -> list[CookingLine]:
    """Return what to take for every line of a recipe, from packages that expire first; two or three queries."""
    lines = list(recipe.lines.all())
    foods = foods_of(line.food for line in lines)
    stock: dict[str, list[list[Package | float]]] = {}
    rows = Package.objects.kept().filter(food__in=foods, state__in=("stored", "open"), left_mass_kg__gt=0)
    for package in rows.select_related("place").order_by(F("best_before").asc(nulls_last=True), "packed_on", "pk"):
        stock.setdefault(package.food, []).append([package, package.left_mass_kg])
    told = []
    for line in lines:
        food = foods[line.food]
        held = stock.get(line.food, [])
        if not held and suitability(food).verdict == "no":
            cautions = tuple(caution for caution in serving_cautions(food) if caution != TWO_HOURS)
            told.append(CookingLine(line.name, line.mass_kg, None, (), 0.0, cautions))
            continue
        (instead,) = replace_recipe(((food, line.mass_kg),), usual_moisture(food))
        takes, missing = _take(held, instead.dried_mass)
        cautions = tuple(caution for caution in instead.cautions if caution != TWO_HOURS)
        told.append(CookingLine(line.name, line.mass_kg, instead, takes, missing, cautions))
    return told


def _take(held: list[list[Package | float]], wanted: float) -> tuple[tuple[Take, ...], float]:
    """Take from the packages in order; what a line took is gone for the next line."""
    takes: list[Take] = []
    for pair in held:
        package, left = pair
        assert isinstance(package, Package)
        assert isinstance(left, float)
        mass = min(left, wanted)
        if mass > 0 and len(takes) < FIRST_PACKAGES:
            takes.append(Take(package, mass))
            pair[1] = left - mass
            wanted -= mass
    return tuple(takes), max(wanted, 0.0)

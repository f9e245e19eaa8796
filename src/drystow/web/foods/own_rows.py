"""Own foods that come with a file: found again by name, composition and marks, else made."""

from drystow.foods.marks import known_allergens
from drystow.foods.model import Food
from drystow.foods.written import FRACTIONS
from drystow.messages import msg
from drystow.web.foods.models import OwnFood
from drystow.web.kit import records

WORDS = msg("load file")


def own_food(food: Food, who: str) -> OwnFood:
    """Return the own food with this name, composition and marks, a new one when there is none.

    food: with its marks; those that it does not state may be anything in the own food
    who: makes it
    """
    fractions = {name: getattr(food.composition, name) for name in FRACTIONS}
    name, count = food.name[:100], 1
    while found := OwnFood.objects.filter(name=name).first():
        if {part: found.composition.get(part, 0.0) for part in FRACTIONS} == fractions and _says(found, food):
            return found
        count += 1
        name = f"{food.name[:100]} ({count})"
    made = OwnFood(
        name=name,
        food_class=food.food_class,
        like=list(food.like),
        composition=fractions,
        moisture_sd=food.composition.water_sd,
        moisture_from=WORDS,
        raw_animal=food.raw_animal,
        allergens=list(food.allergens),
        skin=food.skin,
        nutrients=dict(food.nutrients),
    )
    return records.create(made, who=who, words=WORDS)


def _says(row: OwnFood, food: Food) -> bool:
    """Return whether an own food says all that a file states of it."""
    raw = food.raw_animal is None or row.raw_animal is food.raw_animal
    known = set(known_allergens(food.allergens)) <= set(row.allergens)
    same = set(row.allergens) == set(food.allergens) if food.allergens_stated else known
    alike = (row.food_class, tuple(row.like), row.skin) == (food.food_class, food.like, food.skin)
    return alike and raw and same

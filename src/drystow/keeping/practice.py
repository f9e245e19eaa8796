"""How long home keepers commonly plan with: told where no study says more, never counted with."""

from drystow.foods.kinds import class_row, of_relatives
from drystow.foods.model import Food

FATTY = 0.30
"""Fat in the dry solids from which on the second pair of years of a class holds [-]. Source: keeping-heuristic."""


def practice_years(food: Food) -> tuple[float, float]:
    """Return the years, at 21 °C in a sealed package with an absorber.

    food: fresh or dried
    Source: keeping-heuristic.
    """
    solids = food.composition.solids
    fatty = solids > 0 and food.composition.fat / solids > FATTY
    usual = class_row(food.food_class)["practice"]
    of_its_kind = of_relatives("practice", food.food_class, food.like)
    low, high = (of_its_kind or {"years": usual.get("fatty", usual["years"]) if fatty else usual["years"]})["years"]
    return float(low), float(high)

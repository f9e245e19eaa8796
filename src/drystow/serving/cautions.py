"""What the cook has to know before water goes back in."""

from dataclasses import dataclass

from drystow.constants import ZERO_CELSIUS
from drystow.foods import marks
from drystow.foods.kinds import class_row, of_relatives
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.shown import REFRIGERATOR, both
from drystow.units import fahrenheit

TWO_HOURS = msg(
    "Once water is added it is fresh food again. Eat it within 2 hours (1 hour above {hot}) "
    "or refrigerate it at {cold} or below. Follow your local food-safety rules first.",
    hot=both(fahrenheit(90.0), "temperature"),
    cold=REFRIGERATOR,
)
"""Rehydrated food needs time and temperature control. Source: food-code, cooking-chart."""

NOT_RAW = msg(
    "Do not serve raw animal food to infants or people who are pregnant, elderly or ill, or "
    "in pet bowls. Wash hands, boards and bowls its crumbs have touched."
)
"""Source: fd-no-kill."""


@dataclass(frozen=True)
class CookingTarget:
    """Temperature in the middle that makes raw food safe.

    kind: of the food
    temperature: to reach in the thickest part [K]
    rest: time to hold or rest at it [s]
    """

    kind: str
    temperature: float
    rest: float = 0.0


COOKING_TARGETS = (
    CookingTarget(msg("poultry"), ZERO_CELSIUS + 73.9),
    CookingTarget(msg("leftovers and dishes"), ZERO_CELSIUS + 73.9),
    CookingTarget(msg("ground meat"), ZERO_CELSIUS + 71.1),
    CookingTarget(msg("egg dishes"), ZERO_CELSIUS + 71.1),
    CookingTarget(msg("whole cuts of meat"), ZERO_CELSIUS + 62.8, 180.0),
    CookingTarget(msg("fish and shellfish"), ZERO_CELSIUS + 62.8),
)
"""Safe minimum temperatures, 165, 160 and 145 °F. Source: cooking-chart."""


def cooking_target(food: Food) -> CookingTarget:
    """Return the safe cooking temperature of a raw animal food; unclear meat gets that of poultry.

    food: the food
    """
    by_kind = {str(target.kind): target for target in COOKING_TARGETS}
    own = of_relatives("cooking", food.food_class, food.like)
    return by_kind[own["target"] if own else class_row(food.food_class)["cooking"]]


def serving_cautions(food: Food) -> tuple[str, ...]:
    """Return the cautions for putting water back into a food.

    food: the food
    """
    raw = marks.raw_cautions(food.raw_animal, raw_cautions(cooking_target(food))) or (TWO_HOURS,)
    return raw if food.allergens_stated else (*raw, marks.ASK_FOR_ALLERGENS)


def raw_cautions(target: CookingTarget) -> tuple[str, ...]:
    """Return the cautions for putting water back into a raw animal food.

    target: that makes it safe; the first of `COOKING_TARGETS` where nobody knows what kind it is
    """
    heat = both(target.temperature, "temperature")
    if target.rest:
        cooking = msg(
            "Raw animal food: freeze-drying does not kill germs. Soak it in the refrigerator, then "
            "cook the middle to {heat} and let it rest {minutes:.0f} minutes.",
            heat=heat,
            minutes=target.rest / 60,
        )
    else:
        cooking = msg(
            "Raw animal food: freeze-drying does not kill germs. Soak it in the refrigerator, then "
            "cook the middle to {heat}.",
            heat=heat,
        )
    return (cooking, NOT_RAW, TWO_HOURS)

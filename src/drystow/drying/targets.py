"""How dry is dry: default targets by food class."""

from drystow.errors import unknown
from drystow.said import say

TARGET_MOISTURE = {
    "fruit": 0.03,
    "vegetable": 0.03,
    "starchy": 0.03,
    "mushroom": 0.03,
    "meat": 0.02,
    "fish": 0.02,
    "egg": 0.02,
    "dairy": 0.025,
    "cheese": 0.02,
    "dish": 0.03,
    "liquid": 0.03,
    "sweet": 0.02,
    "fat": 0.01,
}


def target_moisture(food_class: str) -> float:
    """Residual moisture to aim for, wet basis [-].

    food_class: one of the food classes
    Source: target-practice, 1 to 3% for fruit and vegetables, 1 to 2% for meat and egg.
    """
    if food_class not in TARGET_MOISTURE:
        raise unknown("class", food_class, TARGET_MOISTURE, say("food class"))
    return TARGET_MOISTURE[food_class]

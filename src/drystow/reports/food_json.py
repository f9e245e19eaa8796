"""A food as plain data, for the command line and the interface for programs."""

from typing import Any

from drystow.foods.model import Food


def food_summary(food: Food) -> dict[str, Any]:
    """Return what identifies a food, and its water."""
    return {
        "id": food.id,
        "name": food.name,
        "class": food.food_class,
        "category": food.category,
        "water": food.composition.water,
    }

"""A food as plain data, for the command line and the interface for programs."""

from typing import Any

from drystow.foods.like import written_like
from drystow.foods.model import Food


def food_summary(food: Food) -> dict[str, Any]:
    """Return what identifies a food, what it behaves like, and its water."""
    return {
        "id": food.id,
        "name": food.name,
        "class": food.food_class,
        "like": written_like(food.food_class, food.like),
        "category": food.category,
        "water": food.composition.water,
    }

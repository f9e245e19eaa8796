"""What a tray should weigh in the end, and the food's part of a weighing."""

from collections.abc import Iterable

from drystow.foods.model import Food
from drystow.web.batches.models import Weighing


def dry_mass(parts: Iterable[tuple[Food, float, float]]) -> float:
    """Return what the food of a tray weighs at the wished moisture [kg].

    parts: food, fresh mass [kg] and wished moisture [-] of everything on it
    """
    return sum(fresh * food.composition.solids / (1.0 - target) for food, fresh, target in parts)


def net_g(weighing: Weighing) -> float:
    """Return the food's mass of a weighing [g]."""
    return float(weighing.gross_g - weighing.tare_g)

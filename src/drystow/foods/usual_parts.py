"""Sugars and fibre of a food in which nobody measured them: the usual share of its carbohydrate, with its spread.

A food without a figure for its sugars is not a food without sugars. The shares stand in usual_parts.toml, which
`tools/build_food_table.py` finds from the foods of the table that have both figures.
"""

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from drystow.foods.kinds import class_row, table_of
from drystow.foods.model import Composition

PARTS_OF = {"sugars": ("carbohydrate",), "fibre": ("carbohydrate", "fibre")}
"""What the share of a part is counted in: the carbohydrate without fibre, or all of it. Source: definition."""

WET = 0.40
"""Foods with at least this much water have shares of their own, wet basis [-]. Source: drystow-default."""

UNTOLD_SUGARS = 0.005
"""A spread of unmeasured sugars up to this is not worth a sentence [-]. Source: drystow-default."""


@dataclass(frozen=True)
class UsualShare:
    """Sugars as a share of the carbohydrate without fibre, or fibre as one of all, in foods of one kind or class.

    share: in the middle one of the foods [-]
    low: below it lie one in six of them [-]
    high: above it lie one in six of them [-]
    foods: how many there are
    """

    share: float
    low: float
    high: float
    foods: int

    @property
    def spread(self) -> float:
        """Standard deviation of the share [-]."""
        return (self.high - self.low) / 2.0


@cache
def _table() -> dict[str, Any]:
    return table_of("usual_parts.toml")


def usual_share(part: str, food_class: str, like: tuple[str, ...], water: float) -> UsualShare:
    """Return the usual share of a part in a food's carbohydrate: of the first kind that it is like, else of its class,
    else of all foods.

    part: sugars or fibre
    food_class: one of the food classes
    like: kinds of food that it is like
    water: of the food, wet basis [-]
    """
    class_row(food_class)  # an unknown class is an error
    rows = _table()[part].get(food_class, _table()[part]["any"])
    if water >= WET:
        kinds = rows.get("kind", {})
        row = next((kinds[kind] for kind in like if kind in kinds), None) or rows.get("wet") or rows["dry"]
    else:
        row = rows.get("dry") or rows["wet"]
    return UsualShare(**row)


def with_usual_sugars(composition: Composition, food_class: str, like: tuple[str, ...] = ()) -> Composition:
    """Return a composition whose sugars nobody measured with the usual ones and their spread.

    composition: of the food; what it says of sugars is replaced
    food_class: one of the food classes
    like: kinds of food that it is like

    >>> grape = Composition(water=0.84, carbohydrate=0.14, fibre=0.02)
    >>> found = with_usual_sugars(grape, "fruit")
    >>> print(f"{found.sugars:.2f}, give or take {found.sugars_sd:.2f}")
    0.13, give or take 0.02
    """
    usual = usual_share("sugars", food_class, like, composition.water)
    carbohydrate = composition.carbohydrate
    return replace(composition, sugars=usual.share * carbohydrate, sugars_sd=usual.spread * carbohydrate)

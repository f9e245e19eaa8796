"""Which single sugars and how much organic acid stand behind 'sugars' and 'carbohydrate'."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from drystow.errors import unknown
from drystow.foods.model import Composition
from drystow.properties.matching import first_row
from drystow.said import say

SUGAR_MOLAR_MASS = {
    "fructose": 0.18016,
    "glucose": 0.18016,
    "galactose": 0.18016,
    "sucrose": 0.34230,
    "lactose": 0.34230,
    "maltose": 0.34230,
    "trehalose": 0.34230,
}
"""Molar masses of the sugars [kg/mol]. Source: iupac."""

ACID_MOLAR_MASS = 0.165
"""Molar mass of the fruit acids, between malic 0.134 and citric 0.192 [kg/mol]. Source: iupac."""


@dataclass(frozen=True)
class SugarSplit:
    """The single sugars of a kind of food.

    shares: of the total sugars, by name
    acid: organic acid per carbohydrate without fibre [-]
    spread: usual difference of one share between foods of this kind [-]
    source: key in sources.toml
    mark: how the shares are known
    """

    shares: dict[str, float]
    acid: float
    spread: float
    source: str
    mark: str


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(files("drystow.properties").joinpath("sugars.toml").read_text(encoding="utf-8"))


def sugar_split(food_class: str, name: str = "") -> SugarSplit:
    """Return the single sugars of a food from its name, else from its class.

    food_class: one of the food classes
    name: of the food, as printed
    """
    table = _table()
    if food_class not in table["class"]:
        raise unknown("class", food_class, table["class"], say("food class"))
    row = first_row(table["kind"], name, food_class) or table["class"][food_class]
    return SugarSplit(row["shares"], row["acid"], row["spread"], row["source"], row["mark"])


def solutes(composition: Composition, food_class: str, name: str = "") -> dict[str, float]:
    """Return the mass fractions of single sugars and ``acid`` in the food, wet basis.

    composition: of the food
    food_class: one of the food classes
    name: of the food, as printed
    """
    split = sugar_split(food_class, name)
    parts = {sugar: share * composition.sugars for sugar, share in split.shares.items()}
    parts["acid"] = min(split.acid * composition.carbohydrate, max(composition.carbohydrate - composition.sugars, 0.0))
    return parts

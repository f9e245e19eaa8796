"""Which single sugars and how much organic acid stand behind 'sugars' and 'carbohydrate'."""

from dataclasses import dataclass

from drystow.foods.kinds import property_of
from drystow.foods.model import Composition

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


def sugar_split(food_class: str, like: tuple[str, ...] = ()) -> SugarSplit:
    """Return the single sugars of a food from the kinds that it is like, else from its class.

    food_class: one of the food classes
    like: kinds of food that it is like
    """
    row = property_of("sugars", food_class, like)
    return SugarSplit(row["shares"], row["acid"], row["spread"], row["source"], row["mark"])


def solutes(composition: Composition, food_class: str, like: tuple[str, ...] = ()) -> dict[str, float]:
    """Return the mass fractions of single sugars and ``acid`` in the food, wet basis.

    composition: of the food
    food_class: one of the food classes
    like: kinds of food that it is like
    """
    split = sugar_split(food_class, like)
    parts = {sugar: share * composition.sugars for sugar, share in split.shares.items()}
    parts["acid"] = min(split.acid * composition.carbohydrate, max(composition.carbohydrate - composition.sugars, 0.0))
    return parts

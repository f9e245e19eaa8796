"""How much of a food's water is ice, at which temperature it starts, and how much never freezes."""

from dataclasses import dataclass

import numpy as np

from drystow.constants import FUSION_HEAT, GAS_CONSTANT, WATER_MOLAR_MASS, ZERO_CELSIUS
from drystow.errors import InputError, check_range
from drystow.foods.kinds import is_a, of_relatives, property_of
from drystow.foods.model import Composition
from drystow.messages import msg
from drystow.numerics import Numeric

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


CRYOSCOPIC = 1.86
"""Freezing point depression of water [K kg/mol]. Source: cryoscopy."""

SALT_OSMOLALITY, ASH_OSMOLALITY = 34.2, 46.4 / CRYOSCOPIC
"""Dissolved particles per mass of table salt and of other ash [mol/kg]. Source: pham1996 for ash, iupac for salt."""

ETHANOL_MOLAR_MASS = 0.04607
"""Molar mass of ethanol [kg/mol]. Source: iupac."""

PROTEIN_BOUND, SUGAR_UNFROZEN, POLYMER_UNFROZEN = 0.4, 0.5, 0.3
"""Water that never freezes per protein (ashrae-ch19), sugars and other carbohydrate (belitz, table 0.7) [-]."""

WARMEST_START = ZERO_CELSIUS - 0.05
"""Freezing starts no warmer than this: plain water then freezes over a short range [K]. Source: drystow-default."""

THAWED_RISE = 2.09e3
"""Heat capacity of water less that of ice, near 0 °C [J/kg/K]. Source: walstra."""

REFERENCE = 233.15
"""Where enthalpies of foods are zero, -40 °C [K]. Source: chen1985."""

DRY_FOOD = msg("dry food has no freezing point")
BELOW_ZERO = msg("food freezes below 0 °C, given in K")


def ice_fraction_tchigeov(water: Numeric, freezing_point: Numeric, temperature: Numeric) -> Numeric:
    """Ice in a food [-], mass per mass of food.

    water: of the food, wet basis [-]
    freezing_point: where the first ice forms [K]
    temperature: of the food [K]
    Valid: -45 to 0 °C; meat, fish, fruit and vegetables.
    Source: tchigeov1979.

    >>> print(f"{ice_fraction_tchigeov(0.58, 271.45, 253.15):.2f}")
    0.52
    """
    check_range("water", water, 0, 1, "")
    _check_freezing_point(freezing_point)
    below = np.maximum(np.asarray(freezing_point) - temperature, 1e-9)
    ice = 1.105 * water / (1.0 + 0.7138 / np.log1p(below))
    frozen: Numeric = np.where(np.asarray(temperature) < freezing_point, np.minimum(ice, water), 0.0)[()]
    return frozen


def ice_fraction_chen(water: Numeric, bound_water: Numeric, freezing_point: Numeric, temperature: Numeric) -> Numeric:
    """Ice in a food by Raoult's law [-], mass per mass of food.

    water: of the food, wet basis [-]
    bound_water: water that never freezes, wet basis [-]
    freezing_point: where the first ice forms [K]
    temperature: of the food [K]
    Valid: -45 to 0 °C.
    Source: chen1985.

    >>> print(f"{ice_fraction_chen(0.75, 0.08, 272.15, 253.15):.3f}")
    0.636
    """
    check_range("water", water, 0, 1, "")
    _check_freezing_point(freezing_point)
    start = np.asarray(freezing_point) - ZERO_CELSIUS
    t = np.minimum(np.asarray(temperature) - ZERO_CELSIUS, start)
    ice: Numeric = (np.maximum(np.asarray(water) - bound_water, 0.0) * (1.0 - start / t))[()]
    return ice


def freezing_point_pham(water: Numeric, ash: Numeric, other_solids: Numeric) -> Numeric:
    """Initial freezing point of meat and fish [K].

    water: of the food, wet basis [-]
    ash: of the food, wet basis [-]
    other_solids: all but water, fat and ash (protein, carbohydrate), wet basis [-]
    Valid: unsalted meat and fish, water above 0.4.
    Source: pham1996.
    Error: 0.5 K against the handbook's fish and meat.

    >>> print(f"{freezing_point_pham(0.7263, 0.0102, 0.1955):.2f}")
    271.24
    """
    check_range("water", water, 0.05, 1, "", hint=DRY_FOOD)
    return ZERO_CELSIUS - (4.66 * other_solids + 46.4 * ash) / water


def initial_freezing_point(composition: Composition, food_class: str, like: tuple[str, ...] = ()) -> float:
    """Temperature at which the first ice forms [K].

    composition: of the food
    food_class: one of the food classes; muscle follows Pham, all else the particles dissolved in its water
    like: kinds of food that it is like; refine which sugars it has, and what sea animals hold beside salts and protein
    Valid: fresh foods, water above 0.4; ideal solution.
    Source: pham1996, cryoscopy, sea-animals.
    Error: usually 0.5 K against the handbook; ripe sugary foods come out up to 1.4 K colder (banana), vegetables rich
        in minerals 0.6 K colder (spinach), vanilla ice cream 3 K warmer than its -5.6 °C. Fish with bones: the handbook
        prints -2.2 °C for all, of the sea or not; single measurements give -0.8 to -1.5 °C for cod, lingcod and trout,
        0.3 to 1 K warmer than here.

    >>> milk = Composition(water=0.881, protein=0.032, fat=0.033, carbohydrate=0.047, ash=0.007, sugars=0.047)
    >>> print(f"{initial_freezing_point(milk, 'dairy') - 273.15:.1f}")
    -0.7
    """
    water = composition.water
    if water < 0.05:
        raise InputError(
            "water", msg("{water:.0%} water is too dry to have a freezing point; it needs at least 5%", water=water)
        )
    salt = min(composition.salt, composition.ash)
    particles = composition.alcohol / ETHANOL_MOLAR_MASS + SALT_OSMOLALITY * salt
    particles += ASH_OSMOLALITY * (composition.ash - salt)
    if is_a(food_class, "muscle"):
        particles += (composition.protein + composition.carbohydrate + composition.fibre) * 4.66 / CRYOSCOPIC
    else:
        parts = solutes(composition, food_class, like)
        particles += parts.pop("acid") / ACID_MOLAR_MASS
        particles += sum(mass / SUGAR_MOLAR_MASS[sugar] for sugar, mass in parts.items())
    sea: dict[str, float] = of_relatives("dissolved", food_class, like) or {}
    molality = max(particles / water + float(sea.get("more", 0.0)), float(sea.get("least", 0.0)))
    return min(ZERO_CELSIUS - CRYOSCOPIC * molality, WARMEST_START)


def bound_water(composition: Composition) -> float:
    """Water bound to protein [-], wet basis.

    composition: of the food
    Source: ashrae-ch19, x_b = 0.4 x_protein.
    """
    return min(PROTEIN_BOUND * composition.protein, composition.water)


def unfreezable_water(composition: Composition) -> float:
    """Water that stays unfrozen in the maximally frozen food [-], wet basis.

    composition: of the food
    Valid: never more than the food's water.
    Source: belitz, table 0.7; sugars 0.5 (sucrose 0.56, glucose 0.41), polymers 0.3 kg per kg.
    Error: factor of about 1.5; published values for one solute differ that much (fructose 0.25 to 0.96).
    """
    other = max(composition.carbohydrate - composition.sugars, 0.0) + composition.fibre
    held = PROTEIN_BOUND * composition.protein + SUGAR_UNFROZEN * composition.sugars + POLYMER_UNFROZEN * other
    return min(held, composition.water)


def ice_fraction(composition: Composition, freezing_point: float, temperature: Numeric) -> Numeric:
    """Ice in this food [-], mass per mass of food: the curve that freezing and drying use.

    composition: of the food
    freezing_point: where the first ice forms [K]
    temperature: of the food [K]
    Valid: down to -45 °C; below, nothing more freezes once the unfreezable water is left.
    Source: chen1985, capped at the water that can freeze (belitz).

    >>> apple = Composition(water=0.86, carbohydrate=0.115, fibre=0.02, protein=0.003, ash=0.002, sugars=0.10)
    >>> print(f"{ice_fraction(apple, 272.0, 253.15):.2f}")
    0.80
    """
    ice = ice_fraction_chen(composition.water, bound_water(composition), freezing_point, temperature)
    capped: Numeric = np.minimum(ice, composition.water - unfreezable_water(composition))
    return capped


def enthalpy_chen(
    water: Numeric, solids: Numeric, bound_water: Numeric, freezing_point: Numeric, temperature: Numeric
) -> Numeric:
    """Enthalpy of a food above that at -40 °C [J/kg].

    water: of the food, wet basis [-]
    solids: of the food, wet basis [-]
    bound_water: water that never freezes, wet basis [-]
    freezing_point: where the first ice forms [K]
    temperature: of the food [K]
    Valid: -40 to 40 °C.
    Source: chen1985.

    >>> print(f"{enthalpy_chen(0.75, 0.25, 0.08, 272.15, 293.15) / 1e3:.0f}")
    366
    """
    check_range("water", water, 0, 1, "")
    _check_freezing_point(freezing_point)
    start = np.asarray(freezing_point) - ZERO_CELSIUS
    t = np.asarray(temperature) - ZERO_CELSIUS
    cold = np.minimum(t, start)
    reference = REFERENCE - ZERO_CELSIUS
    ice_term = (np.asarray(water) - bound_water) * FUSION_HEAT / 1e3 * start / (reference * cold)
    frozen = (cold - reference) * (1.55 + 1.26 * solids - ice_term)
    thawed = np.maximum(t - start, 0.0) * (4.19 - 2.30 * solids - 0.628 * solids**3)
    enthalpy: Numeric = (1e3 * (frozen + thawed))[()]
    return enthalpy


def enthalpy_schwartzberg(
    water: Numeric, bound_water: Numeric, heat_capacity: Numeric, freezing_point: Numeric, temperature: Numeric
) -> Numeric:
    """Enthalpy of a food above that at -40 °C [J/kg].

    The mass of dissolved matter follows from the freezing point, which is more often known than its molar mass.

    water: of the food, wet basis [-]
    bound_water: water that never freezes, wet basis [-]
    heat_capacity: of the unfrozen food [J/kg/K]
    freezing_point: where the first ice forms [K]
    temperature: of the food [K]
    Valid: -40 to 40 °C.
    Source: schwartzberg1976.
    Error: 15% too much below -20 °C in lean beef, whose bound water it takes for liquid; 5% in fruit.

    >>> print(f"{enthalpy_schwartzberg(0.828, 0.0, 3730.0, 271.33, 253.15) / 1e3:.0f}")
    52
    """
    check_range("water", water, 0, 1, "")
    _check_freezing_point(freezing_point)
    start, reference = np.asarray(freezing_point) - ZERO_CELSIUS, REFERENCE - ZERO_CELSIUS
    t = np.asarray(temperature) - ZERO_CELSIUS
    cold = np.minimum(t, start)
    free = np.asarray(water) - bound_water
    dissolved = -free * FUSION_HEAT * start / (GAS_CONSTANT / WATER_MOLAR_MASS * ZERO_CELSIUS**2)
    ice_term = GAS_CONSTANT / WATER_MOLAR_MASS * ZERO_CELSIUS**2 / (reference * cold) - 0.8 * THAWED_RISE
    frozen = (cold - reference) * (heat_capacity - free * THAWED_RISE + dissolved * ice_term)
    enthalpy: Numeric = (frozen + np.maximum(t - start, 0.0) * heat_capacity)[()]
    return enthalpy


def _check_freezing_point(freezing_point: Numeric) -> None:
    check_range("freezing_point", freezing_point, 220, 273.149, "K", hint=BELOW_ZERO)

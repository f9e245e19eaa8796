"""The dried layer: what it does to vapour and to heat, and class defaults where nobody measured it."""

from dataclasses import dataclass
from functools import cache

import numpy as np

from drystow.errors import check_range, unknown
from drystow.foods.kinds import class_row, property_of
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.numerics import Numeric
from drystow.properties.sorption import isotherm_for, moisture_at

SHAPES = ("slab", "stick", "sphere", "cube")
DESORPTION_ENERGY = 25e3
"""Activation energy of desorption [J/mol]. Source: drystow-default; reported values run from 6 to 40 kJ/mol."""
VISCOUS = 1e-3
"""Relative rise of a layer's permeability with pressure, from viscous flow in pores of about 50 micrometers [1/Pa].
Source: drying-notes, dusty gas; a twentieth at 50 Pa."""
TARGET_ACTIVITY = 0.20
"""Water activity that dried food is not to exceed when it is done [-]. Source: target-practice, within 0.10 to 0.25."""


@dataclass(frozen=True)
class DriedLayer:
    """Numbers of a dried layer, with how uncertain they are.

    r0: resistance to vapour at zero depth [m/s]
    a1: rise of the resistance with depth [1/s]
    a2: saturation of that rise [1/m]
    vacuum_conductivity: conductivity without gas [W/(m K)]
    gas_conductivity: its rise in plenty of gas [W/(m K)]
    half_pressure: pressure at half that rise [Pa]
    desorption_rate: first-order rate of water up to the monolayer at 30 °C [1/s]
    desorption_energy: its activation energy [J/mol]
    viscous: relative rise of the permeability with pressure [1/Pa]
    porosity: air in the fresh food [-]
    resistance_spread: relative standard deviation of a1 [-]
    conductivity_spread: relative standard deviation of the conductivity [-]
    desorption_spread: relative standard deviation of the desorption rate [-]
    sources: keys of the sources
    notes: sentences on what is a default
    """

    r0: float
    a1: float
    a2: float
    vacuum_conductivity: float
    gas_conductivity: float
    half_pressure: float
    desorption_rate: float
    desorption_energy: float = DESORPTION_ENERGY
    viscous: float = VISCOUS
    porosity: float = 0.0
    resistance_spread: float = 0.4
    conductivity_spread: float = 0.3
    desorption_spread: float = 0.5
    sources: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@cache
def layer_of(food_class: str, like: tuple[str, ...] = ()) -> DriedLayer:
    """Return the dried layer of a food: where a kind that it is like was measured, of that, else of its class.

    food_class: one of the food classes
    like: kinds that it is like
    Source: drystow-default, each row with its own source.
    """
    vapor, heat, bound = (property_of(name, food_class, like) for name in ("vapor", "heat", "bound"))
    sources = {vapor["source"], heat["source"], bound["source"]}
    return DriedLayer(
        r0=vapor["surface"],
        a1=1.0 / vapor["permeability"],
        a2=0.0,
        vacuum_conductivity=heat["vacuum"],
        gas_conductivity=heat["gas"],
        half_pressure=heat["half"],
        desorption_rate=bound["rate"],
        porosity=class_row(food_class)["porosity"],
        resistance_spread=vapor["spread"],
        conductivity_spread=heat["spread"],
        desorption_spread=bound["spread"],
        sources=tuple(sorted(sources)),
        notes=(
            msg(
                "drying times use typical values for '{food_class}' and may be off by a third; weigh the "
                "tray to learn the real ones",
                food_class=msg(food_class),
            ),
        ),
    )


def layer_resistance(depth: Numeric, r0: float, a1: float, a2: float) -> Numeric:
    """Resistance of the dried layer to vapour [m/s].

    depth: path through the dried layer per outer area [m]
    r0: resistance at zero depth [m/s]
    a1: rise with depth [1/s]
    a2: saturation [1/m]
    Valid: depth from 0.
    Source: drying-notes, moving front model.

    >>> f"{layer_resistance(0.01, 1e4, 5e7, 0.0):.3g}"
    '5.1e+05'
    """
    check_range("depth", depth, 0, 10, "m")
    return r0 + a1 * depth / (1 + a2 * depth)


def layer_conductivity(pressure: Numeric, vacuum: float, gas: float, half_pressure: float) -> Numeric:
    """Conductivity of the dried layer at a chamber pressure [W/(m K)].

    pressure: in the chamber [Pa]
    vacuum: conductivity without gas [W/(m K)]
    gas: its rise in plenty of gas [W/(m K)]
    half_pressure: pressure at half the rise [Pa]
    Valid: 0 to 101325 Pa.
    Source: harper1964, transition law.
    Two rises, one law: in plenty of gas a layer gains the conductivity of the gas in its pores. Foods were measured
    in air (0.025 to 0.027); a dryer's pores hold vapour, which carries two thirds of that (0.017), and classes.toml has
    that one. The half pressure follows the size of the pores; it was measured in air and is kept for vapour, whose
    molecules meet more often: there it may be a third lower.
    Known error: published values for one food differ by up to 40%.

    >>> f"{layer_conductivity(187.0, 0.0156, 0.025, 215.0):.4f}"
    '0.0272'
    """
    check_range("pressure", pressure, 0, 2e5, "Pa")
    return vacuum + gas * pressure / (pressure + half_pressure)


def layer_depth(shape: str, length: float, dried: Numeric) -> Numeric:
    """Path through the dried layer per outer area [m].

    shape: slab, stick, sphere or cube
    length: slab: thickness that dries to one face; stick: radius; sphere: radius; cube: half the edge [m]
    dried: share of the ice that is gone [-]
    Valid: dried from 0 to below 1.
    Source: drying-notes, moving front in slab, cylinder and sphere.

    >>> f"{layer_depth('sphere', 0.01, 0.875):.4f}"
    '0.0100'
    """
    if shape not in SHAPES:
        raise unknown("shape", shape, SHAPES, msg("shape"))
    check_range("dried", dried, 0, 1, "", msg("the share of the ice that is gone"))
    left: Numeric = 1.0 - dried
    if shape == "slab":
        return length * dried
    if shape == "stick":
        result: Numeric = -0.5 * length * np.log(left)
        return result
    return length * (left ** (-1.0 / 3.0) - 1.0)


def target_moisture(food: Food) -> float:
    """Residual moisture to aim for, wet basis [-].

    Food with much fat holds little water: what is dry for lean food of its class leaves it damp. So the usual moisture
    of the class holds only while it keeps the water activity at or below `TARGET_ACTIVITY`.

    food: the food; its fat and its isotherm decide
    Source: target-practice, 1 to 3% for fruit and vegetables, 1 to 2% for meat and egg.

    >>> from drystow.foods.model import Composition
    >>> lean = Composition(water=0.9, protein=0.034, fat=0.001, carbohydrate=0.05, ash=0.015, sugars=0.05)
    >>> cream = Composition(water=0.58, protein=0.03, fat=0.36, carbohydrate=0.025, ash=0.005, sugars=0.025)
    >>> print(*(f"{target_moisture(Food('own', 'milk', 'dairy', milk)):.1%}" for milk in (lean, cream)))
    2.5% 0.6%
    """
    usual = float(class_row(food.food_class)["target"])
    if food.composition.solids <= 0.0:
        return usual
    held = float(moisture_at(isotherm_for(food), TARGET_ACTIVITY))
    return min(usual, held / (1.0 + held))

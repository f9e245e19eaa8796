"""Density, heat capacity, conductivity and enthalpy of whole foods, unfrozen and frozen, from their composition.

Component equations hold from -40 to 150 °C; colder or warmer foods get the value at that end.
"""

from collections.abc import Callable

import numpy as np

from drystow.constants import FUSION_HEAT, ZERO_CELSIUS
from drystow.errors import check_range
from drystow.foods.model import PARTS, Composition
from drystow.messages import msg
from drystow.numerics import Array, Numeric
from drystow.properties import components
from drystow.properties.ice import REFERENCE, bound_water, ice_fraction

ROOM = 293.15
"""Temperature at which dried food is packed [K]. Source: definition."""

PROTEIN_GLASS = 260.15
"""Below it the water that protein binds is glass and takes up heat like ice, above it like liquid, -13 °C [K].
Source: belitz, table 0.7 (gelatin -13.5, albumin -13, casein -12.5 °C); heat as of ice there: riedel1957."""

MORE_ICE = msg("it can't be more than the food's water")


def _masses(composition: Composition, ice: Numeric) -> dict[str, Numeric]:
    check_range("ice", ice, 0, composition.water + 1e-12, "", hint=MORE_ICE)
    masses: dict[str, Numeric] = {part: getattr(composition, part) for part in PARTS}
    masses["water"] = composition.water - ice
    masses["ice"] = ice
    return masses


def _at(component: str, temperature: Numeric) -> Numeric:
    warmest = ZERO_CELSIUS if component == "ice" else components.HIGHEST
    clipped: Numeric = np.clip(temperature, components.LOWEST, warmest)
    return clipped


def _volumes(composition: Composition, temperature: Numeric, ice: Numeric) -> dict[str, Numeric]:
    return {
        part: mass / components.density(part, _at(part, temperature))
        for part, mass in _masses(composition, ice).items()
    }


def _glassy(composition: Composition, ice: Numeric) -> Numeric:
    """Return the water that is glass in the cold, never more than what is not ice [-]."""
    held: Numeric = np.minimum(bound_water(composition), composition.water - ice)
    return held


def _total(values: dict[str, Numeric]) -> Numeric:
    result: Numeric = 0.0
    for value in values.values():
        result = result + value
    return result


def density(composition: Composition, temperature: Numeric, ice: Numeric = 0.0, porosity: float = 0.0) -> Numeric:
    """Density of a food [kg/m3].

    composition: of the food
    temperature: of the food [K]
    ice: mass per mass of food [-]
    porosity: air by volume (apple about 0.2) [-]
    Valid: -40 to 150 °C.
    Source: choi-okos, ashrae-ch19 mixture rule.

    >>> lamb = Composition(water=0.7342, protein=0.2029, fat=0.0525, ash=0.0106)
    >>> print(f"{density(lamb, 278.15):.0f}")
    1052
    """
    check_range("porosity", porosity, 0, 0.99, "")
    return (1.0 - porosity) / _total(_volumes(composition, temperature, ice))


def fresh_density(composition: Composition, porosity: float = 0.0) -> float:
    """Density of the fresh food at 20 °C [kg/m3].

    composition: of the food
    porosity: air by volume (apple about 0.2) [-]
    Source: choi-okos.
    """
    return float(density(composition, ROOM, porosity=porosity))


def true_density(composition: Composition, water: float) -> float:
    """Density of the dried food's substance without any pores, at 20 °C [kg/m3].

    composition: of the food, fresh or dried
    water: residual moisture, wet basis [-]
    Source: choi-okos.
    Error: additive volumes; glassy solids are up to 3% denser.

    >>> apple = Composition(water=0.86, carbohydrate=0.115, fibre=0.02, protein=0.003, ash=0.002, sugars=0.10)
    >>> print(f"{true_density(apple, 0.02):.0f}")
    1528
    """
    return float(density(composition.with_water(water), ROOM))


def heat_capacity(composition: Composition, temperature: Numeric, ice: Numeric = 0.0) -> Numeric:
    """Heat capacity of a food while no more ice forms or melts [J/kg/K].

    composition: of the food
    temperature: of the food [K]
    ice: mass per mass of food [-]
    Valid: -40 to 150 °C.
    Source: choi-okos, ashrae-ch19 mixture rule.

    >>> lamb = Composition(water=0.7342, protein=0.2029, fat=0.0525, ash=0.0106)
    >>> print(f"{heat_capacity(lamb, 278.15):.0f}")
    3591
    """
    masses = _masses(composition, ice)
    parts = {part: mass * components.heat_capacity(part, _at(part, temperature)) for part, mass in masses.items()}
    liquid, solid = (components.heat_capacity(part, _at(part, temperature)) for part in ("water", "ice"))
    glass = np.where(np.asarray(temperature) < PROTEIN_GLASS, _glassy(composition, ice) * (liquid - solid), 0.0)
    value: Numeric = (_total(parts) - glass)[()]
    return value


def conductivity_parallel(composition: Composition, temperature: Numeric, ice: Numeric = 0.0) -> Numeric:
    """Conductivity of a food with its parts side by side: the upper bound [W/m/K].

    composition: of the food
    temperature: of the food [K]
    ice: mass per mass of food [-]
    Valid: -40 to 150 °C.
    Source: choi-okos, ashrae-ch19 parallel model.
    """
    volumes = _volumes(composition, temperature, ice)
    flow = {part: volume * components.conductivity(part, _at(part, temperature)) for part, volume in volumes.items()}
    return _total(flow) / _total(volumes)


def conductivity_series(composition: Composition, temperature: Numeric, ice: Numeric = 0.0) -> Numeric:
    """Conductivity of a food with its parts one behind the other: the lower bound [W/m/K].

    composition: of the food
    temperature: of the food [K]
    ice: mass per mass of food [-]
    Valid: -40 to 150 °C.
    Source: choi-okos, ashrae-ch19 series model.
    """
    volumes = _volumes(composition, temperature, ice)
    hold = {part: volume / components.conductivity(part, _at(part, temperature)) for part, volume in volumes.items()}
    return _total(volumes) / _total(hold)


def conductivity_maxwell(composition: Composition, temperature: Numeric, ice: Numeric = 0.0) -> Numeric:
    """Conductivity of a food with ice grains inside the unfrozen rest, after Maxwell and Eucken [W/m/K].

    composition: of the food
    temperature: of the food [K]
    ice: mass per mass of food [-]
    Valid: -40 to 150 °C; too low when ice is most of the volume.
    Source: ashrae-ch19.
    """
    k, grain, share = _two_phases(composition, temperature, ice)
    return k * (2.0 * k + grain - 2.0 * share * (k - grain)) / (2.0 * k + grain + share * (k - grain))


def conductivity_levy(composition: Composition, temperature: Numeric, ice: Numeric = 0.0) -> Numeric:
    """Conductivity of a food with ice and the unfrozen rest, neither of them the inside one, after Levy [W/m/K].

    composition: of the food
    temperature: of the food [K]
    ice: mass per mass of food [-]
    Valid: -40 to 150 °C.
    Source: levy1981, equations as in ashrae-ch19; the best of the models compared by Fricke and Becker (2001).
    Error: 10 to 20% against measured frozen foods.
    """
    k, grain, share = _two_phases(composition, temperature, ice)
    ratio = grain / k
    sigma = (ratio - 1.0) ** 2 / ((ratio + 1.0) ** 2 + ratio / 2.0)
    term = 2.0 / sigma - 1.0 + 2.0 * share
    inside = 0.5 * (term - np.sqrt(term**2 - 8.0 * share / sigma))
    result: Numeric = k * ((2.0 + ratio) + 2.0 * (ratio - 1.0) * inside) / ((2.0 + ratio) - (ratio - 1.0) * inside)
    return result


CONDUCTIVITY_MODELS: dict[str, Callable[..., Numeric]] = {
    "levy": conductivity_levy,
    "maxwell": conductivity_maxwell,
    "parallel": conductivity_parallel,
    "series": conductivity_series,
}
"""Rival models of a mixture's conductivity, by author or arrangement; the first is the usual choice."""


def conductivity(composition: Composition, temperature: Numeric, ice: Numeric = 0.0) -> Numeric:
    """Conductivity of a food by the usual model, Levy's [W/m/K].

    composition: of the food
    temperature: of the food [K]
    ice: mass per mass of food [-]
    Valid: -40 to 150 °C.
    Source: levy1981.

    >>> lamb = Composition(water=0.7342, protein=0.2029, fat=0.0525, ash=0.0106)
    >>> print(f"{conductivity(lamb, 253.15, ice=0.62):.2f} {conductivity(lamb, 278.15):.2f}")
    1.33 0.49
    """
    return conductivity_levy(composition, temperature, ice)


def frozen_conductivity(composition: Composition, freezing_point: float, temperature: float) -> float:
    """Conductivity of the frozen food with the ice that it has at this temperature [W/m/K].

    composition: of the food
    freezing_point: where the first ice forms [K]
    temperature: of the food [K]
    Source: levy1981.
    """
    return float(conductivity_levy(composition, temperature, ice_fraction(composition, freezing_point, temperature)))


def _two_phases(composition: Composition, temperature: Numeric, ice: Numeric) -> tuple[Numeric, Numeric, Numeric]:
    some_left: Numeric = np.minimum(ice, composition.water * (1.0 - 1e-9))
    volumes = _volumes(composition, temperature, some_left)
    share = volumes["ice"] / _total(volumes)
    del volumes["ice"]
    flow = {part: volume * components.conductivity(part, _at(part, temperature)) for part, volume in volumes.items()}
    return _total(flow) / _total(volumes), components.conductivity("ice", _at("ice", temperature)), share


def enthalpy_curve(composition: Composition, freezing_point: float, temperatures: Numeric) -> Numeric:
    """Enthalpy of a food above that at -40 °C, with the ice of `ice_fraction` [J/kg].

    composition: of the food
    freezing_point: where the first ice forms [K]
    temperatures: of the food [K]
    Freezing before drying and thawing in a power cut take their heat from it; `enthalpy_chen` and
    `enthalpy_schwartzberg` are closed forms to compare with.

    Valid: -60 to 150 °C; rises with temperature everywhere.
    Source: choi-okos, chen1985; heat of fusion at 0 °C, below it follows from the heat capacities of water and ice.
    Error: 10% below -20 °C for meat; 20% for sugary fruit, whose last ice forms below -20 °C, not above as here.

    >>> lamb = Composition(water=0.7342, protein=0.2029, fat=0.0525, ash=0.0106)
    >>> print(f"{enthalpy_curve(lamb, 271.25, 273.15) / 1e3:.0f}")
    291
    """

    def total(temperature: Numeric) -> Numeric:
        ice = ice_fraction(composition, freezing_point, temperature)
        heat = {part: m * components.enthalpy(part, temperature) for part, m in _masses(composition, ice).items()}
        cold = np.minimum(temperature, PROTEIN_GLASS)
        liquid, solid = (
            components.enthalpy(part, cold) - components.enthalpy(part, PROTEIN_GLASS) for part in ("water", "ice")
        )
        return _total(heat) - _glassy(composition, ice) * (liquid - solid) - ice * FUSION_HEAT

    return total(temperatures) - total(REFERENCE)


def enthalpy_table(
    composition: Composition, freezing_point: float, coldest: float = 213.15, warmest: float = 353.15
) -> tuple[Array, Array]:
    """Return temperatures [K] and enthalpies [J/kg], both rising, dense where the ice forms, for interpolation.

    composition: of the food
    freezing_point: where the first ice forms [K]
    coldest: first temperature of the table [K]
    warmest: last temperature of the table [K]
    """
    below = freezing_point - np.geomspace(1e-4, freezing_point - coldest, 400)
    above = np.linspace(freezing_point, warmest, 60)
    temperatures = np.concatenate([below[::-1], above])
    return temperatures, np.asarray(enthalpy_curve(composition, freezing_point, temperatures))


def temperature_of(enthalpy: Numeric, table: tuple[Array, Array]) -> Numeric:
    """Temperature of a food with this enthalpy [K].

    enthalpy: above that at -40 °C [J/kg]
    table: temperatures and enthalpies from `enthalpy_table`
    Valid: inside the table; beyond its ends the end's temperature.
    Source: definition, linear interpolation.
    """
    temperature: Numeric = np.interp(enthalpy, table[1], table[0])
    return temperature

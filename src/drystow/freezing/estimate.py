"""Closed formulas for freezing time, beside the one-dimensional model as checks."""

from collections.abc import Mapping
from typing import TypeVar

from drystow.constants import FUSION_HEAT, ZERO_CELSIUS
from drystow.errors import check_range, unknown
from drystow.messages import msg
from drystow.numerics import Numeric

Known = TypeVar("Known")

PLANK = {
    # shape: (P, R) for the whole thickness or diameter
    "slab": (1 / 2, 1 / 8),
    "stick": (1 / 4, 1 / 16),
    "sphere": (1 / 6, 1 / 24),
    "cube": (1 / 6, 1 / 24),
}
HEAT_DIMENSIONS = {"slab": 1.0, "stick": 2.0, "sphere": 3.0, "cube": 3.0}
"""Equivalent heat-transfer dimension E of each shape [-]. Source: ashrae-ch19."""


def freezing_time_plank(
    shape: str,
    thickness: Numeric,
    density: Numeric,
    latent_heat: Numeric,
    freezing_point: Numeric,
    air_temperature: Numeric,
    h: Numeric,
    conductivity: Numeric,
) -> Numeric:
    """Freezing time by Plank, cooled from all sides [s].

    shape: slab, stick, sphere or cube
    thickness: whole thickness, diameter or edge [m]
    density: of the food [kg/m3]
    latent_heat: heat of freezing per food mass [J/kg]
    freezing_point: initial freezing point [K]
    air_temperature: of the cold air or plate [K]
    h: surface heat transfer [W/(m2 K)]
    conductivity: of the frozen food [W/(m K)]
    Valid: freezing point above the air temperature.
    Source: plank1913, with P and R of slab, cylinder and sphere.
    Known error: neglects cooling before and after freezing, so it is short by 10 to 30%.

    >>> f"{freezing_time_plank('sphere', 0.07, 1000, 250e3, 271.9, 233.15, 50, 1.2):.0f}"
    '2603'
    """
    p, r = _known(PLANK, shape)
    check_range("thickness", thickness, 0, 1, "m", above=True)
    difference = freezing_point - air_temperature
    check_range(
        "air_temperature", difference, 0, 300, "K", msg("the air must be colder than the freezing point"), above=True
    )
    return density * latent_heat / difference * (p * thickness / h + r * thickness**2 / conductivity)


def freezing_time_pham(
    shape: str,
    thickness: Numeric,
    density_unfrozen: Numeric,
    density_frozen: Numeric,
    water: Numeric,
    heat_capacity_unfrozen: Numeric,
    heat_capacity_frozen: Numeric,
    start_temperature: Numeric,
    end_temperature: Numeric,
    air_temperature: Numeric,
    h: Numeric,
    conductivity: Numeric,
    latent_heat_water: float = FUSION_HEAT,
) -> Numeric:
    """Freezing time to a final core temperature by Pham's simplified method, cooled from all sides [s].

    shape: slab, stick, sphere or cube
    thickness: whole thickness, diameter or edge [m]
    density_unfrozen: of the fresh food [kg/m3]
    density_frozen: of the frozen food [kg/m3]
    water: water fraction of the food [-]
    heat_capacity_unfrozen: of the fresh food [J/(kg K)]
    heat_capacity_frozen: of the frozen food [J/(kg K)]
    start_temperature: of the food [K]
    end_temperature: wished at the core [K]
    air_temperature: of the cold air or plate [K]
    h: surface heat transfer [W/(m2 K)]
    conductivity: of the frozen food [W/(m K)]
    latent_heat_water: heat of fusion of water [J/kg]
    Valid: air from -45 to -15 °C, start up to 40 °C, Biot number 0.02 to 11.
    Source: pham1986, five-step method.
    Known error: about 10% for water-rich foods.

    >>> t = freezing_time_pham("sphere", 0.07, 1000, 950, 0.75, 3600, 1800, 283.15, 255.15, 233.15, 50, 1.2, 333.2e3)
    >>> f"{t:.0f}"
    '3743'
    """
    dimension = _known(HEAT_DIMENSIONS, shape)
    check_range("thickness", thickness, 0, 1, "m", above=True)
    half = 0.5 * thickness
    air = air_temperature - ZERO_CELSIUS
    mean_freezing = 1.8 + 0.263 * (end_temperature - ZERO_CELSIUS) + 0.105 * air
    start = start_temperature - ZERO_CELSIUS
    cooling = density_unfrozen * heat_capacity_unfrozen * (start - mean_freezing)
    freezing = density_frozen * (
        water * latent_heat_water + heat_capacity_frozen * (mean_freezing - (end_temperature - ZERO_CELSIUS))
    )
    first = 0.5 * (start + mean_freezing) - air
    second = mean_freezing - air
    check_range(
        "air_temperature", second, 0, 300, "K", msg("the air must be colder than the food's freezing zone"), above=True
    )
    biot = h * half / conductivity
    return half / (dimension * h) * (cooling / first + freezing / second) * (1 + 0.5 * biot)


def _known(table: Mapping[str, Known], shape: str) -> Known:
    if shape not in table:
        raise unknown("shape", shape, table, msg("shape"))
    return table[shape]

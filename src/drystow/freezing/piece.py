"""How long one piece of food takes to freeze, from its composition."""

from dataclasses import dataclass

import numpy as np

from drystow.errors import check_range, unknown
from drystow.foods.model import Composition
from drystow.freezing.conduction import GEOMETRY, STEPS_PER_EVENT, freeze
from drystow.freezing.estimate import freezing_time_plank
from drystow.messages import msg
from drystow.numerics import Array
from drystow.numerics.remembered import remembered
from drystow.properties import thermal
from drystow.properties.ice import ice_fraction

COLDEST, WARMEST, SPACING = 203.15, 373.15, 0.5  # of the property tables [K]


@dataclass(frozen=True)
class Freezing:
    """How a piece froze.

    time: until its warmest point was at the wished temperature, NaN when never [s]
    mean_temperature: of the piece then [K]
    core_temperature: warmest point then [K]
    heat: heat removed per mass of food [J/kg]
    """

    time: float
    mean_temperature: float
    core_temperature: float
    heat: float


@remembered(1024)  # changing one tray of a load leaves the others as they were
def freeze_piece(
    composition: Composition,
    freezing_point: float,
    shape: str,
    size: float,
    density: float,
    start_temperature: float,
    end_temperature: float,
    air_temperature: float,
    h_air: float,
    h_base: float,
    longest: float,
    steps: int = STEPS_PER_EVENT,
) -> Freezing:
    """Freeze a slab, stick, sphere or cube in one dimension by the enthalpy method.

    composition: of the food
    freezing_point: where the first ice forms [K]
    shape: slab, stick, sphere or cube; a cube freezes like the sphere of its width
    size: thickness, diameter or edge [m]
    density: of the food [kg/m3]
    start_temperature: of the food [K]
    end_temperature: wished at the warmest point [K]
    air_temperature: of the cold air and the tray below [K]
    h_air: heat transfer at the free surface [W/(m2 K)]
    h_base: heat transfer at the base of a slab [W/(m2 K)]
    longest: give up after this time [s]
    steps: time steps that the expected freezing time is cut into [-]
    Valid: end temperature above the air's; tables from -70 to 100 °C.
    Source: mannapperuma1988, enthalpy formulation.
    """
    if shape not in GEOMETRY:
        raise unknown("shape", shape, GEOMETRY, msg("shape"))
    check_range("end_temperature", end_temperature - air_temperature, 0, 300, msg("K above the air"), above=True)
    if start_temperature <= end_temperature:
        return Freezing(0.0, start_temperature, start_temperature, 0.0)
    temperatures, enthalpy, conductivity = _tables(composition, freezing_point)
    latent = float(
        np.interp(freezing_point, temperatures, enthalpy) - np.interp(end_temperature, temperatures, enthalpy)
    )
    h_mean = 0.5 * (h_air + h_base) if shape == "slab" else h_air
    colder = max(freezing_point - air_temperature, 1.0)
    expected = float(
        freezing_time_plank(shape, size, density, latent, air_temperature + colder, air_temperature, h_mean, 1.2)
    )
    time, mean, core = freeze(
        GEOMETRY[shape],
        size if shape == "slab" else 0.5 * size,
        density,
        COLDEST,
        SPACING,
        enthalpy,
        conductivity,
        start_temperature,
        end_temperature,
        air_temperature,
        h_air,
        h_base,
        expected / steps,
        longest,
    )
    removed = float(np.interp(start_temperature, temperatures, enthalpy) - np.interp(mean, temperatures, enthalpy))
    return Freezing(float(time), float(mean), float(core), removed)


@remembered(256)
def _tables(composition: Composition, freezing_point: float) -> tuple[Array, Array, Array]:
    temperatures = np.arange(COLDEST, WARMEST + SPACING, SPACING)
    ice = ice_fraction(composition, freezing_point, temperatures)
    enthalpy = np.asarray(thermal.enthalpy_curve(composition, freezing_point, temperatures), dtype=float)
    conductivity = np.asarray(thermal.conductivity(composition, temperatures, ice), dtype=float)
    return temperatures, enthalpy, conductivity

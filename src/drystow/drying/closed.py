"""Closed formulas for the front and the time, beside the simulator as checks."""

from drystow.errors import check_range
from drystow.numerics import Numeric
from drystow.properties.water import ice_vapour_pressure


def front_temperature_dried_side(
    surface_temperature: float, chamber_pressure: float, conductivity: float, permeability: float, sublimation: float
) -> float:
    """Temperature of an ice front heated through its own dried layer [K].

    surface_temperature: of the dried surface [K]
    chamber_pressure: water vapour at the surface [Pa]
    conductivity: of the dried layer [W/(m K)]
    permeability: of the dried layer [s]
    sublimation: heat of sublimation [J/kg]
    Valid: surface warmer than the ice at chamber pressure; front from 150 K to 273.15 K.
    Source: fellows, interface relation; also fd-encyclopedia, coffee figure.
    Known error: independent of the depth, since heat and vapour cross the same layer.

    >>> f"{front_temperature_dried_side(303.15, 12.93, 0.035, 2.625e-8, 2.84e6):.1f}"
    '243.8'
    """
    check_range("conductivity", conductivity, 0, 1, "W/(m K)", above=True)
    check_range("permeability", permeability, 0, 1e-3, "s", above=True)
    slope = conductivity / (permeability * sublimation)
    low, high = 150.0, min(surface_temperature, 273.15)
    for _ in range(80):
        middle = 0.5 * (low + high)
        if float(ice_vapour_pressure(middle)) < chamber_pressure + slope * (surface_temperature - middle):
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def drying_time_heat_through_layer(
    density: Numeric,
    moisture_start: Numeric,
    moisture_end: Numeric,
    sublimation: Numeric,
    thickness: Numeric,
    conductivity: Numeric,
    surface_temperature: Numeric,
    front_temperature: Numeric,
) -> Numeric:
    """Time to dry a slab from both faces with all heat crossing the dried layer [s].

    density: of the dry solids in the layer [kg/m3]
    moisture_start: dry basis [-]
    moisture_end: dry basis [-]
    sublimation: heat of sublimation [J/kg]
    thickness: of the whole slab [m]
    conductivity: of the dried layer [W/(m K)]
    surface_temperature: of the dried faces [K]
    front_temperature: of the ice [K]
    Valid: surface warmer than the front.
    Source: fellows, drying time formula.

    >>> f"{drying_time_heat_through_layer(470, 4.0, 0.08, 2.95e6, 0.005, 0.03, 328.15, 238.47):.0f}"
    '6313'
    """
    water = density * (moisture_start - moisture_end)
    return water * sublimation * thickness**2 / (8 * conductivity * (surface_temperature - front_temperature))


def drying_time_vapour_through_layer(
    water_per_volume: Numeric, thickness: Numeric, permeability: Numeric, front_pressure: Numeric, chamber: Numeric
) -> Numeric:
    """Time for the front to cross a slab dried from one face at a constant front temperature [s].

    water_per_volume: ice in the layer [kg/m3]
    thickness: of the slab [m]
    permeability: of the dried layer [s]
    front_pressure: of the ice at the front [Pa]
    chamber: pressure in the chamber [Pa]
    Valid: front pressure above the chamber's.
    Source: singh-heldman, King's form without the surface term.

    >>> f"{drying_time_vapour_through_layer(800, 0.01, 2e-8, 120, 20) / 3600:.1f}"
    '5.6'
    """
    return water_per_volume * thickness**2 / (2 * permeability * (front_pressure - chamber))

"""Ice, water and vapour: pressures, heats and the largest flow through an opening.

The bare formulas (leading underscore) use only NumPy functions and arithmetic, so that the time-stepper can compile
these very functions; the public ones check the range first.
"""

import numpy as np

from drystow.constants import VAPOUR_GAS_CONSTANT, WATER_MOLAR_MASS
from drystow.errors import CELSIUS_HINT, check_range
from drystow.messages import msg
from drystow.numerics import Numeric

TRIPLE_POINT = 273.16
"""Triple point of water [K]. Source: iapws-triple-point."""

TRIPLE_POINT_PRESSURE = 611.657
"""Pressure at the triple point [Pa]. Source: iapws-triple-point."""

VAPOUR_HEAT_RATIO = 1.33
"""Ratio of heat capacities of water vapour [-]. Source: choked-flow."""

MBAR_HINT = msg("is it in mbar or mTorr?")


def _ice_vapour_pressure(temperature: Numeric) -> Numeric:
    pressure: Numeric = np.exp(
        9.550426 - 5723.265 / temperature + 3.53068 * np.log(temperature) - 0.00728332 * temperature
    )
    return pressure


def _sublimation_heat(temperature: Numeric) -> Numeric:
    molar: Numeric = (
        46782.5
        + 35.8925 * temperature
        - 0.07414 * temperature * temperature
        + 541.5 * np.exp(-(temperature / 123.75) * (temperature / 123.75))
    )
    return molar / WATER_MOLAR_MASS


def _liquid_vapour_pressure(temperature: Numeric) -> Numeric:
    r = 1.0 - temperature / 647.096
    root = np.sqrt(r)  # half powers by a root: the time-stepper asks a million times
    cube = r * r * r
    series = (
        -7.85951783 * r
        + 1.84408259 * r * root
        - 11.7866497 * cube
        + 22.6807411 * cube * root
        - 15.9618719 * cube * r
        + 1.80122502 * cube * cube * r * root
    )
    pressure: Numeric = 22.064e6 * np.exp(647.096 / temperature * series)
    return pressure


def _choked_mass_flux(pressure: Numeric, temperature: Numeric) -> Numeric:
    g = VAPOUR_HEAT_RATIO
    factor = (2.0 / (g + 1.0)) ** ((g + 1.0) / (2.0 * (g - 1.0)))
    flux: Numeric = pressure * np.sqrt(g / (VAPOUR_GAS_CONSTANT * temperature)) * factor
    return flux


def ice_vapour_pressure(temperature: Numeric) -> Numeric:
    """Vapour pressure of water over ice [Pa].

    temperature: of the ice surface [K]
    Valid: 110 to 273.16 K.
    Source: murphy2005, eq. 7.
    Error: within 0.06% of the IAPWS sublimation curve from 200 K up.

    >>> print(f"{ice_vapour_pressure(233.15):.2f}")
    12.84
    """
    check_range("temperature", temperature, 110, TRIPLE_POINT, "K", hint=CELSIUS_HINT)
    return _ice_vapour_pressure(temperature)


def sublimation_heat(temperature: Numeric) -> Numeric:
    """Heat that turns ice into vapour of the same temperature [J/kg].

    temperature: of the ice surface [K]
    Valid: 110 to 273.16 K.
    Source: murphy2005, eq. 5.
    Error: within 0.03% of the Gibbs functions of ice and vapour.

    >>> print(f"{sublimation_heat(253.15):.4g}")
    2.838e+06
    """
    check_range("temperature", temperature, 110, TRIPLE_POINT, "K", hint=CELSIUS_HINT)
    return _sublimation_heat(temperature)


def ice_temperature(pressure: Numeric) -> Numeric:
    """Temperature of ice whose vapour pressure is given [K].

    pressure: vapour pressure over the ice [Pa]
    Valid: 1e-8 to 611.657 Pa (about 128 to 273.16 K).
    Source: murphy2005, eq. 7 inverted by Newton's method to 1e-9 K.

    >>> print(f"{ice_temperature(50.0):.2f}")
    245.81
    """
    check_range("pressure", pressure, 1e-8, TRIPLE_POINT_PRESSURE + 1e-4, "Pa", hint=MBAR_HINT)
    logarithm: Numeric = np.log(pressure)
    temperature: Numeric = 6141.0 / (28.9 - logarithm)
    for _ in range(8):
        miss = np.log(_ice_vapour_pressure(temperature)) - logarithm
        slope = 5723.265 / temperature**2 + 3.53068 / temperature - 0.00728332
        temperature = temperature - miss / slope
    return temperature


def water_vapour_pressure_liquid(temperature: Numeric) -> Numeric:
    """Vapour pressure of water over liquid, below 0 °C over undercooled liquid [Pa].

    temperature: of the liquid surface [K]
    Valid: 200 to 473.15 K; below 273.16 K the equation is extrapolated.
    Source: iapws-saturation, eq. 2.5.
    Error: 0.01% above 0 °C; undercooled 0.1% at 253 K, 0.7% at 233 K, 10% at 200 K (Murphy and Koop eq. 10).

    >>> print(f"{water_vapour_pressure_liquid(298.15):.0f}")
    3170
    """
    check_range("temperature", temperature, 200, 473.15, "K", hint=CELSIUS_HINT)
    return _liquid_vapour_pressure(temperature)


def choked_mass_flux(pressure: Numeric, temperature: Numeric) -> Numeric:
    """Largest flow of vapour through an opening, per area [kg/m2/s].

    pressure: of the vapour before the opening [Pa]
    temperature: of the vapour before the opening [K]
    Valid: continuum flow of an ideal gas; real openings pass 0.6 to 0.9 of it.
    Source: choked-flow.

    >>> print(f"{choked_mass_flux(100.0, 293.0):.3f}")
    0.183
    """
    check_range("pressure", pressure, 0, 1e6, "Pa")
    check_range("temperature", temperature, 110, 1000, "K", hint=CELSIUS_HINT)
    return _choked_mass_flux(pressure, temperature)

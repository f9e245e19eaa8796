"""How moist a dried food is in equilibrium with air or vapour: GAB isotherms.

The bare formulas (leading underscore) are plain arithmetic, so that the time-stepper can compile these very functions.
"""

from dataclasses import dataclass

import numpy as np

from drystow.constants import GAS_CONSTANT, ZERO_CELSIUS
from drystow.errors import CELSIUS_HINT, InputError, check_range
from drystow.foods.kinds import property_of
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.numerics import Numeric
from drystow.properties.water import _liquid_vapour_pressure

REFERENCE_TEMPERATURE = 298.15
"""Temperature of the isotherm constants, 25 °C [K]. Source: drystow-default."""

HIGHEST_ACTIVITY = 0.95
"""No isotherm is evaluated above this water activity [-]. Source: drystow-default."""

HIGHEST_KA = 0.90
"""Nor where k times the water activity exceeds this: GAB runs to infinity at 1 [-]. Source: drystow-default."""

PERCENT_HINT = msg("write 0.3 for 30%")
DRY_BASIS = msg("write 0.05 for 5 g per 100 g dry solids")


@dataclass(frozen=True)
class Isotherm:
    """Sorption of water by one food at 25 °C, with its dependence on temperature.

    Constants measured at another temperature enter as those at 25 °C: the same moisture has a water activity that
    differs by one factor, so k times water activity, and with it monolayer and c, stay the same.

    monolayer: water of the first layer, dry basis [-]
    c: GAB constant of the first layer [-]
    k: GAB constant of the layers above [-]
    source: key in sources.toml
    mark: how the constants are known
    low: lowest water activity they were fitted over, as at 25 °C [-]
    high: highest water activity they were fitted over, as at 25 °C [-]
    desorption_heat: heat of sorption beyond that of vaporisation [J/mol]
    monolayer_sd: standard deviation of the monolayer [-]
    note: a sentence on what is borrowed or scaled
    measured_at: temperature of the measurement [K]
    """

    monolayer: float
    c: float
    k: float
    source: str
    mark: str
    low: float
    high: float
    desorption_heat: float
    monolayer_sd: float
    note: str = ""
    measured_at: float = REFERENCE_TEMPERATURE


def _gab_moisture(water_activity: Numeric, monolayer: Numeric, c: Numeric, k: Numeric) -> Numeric:
    ka = k * water_activity
    return monolayer * c * ka / ((1.0 - ka) * (1.0 - ka + c * ka))


def _gab_water_activity(moisture: Numeric, monolayer: Numeric, c: Numeric, k: Numeric) -> Numeric:
    b = monolayer * c - (c - 2.0) * moisture
    ka: Numeric = 2.0 * moisture / (b + np.sqrt(b * b + 4.0 * (c - 1.0) * moisture * moisture))
    return ka / k


def _activity_at_reference(water_activity: Numeric, temperature: Numeric, desorption_heat: Numeric) -> Numeric:
    shift: Numeric = np.exp(-desorption_heat / GAS_CONSTANT * (1.0 / REFERENCE_TEMPERATURE - 1.0 / temperature))
    return water_activity * shift


def gab_moisture(water_activity: Numeric, monolayer: float, c: float, k: float) -> Numeric:
    """Moisture in equilibrium with a water activity [-], kg water per kg dry solids.

    water_activity: of the food or the air around it [-]
    monolayer: water of the first layer, dry basis [-]
    c: GAB constant of the first layer [-]
    k: GAB constant of the layers above [-]
    Valid: 0 up to, not including, 1/k; trust it only inside the range the constants were fitted over.
    Source: gab.

    >>> print(f"{gab_moisture(0.328, 0.03979, 12.524, 0.770):.4f}")
    0.0431
    """
    _check_constants(monolayer, c, k)
    check_range("water_activity", water_activity, 0, min(1.0, (1.0 - 1e-9) / k), "", hint=PERCENT_HINT)
    return _gab_moisture(water_activity, monolayer, c, k)


def gab_water_activity(moisture: Numeric, monolayer: float, c: float, k: float) -> Numeric:
    """Water activity at which the food has this moisture [-].

    moisture: dry basis, kg water per kg dry solids [-]
    monolayer: water of the first layer, dry basis [-]
    c: GAB constant of the first layer [-]
    k: GAB constant of the layers above [-]
    Valid: any moisture; results above the fitted range (or above 1) mean wetter than the isotherm knows.
    Source: gab, closed inverse with the root between 0 and 1/k.

    >>> print(f"{gab_water_activity(0.0431, 0.03979, 12.524, 0.770):.3f}")
    0.329
    """
    _check_constants(monolayer, c, k)
    check_range("moisture", moisture, 0, 100, "", hint=DRY_BASIS)
    return _gab_water_activity(moisture, monolayer, c, k)


def gab_slope(water_activity: Numeric, monolayer: float, c: float, k: float) -> Numeric:
    """Slope of the isotherm [-], moisture on dry basis per water activity.

    water_activity: where the slope is taken [-]
    monolayer: water of the first layer, dry basis [-]
    c: GAB constant of the first layer [-]
    k: GAB constant of the layers above [-]
    Valid: 0 up to, not including, 1/k.
    Source: gab, differentiated.

    >>> print(f"{gab_slope(0.2, 0.08, 5.0, 1.05):.3f}")
    0.234
    """
    _check_constants(monolayer, c, k)
    check_range("water_activity", water_activity, 0, min(1.0, (1.0 - 1e-9) / k), "", hint=PERCENT_HINT)
    ka = k * water_activity
    denominator = (1.0 - ka) * (1.0 - ka + c * ka)
    return monolayer * c * k * (1.0 + (c - 1.0) * ka * ka) / (denominator * denominator)


def isotherm_for(food: Food) -> Isotherm:
    """Return a food's isotherm: measured where one is known of a kind that it is like, else its class's.

    Fat holds no water.

    food: the food
    Valid: below the lowest fitted water activity (about 0.1) nothing was measured, and the last water leaves there.
    Source: foster2005 for the fat rule; moraga2006, sablani2001, zhao2019, palacha2016; else drystow-default.
    Error: spread of the monolayer, 20 to 40% for a class; below a water activity of 0.1 a factor of 2, for there the
        moisture is monolayer times c, and c differs tenfold between foods (crispbread fills its monolayer at 0.11).
    """
    row = property_of("isotherm", food.food_class, food.like)
    solids = food.composition.solids
    if solids <= 0.0:
        raise InputError("composition", msg("'{food}' has no solids, so nothing is left to hold water", food=food.name))
    lean = max(1.0 - food.composition.fat / solids, 0.02)
    monolayer = row["monolayer"] * lean
    measured_at = row.get("at", REFERENCE_TEMPERATURE - ZERO_CELSIUS) + ZERO_CELSIUS
    cooled = float(_activity_at_reference(1.0, measured_at, row["heat"]))
    return Isotherm(
        monolayer=monolayer,
        c=row["c"],
        k=row["k"] / cooled,
        source=row["source"],
        mark=row["mark"],
        low=row["low"] * cooled,
        high=row["high"] * cooled,
        desorption_heat=row["heat"],
        monolayer_sd=row["spread"] * monolayer,
        note=msg(row.get("note", "")),
        measured_at=measured_at,
    )


def moisture_at(isotherm: Isotherm, water_activity: Numeric, temperature: Numeric = REFERENCE_TEMPERATURE) -> Numeric:
    """Moisture in equilibrium with a water activity at a temperature [-], kg water per kg dry solids.

    isotherm: of the food
    water_activity: of the air around it [-]
    temperature: of the food [K]
    Valid: activities are held at 0.95 and 0.90/k.
    Source: gab, shifted with Clausius and Clapeyron's law by the isotherm's heat of sorption (drystow-default).

    >>> kiwi = Isotherm(0.046, 10.6, 1.2, "moraga2006", "read", 0.0, 0.675, 8000.0, 0.005)
    >>> print(f"{moisture_at(kiwi, 0.2):.3f} {moisture_at(kiwi, 0.2, 313.15):.3f}")
    0.047 0.042
    """
    check_range("water_activity", water_activity, 0, 1, "", hint=PERCENT_HINT)
    activity = _activity_at_reference(water_activity, temperature, isotherm.desorption_heat)
    held: Numeric = np.minimum(activity, min(HIGHEST_ACTIVITY, HIGHEST_KA / isotherm.k))
    return _gab_moisture(held, isotherm.monolayer, isotherm.c, isotherm.k)


def equilibrium_moisture(isotherm: Isotherm, vapour_pressure: Numeric, temperature: Numeric) -> Numeric:
    """Moisture of dried food in equilibrium with the vapour around it [-], kg water per kg dry solids.

    isotherm: of the food
    vapour_pressure: of the water vapour around it [Pa]
    temperature: of the dried food [K]
    Valid: 220 to 373 K; the activity refers to (undercooled) liquid water.
    Source: gab, iapws-saturation.
    Error: factor of about 1.5 far from 25 °C, for the heat of sorption is a class value (5 to 10 kJ/mol).

    >>> kiwi = Isotherm(0.046, 10.6, 1.2, "moraga2006", "read", 0.0, 0.675, 8000.0, 0.005)
    >>> print(f"{equilibrium_moisture(kiwi, 50.0, 313.15):.4f}")
    0.0033
    """
    check_range("vapour_pressure", vapour_pressure, 0, 1e6, "Pa")
    check_range("temperature", temperature, 180, 473.15, "K", hint=CELSIUS_HINT)
    activity: Numeric = np.minimum(vapour_pressure / _liquid_vapour_pressure(temperature), 1.0)
    return moisture_at(isotherm, activity, temperature)


def water_activity_at(isotherm: Isotherm, moisture: Numeric, temperature: Numeric = REFERENCE_TEMPERATURE) -> Numeric:
    """Water activity of food with this moisture at a temperature [-].

    isotherm: of the food
    moisture: dry basis, kg water per kg dry solids [-]
    temperature: of the food [K]
    Valid: held at 1 for food wetter than the isotherm knows.
    Source: gab, inverse of `moisture_at`.

    >>> kiwi = Isotherm(0.046, 10.6, 1.2, "moraga2006", "read", 0.0, 0.675, 8000.0, 0.005)
    >>> print(f"{water_activity_at(kiwi, 0.03):.3f}")
    0.095
    """
    reference = gab_water_activity(moisture, isotherm.monolayer, isotherm.c, isotherm.k)
    activity: Numeric = np.minimum(reference / _activity_at_reference(1.0, temperature, isotherm.desorption_heat), 1.0)
    return activity


def _check_constants(monolayer: float, c: float, k: float) -> None:
    check_range("monolayer", monolayer, 0, 1, "", hint=msg("dry basis, 0.06 for 6 g per 100 g"), above=True)
    check_range("c", c, 0, 1e4, "", above=True)
    check_range("k", k, 0, 2, "", above=True)

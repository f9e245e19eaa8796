"""Isotherms of another form than the model's: Oswin's and Halsey's curves, and GAB with another C."""

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import curve_fit

from drystow.numerics import Array
from drystow.properties.sorption import Isotherm, _gab_moisture, _gab_water_activity

LOWEST = 0.05  # activity below which a curve runs straight to zero (Henry's law): no isotherm has points there
ACTIVITIES = np.linspace(LOWEST, 0.70, 14)  # at which curves are fitted to GAB
LOW_ACTIVITIES = np.geomspace(0.002, 0.25, 25)  # at which the machine's GAB follows the true curve


@dataclass(frozen=True)
class Sorption:
    """The true isotherm of an item at 25 °C.

    form: gab, oswin or halsey
    constants: of the form
    machine: GAB constants (monolayer, C, K) that follow it where a vacuum chamber keeps the food
    """

    form: str
    constants: tuple[float, float, float]
    machine: tuple[float, float, float]


def true_sorption(isotherm: Isotherm, monolayer: float, random: np.random.Generator, differs: bool = True) -> Sorption:
    """Return the true isotherm of an item, of another form than the model's for two in three.

    isotherm: the model's
    monolayer: drawn [-]
    random: numbers
    differs: from the model's
    """
    form, normal = str(random.choice(["gab", "oswin", "halsey"])), random.standard_normal()
    if form == "gab" or not differs:
        own = (monolayer, isotherm.c * math.exp(0.5 * normal * differs), isotherm.k)
        return Sorption("gab", own, own)
    points = _gab_moisture(ACTIVITIES, monolayer, isotherm.c, isotherm.k)
    transformed = np.log(ACTIVITIES / (1.0 - ACTIVITIES)) if form == "oswin" else -np.log(-np.log(ACTIVITIES))
    power, constant = np.polyfit(transformed, np.log(points), 1)
    constants = (float(np.exp(constant)), float(power), 0.0)
    low = moisture_by(form, constants, LOW_ACTIVITIES)
    found, _spread = curve_fit(
        lambda activity, *three: np.log(_gab_moisture(activity, *three)),
        LOW_ACTIVITIES,
        np.log(low),
        p0=(monolayer, isotherm.c, isotherm.k),
        bounds=([1e-4, 0.5, 0.3], [0.5, 1e3, 1.3]),
    )
    return Sorption(form, constants, (float(found[0]), float(found[1]), float(found[2])))


def moisture_by(form: str, constants: tuple[float, float, float], activity: Array) -> Array:
    """Return the moisture of an isotherm, dry basis [-].

    form: gab, oswin or halsey
    constants: of the form
    activity: water activity [-]
    """
    if form == "gab":
        result: Array = np.asarray(_gab_moisture(activity, *constants))
        return result
    scale, power, _none = constants
    fitted = np.maximum(activity, LOWEST)
    ratio = fitted / (1.0 - fitted) if form == "oswin" else -1.0 / np.log(fitted)
    return scale * ratio**power * activity / fitted


def activity_by(form: str, constants: tuple[float, float, float], moisture: float) -> float:
    """Return the water activity of an isotherm at 25 °C [-].

    form: gab, oswin or halsey
    constants: of the form
    moisture: dry basis [-]
    """
    if form == "gab":
        return float(min(_gab_water_activity(moisture, *constants), 1.0))
    scale, power, _none = constants
    least = float(moisture_by(form, constants, np.array(LOWEST)))
    if moisture <= least:
        return LOWEST * moisture / least
    ratio = (moisture / scale) ** (1.0 / power)
    return ratio / (1.0 + ratio) if form == "oswin" else math.exp(-1.0 / ratio)

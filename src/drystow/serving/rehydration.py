"""Putting the water back: how much, how fast, how completely."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import log
from typing import Any

import numpy as np

from drystow.errors import InputError, check_range
from drystow.foods.kinds import class_row
from drystow.messages import msg
from drystow.numerics import Numeric
from drystow.shown import between, both, quantity
from drystow.units import fahrenheit

WATER_DENSITY = 1000.0
"""Of cool water, so that a milliliter weighs a gram; 999.7 at 10 °C [kg/m3]. Source: iapws-constants."""

TEST_SIZE = 0.010
"""Piece size to which the Weibull defaults refer [m]. Source: rehydration-practice."""


@dataclass(frozen=True)
class RehydrationTime:
    """An estimate of the time to nine tenths of the final water.

    low: short end [s]
    high: long end [s]
    hot: in hot instead of cold water
    alpha: Weibull scale, the time to 63% [s]
    beta: Weibull shape [-]
    how: one sentence for the cook
    notes: sentences on ranges and assumptions
    mark: how sure
    """

    low: float
    high: float
    hot: bool
    alpha: float
    beta: float
    how: str
    notes: tuple[str, ...]
    mark: str


def water_to_add(dry_mass: Numeric, dry_moisture: Numeric, fresh_moisture: Numeric) -> Numeric:
    """Water that brings dried food back to the moisture of fresh [kg].

    dry_mass: dried food [kg]
    dry_moisture: water in the dried food, wet basis [-]
    fresh_moisture: water in the fresh food, wet basis [-]
    Valid: no solids leach out; most dried food takes back only 70 to 95% of this.
    Source: rehydration-terms; dry solids are the same before and after.

    >>> print(f"{water_to_add(0.010, 0.02, 0.9095) * 1000:.0f} g")
    98 g
    """
    return fresh_equivalent(dry_mass, dry_moisture, fresh_moisture) - dry_mass


def fresh_equivalent(dry_mass: Numeric, dry_moisture: Numeric, fresh_moisture: Numeric) -> Numeric:
    """Fresh food that gave the dried food [kg].

    dry_mass: dried food [kg]
    dry_moisture: water in the dried food, wet basis [-]
    fresh_moisture: water in the fresh food, wet basis [-]
    Valid: dried food not moister than fresh.
    Source: rehydration-terms; dry solids are the same before and after.

    >>> print(f"{fresh_equivalent(0.1, 0.02, 0.90):.2f}")
    0.98
    """
    _check_moistures(dry_moisture, fresh_moisture)
    check_range("dry_mass", dry_mass, 0, 1e5, "mass")
    return dry_mass * (1 - dry_moisture) / (1 - fresh_moisture)


def dried_from_fresh(fresh_mass: Numeric, dry_moisture: Numeric, fresh_moisture: Numeric) -> Numeric:
    """Dried food that stands for an amount of fresh food [kg].

    fresh_mass: fresh food [kg]
    dry_moisture: water in the dried food, wet basis [-]
    fresh_moisture: water in the fresh food, wet basis [-]
    Valid: dried food not moister than fresh.
    Source: rehydration-terms; dry solids are the same before and after.

    >>> print(f"{dried_from_fresh(1.0, 0.02, 0.9095) * 1000:.0f} g")
    92 g
    """
    _check_moistures(dry_moisture, fresh_moisture)
    check_range("fresh_mass", fresh_mass, 0, 1e5, "mass")
    return fresh_mass * (1 - fresh_moisture) / (1 - dry_moisture)


def _check_moistures(dry_moisture: Numeric, fresh_moisture: Numeric) -> None:
    check_range("fresh_moisture", fresh_moisture, 0, 0.99, "", hint=msg("water as a share of the fresh food"))
    check_range("dry_moisture", dry_moisture, 0, 0.99, "", hint=msg("water as a share of the dried food"))
    if bool(np.any(np.asarray(dry_moisture) > np.asarray(fresh_moisture))):
        raise InputError("dry_moisture", msg("the dried food is moister than the fresh; are the two swapped?"))


def rehydration_ratio(rehydrated_mass: Numeric, dry_mass: Numeric) -> Numeric:
    """Mass after soaking and draining over dried mass [-].

    rehydrated_mass: after soaking and draining [kg]
    dry_mass: dried food [kg]
    Valid: positive masses.
    Source: rehydration-terms.

    >>> print(f"{rehydration_ratio(0.045, 0.010):.1f}")
    4.5
    """
    check_range("dry_mass", dry_mass, 0, 1e5, "mass", above=True)
    check_range("rehydrated_mass", rehydrated_mass, 0, 1e6, "mass")
    return rehydrated_mass / dry_mass


def coefficient_of_restoration(
    rehydrated_mass: Numeric, dry_mass: Numeric, dry_moisture: Numeric, fresh_moisture: Numeric
) -> Numeric:
    """Mass after soaking over the mass that would be fresh again; 1 is complete [-].

    rehydrated_mass: after soaking and draining [kg]
    dry_mass: dried food [kg]
    dry_moisture: water in the dried food, wet basis [-]
    fresh_moisture: water in the fresh food, wet basis [-]
    Valid: no solids leach out.
    Source: rehydration-terms.

    >>> print(f"{coefficient_of_restoration(0.090, 0.010, 0.02, 0.90):.2f}")
    0.92
    """
    check_range("dry_mass", dry_mass, 0, 1e5, "mass", above=True)
    return rehydrated_mass / fresh_equivalent(dry_mass, dry_moisture, fresh_moisture)


def weibull_uptake(time: Numeric, alpha: float, beta: float) -> Numeric:
    """Share of the final water taken up after a time [-].

    time: in the water [s]
    alpha: scale, the time to 63% [s]
    beta: shape; below one the uptake starts fast, as in porous food [-]
    Valid: positive times.
    Source: rehydration-practice, Weibull form.

    >>> print(f"{weibull_uptake(60.0, 60.0, 0.6):.2f}")
    0.63
    """
    check_range("time", time, 0, 1e7, "s")
    check_range("alpha", alpha, 0, 1e6, "s", above=True)
    check_range("beta", beta, 0.1, 3, "")
    share = 1 - np.exp(-((np.asarray(time, dtype=float) / alpha) ** beta))
    return share if isinstance(time, np.ndarray) else float(share)


@cache
def _table() -> dict[str, dict[str, Any]]:
    return tomllib.loads(files("drystow.serving").joinpath("rehydration.toml").read_text(encoding="utf-8"))


def rehydration_time(food_class: str, size: float, hot: bool, powder: bool = False) -> RehydrationTime:
    """Return an estimate of how long dried food needs in water.

    food_class: class of the food
    size: thickness or diameter of the pieces [m]
    hot: hot instead of cold water
    powder: powder instead of pieces
    Valid: pieces of 3 to 30 mm; a class default, no constants of named foods were found.
    Source: rehydration-practice; time proportional to size squared (imbibition) around 10 mm.
    """
    group = class_row(food_class)["rehydration"]
    check_range("size", size, 0, 0.2, "length", above=True, hint=msg("is it in mm?"))
    row = _table()["powder" if powder else group]
    notes = [msg("The time is typical for this kind of food. Check the middle, and give it longer if it is still dry.")]
    factor = 1.0
    if not powder:
        if not 0.003 <= size <= 0.03:
            notes.append(
                msg(
                    "The estimate is for pieces of {allowed}; {size} is outside that.",
                    allowed=between(0.003, 0.03, "length"),
                    size=quantity(size, "length"),
                )
            )
        factor = min(max(size, 0.003), 0.03) ** 2 / TEST_SIZE**2
    low, high = (60.0 * factor * minutes for minutes in row["hot" if hot else "cold"])
    beta, how = row["beta"], msg(row["how"], heat=both(fahrenheit(165.0), "temperature"))
    alpha = (low * high) ** 0.5 / log(10.0) ** (1 / beta)
    return RehydrationTime(
        low,
        high,
        hot,
        alpha,
        beta,
        how,
        tuple(notes),
        "class default",
    )

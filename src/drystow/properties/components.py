"""Density, heat capacity and conductivity of the parts a food is made of."""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from drystow.constants import ZERO_CELSIUS
from drystow.errors import CELSIUS_HINT, check_range, unknown
from drystow.messages import msg
from drystow.numerics import Numeric

LOWEST, HIGHEST = 233.15, 423.15
"""Range of the component equations [K]. Source: choi-okos."""


@cache
def _table() -> dict[str, dict[str, Any]]:
    return tomllib.loads(files("drystow.properties").joinpath("components.toml").read_text(encoding="utf-8"))


def _coefficients(component: str, quantity: str) -> list[float]:
    if component not in _table():
        raise unknown("component", component, _table(), msg("component"))
    coefficients: list[float] = _table()[component][quantity]
    return coefficients


def _celsius(component: str, temperature: Numeric) -> Numeric:
    highest = ZERO_CELSIUS if component == "ice" else HIGHEST
    check_range("temperature", temperature, LOWEST, highest, "K", hint=CELSIUS_HINT)
    return temperature - ZERO_CELSIUS


def _polynomial(coefficients: list[float], t: Numeric) -> Numeric:
    value: Numeric = np.asarray(np.polynomial.polynomial.polyval(t, coefficients), dtype=np.float64)[()]
    return value


def density(component: str, temperature: Numeric) -> Numeric:
    """Density of one component [kg/m3].

    component: protein, fat, carbohydrate, fibre, ash, water, ice or alcohol
    temperature: of the component [K]
    Valid: 233.15 to 423.15 K, ice up to 273.15 K.
    Source: choi-okos, table 1.
    Error: water is 2% too light at 100 °C.

    >>> print(f"{density('protein', 293.15):.1f}")
    1319.5
    """
    coefficients = _coefficients(component, "density")
    return _polynomial(coefficients, _celsius(component, temperature))


def heat_capacity(component: str, temperature: Numeric) -> Numeric:
    """Heat capacity of one component [J/kg/K].

    component: protein, fat, carbohydrate, fibre, ash, water, ice or alcohol
    temperature: of the component [K]
    Valid: 233.15 to 423.15 K, ice up to 273.15 K; water below 0 °C is undercooled liquid.
    Source: choi-okos, table 1; water at 0 °C and above with the constant 4176.2 of the original paper.
    Error: water steps by 1.1% at 0 °C, where its two equations do not meet.

    >>> print(f"{heat_capacity('ice', 273.15):.1f}")
    2062.3
    """
    coefficients = _coefficients(component, "heat_capacity")
    t = _celsius(component, temperature)
    if component != "water":
        return _polynomial(coefficients, t)
    cold = _polynomial(_coefficients("water", "heat_capacity_undercooled"), t)
    value: Numeric = np.where(np.asarray(t) < 0.0, cold, _polynomial(coefficients, t))[()]
    return value


def conductivity(component: str, temperature: Numeric) -> Numeric:
    """Thermal conductivity of one component [W/m/K].

    component: protein, fat, carbohydrate, fibre, ash, water, ice or alcohol
    temperature: of the component [K]
    Valid: 233.15 to 423.15 K, ice up to 273.15 K.
    Source: choi-okos, table 1.

    >>> print(f"{conductivity('water', 293.15):.4f}")
    0.6037
    """
    coefficients = _coefficients(component, "conductivity")
    return _polynomial(coefficients, _celsius(component, temperature))


def enthalpy(component: str, temperature: Numeric) -> Numeric:
    """Sensible enthalpy of one component against itself at 0 °C [J/kg].

    component: protein, fat, carbohydrate, fibre, ash, water, ice or alcohol
    temperature: of the component [K]
    Valid: as `heat_capacity`; outside the range the heat capacity of its end is kept.
    Source: choi-okos, table 1, integrated.

    >>> print(f"{enthalpy('water', 283.15):.0f}")
    41759
    """
    low, high = LOWEST - ZERO_CELSIUS, (0.0 if component == "ice" else HIGHEST - ZERO_CELSIUS)
    t = np.asarray(temperature, dtype=float) - ZERO_CELSIUS
    inside = np.clip(t, low, high)
    warm = _integral(_coefficients(component, "heat_capacity"), inside)
    if component == "water":
        cold = _integral(_coefficients("water", "heat_capacity_undercooled"), inside)
        warm = np.where(inside < 0.0, cold, warm)
    value: Numeric = (warm + (t - inside) * heat_capacity(component, inside + ZERO_CELSIUS))[()]
    return value


def _integral(coefficients: list[float], t: Numeric) -> Numeric:
    return _polynomial(list(np.polynomial.polynomial.polyint(coefficients)), t)

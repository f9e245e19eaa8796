"""The closed table of units against two independent sources: Pint's definitions and SciPy's constants."""

from collections.abc import Iterator
from typing import Any

import pint
import pytest
import scipy.constants

from drystow.unit_table import MONEY, TEMPERATURE, UNITS, Unit, unit_of
from drystow.units import KINDS, parse

REGISTRY: Any = pint.UnitRegistry(cache_folder=None)
IN_PINT = {
    # first name in the table: the same in the spelling of Pint, where that differs
    "in": "inch", "ft": "foot", "m2": "m^2", "cm2": "cm^2", "mm2": "mm^2", "in2": "inch^2", "ft2": "foot^2",
    "m3": "m^3", "cm3": "cm^3", "mm3": "mm^3", "in3": "inch^3", "ft3": "foot^3", "gal": "gallon", "qt": "quart",
    "pt": "pint", "fl oz": "fluid_ounce", "wk": "week", "yr": "year", "Torr": "torr", "mTorr": "mtorr", "%": "percent",
    "mil": "thou", "‰": "permille", "°C": "K", "°F": "delta_degF",
}  # fmt: skip
DIMENSIONS = ("[mass]", "[length]", "[time]", "[temperature]")
CAPITALS = ("ML", "Ml")  # on many packages a milliliter; Pint reads a megaliter
CLOSE = 1e-6
"""Pint rounds its British thermal unit to seven digits and takes the weight of mercury for a millimeter of it."""
FIRST = {unit: name for name, unit in reversed(UNITS.items()) if unit.dimension != MONEY}


def in_pint(words: str) -> tuple[float, tuple[int, ...]]:
    """Size and dimension of a unit in SI, by Pint."""
    one = REGISTRY.Quantity(1, REGISTRY.parse_units(words)).to_base_units()
    powers = dict(one.dimensionality)
    return float(one.magnitude), (*(int(powers.get(part, 0)) for part in DIMENSIONS), 0)


@pytest.mark.parametrize(("unit", "name"), list(FIRST.items()), ids=list(FIRST.values()))
def test_every_unit_is_as_large_as_pint_says(unit: Unit, name: str) -> None:
    size, dimension = in_pint(IN_PINT.get(name, name))
    assert (unit.factor, unit.dimension) == (pytest.approx(size, rel=CLOSE), dimension)


def known_to_both() -> Iterator[tuple[str, float]]:
    """Names of the table that Pint knows too, in the same dimension, with their size in Pint."""
    for name, unit in UNITS.items():
        try:
            size, dimension = in_pint(name)
        except Exception:  # Pint raises many; Spanish, capitals and signs are not for it
            continue
        if name not in CAPITALS and dimension == unit.dimension and unit.offset == 0.0:
            yield name, size


@pytest.mark.parametrize(("name", "size"), list(known_to_both()))
def test_no_name_that_pint_knows_too_means_another_size_here(name: str, size: float) -> None:
    assert UNITS[name].factor == pytest.approx(size, rel=CLOSE)


SCIPY = {
    "lb": "pound", "oz": "oz", "in": "inch", "ft": "foot", "yd": "yard", "mi": "mile", "mil": "mil", "gal": "gallon",
    "fl oz": "fluid_ounce", "min": "minute", "h": "hour", "day": "day", "week": "week", "bar": "bar", "atm": "atm",
    "Torr": "torr", "psi": "psi", "BTU": "Btu", "cal": "calorie_th", "hp": "hp", "L": "liter", "t": "metric_ton",
    "delta_degF": "degree_Fahrenheit", "year": "Julian_year",
}  # fmt: skip


@pytest.mark.parametrize(("name", "constant"), SCIPY.items())
def test_the_common_units_are_as_large_as_scipy_says(name: str, constant: str) -> None:
    assert UNITS[name].factor == pytest.approx(getattr(scipy.constants, constant), rel=CLOSE)


@pytest.mark.parametrize(("kind", "unit"), [(kind, row[0]) for kind, row in KINDS.items() if kind != "money"])
def test_the_si_unit_of_every_kind_has_the_dimension_that_pint_gives_it(kind: str, unit: str) -> None:
    found = unit_of(unit)
    assert found is not None
    assert (found.factor, found.dimension) == in_pint(unit)


@pytest.mark.parametrize(
    "expression", ["W/m^2/K", "g/m^2/day", "mbar*L/s", "kg/m^3", "m^3/h", "lb/ft^3", "cm^2", "J/g/K"]
)
def test_expressions_of_units_are_as_large_as_pint_says(expression: str) -> None:
    found = unit_of(expression)
    assert found is not None
    size, dimension = in_pint(expression)
    assert (found.factor, found.dimension) == (pytest.approx(size, rel=CLOSE), dimension)


@pytest.mark.parametrize("degrees", [-459.0, -40.0, 0.0, 32.0, 98.6, 212.0])
def test_temperatures_are_as_scipy_converts_them(degrees: float) -> None:
    wanted = scipy.constants.convert_temperature(degrees, "Fahrenheit", "Kelvin")
    assert parse(f"{degrees} °F", "temperature", "") == pytest.approx(wanted, abs=1e-9)
    assert UNITS["°C"] == Unit(1.0, TEMPERATURE, scipy.constants.zero_Celsius)

"""What people call the columns of records, and how values are shown: the unit in a column's name is for programs."""

from collections.abc import Callable

from drystow.reports.text import duration_text, mass_text
from drystow.said import say_many
from drystow.shown import show
from drystow.units import kelvin
from drystow.web.site.words import in_words

Shower = Callable[[float, str], str]
"""Makes text of the value of a column for a system of units."""


def _of(kind: str, factor: float = 1.0) -> Shower:
    return lambda value, units: show(value * factor, kind, units)


def _temperature(value: float, units: str) -> str:
    return show(kelvin(value), "temperature", units)


def _days(value: float, _units: str) -> str:
    return say_many("{count} day", "{count} days", int(value) if float(value).is_integer() else round(value, 1))


UNITS: dict[str, tuple[str, Shower]] = {
    # end of a column's name: (word in its place, how its values are shown)
    "kg": ("", mass_text),
    "g": ("", _of("fine mass", 1e-3)),
    "m": ("", _of("length")),
    "m3": ("space", _of("room")),
    "c": ("temperature", _temperature),
    "pa": ("pressure", _of("pressure")),
    "kwh": ("", _of("energy", 3.6e6)),
    "h": ("time", _of("time", 3600.0)),
    "min": ("time", lambda value, _units: duration_text(60.0 * value)),
    "days": ("time", _days),
}
OTHERWISE: dict[str, Shower] = {"altitude_m": _of("altitude")}
"""Columns that are shown in another way than others with their unit."""

BARE = ("protein_g",)
"""Nutrition figures: laws want them in grams everywhere."""

CALLED = {"tray_kg": "on one tray"}
"""Columns that are called otherwise than their name says."""


def column_words(name: str) -> str:
    """Return what a column is called, its unit apart.

    >>> column_words("mass_kg"), column_words("room_c"), column_words("temperature_c"), column_words("value_per_kg")
    ('Mass', 'Room temperature', 'Temperature', 'Value per kg')
    """
    words = CALLED.get(name, name)
    if words == name and (unit := _unit_of(name)):
        what, more = name.removesuffix(f"_{unit}"), UNITS[unit][0]
        words = what if not more or what.endswith(more) else f"{what} {more}"
    return words[:1].upper() + words[1:].replace("_", " ")


def column_value(name: str, value: float, units: str) -> str:
    """Return the value of a column with its unit as pages show it, nothing where the column has none."""
    unit = _unit_of(name)
    return in_words(OTHERWISE.get(name, UNITS[unit][1])(value, units)) if unit else ""


def _unit_of(name: str) -> str:
    """Return the unit at the end of a column's name, nothing where it has none or is a price of one."""
    what, _bar, unit = name.rpartition("_")
    return unit if what and unit in UNITS and not what.endswith("_per") and name not in BARE else ""

"""How the values of columns are shown, by the unit that a column's name ends in or by the name itself."""

from collections.abc import Callable

from django.utils.dates import MONTHS

from drystow.figures import formatted
from drystow.messages import msg, msg_many
from drystow.reports.text import POUND, duration_text, mass_text
from drystow.shown import money, price, quantity, show
from drystow.units import kelvin
from drystow.web.kit.columns import unit_of
from drystow.web.kit.reader import reader
from drystow.web.kit.records import kitchen
from drystow.web.kit.words import in_words

SMALLEST = 0.15  # g; less is lost between the digits of ounces, so it is told in grams

Shower = Callable[[float, str], str]
"""Makes text of the value of a column for a system of units."""


def _of(kind: str, factor: float = 1.0) -> Shower:
    return lambda value, units: show(value * factor, kind, units)


def _temperature(value: float, units: str) -> str:
    return show(kelvin(value), "temperature", units)


def _days(value: float, _units: str) -> str:
    return msg_many("{count} day", "{count} days", _few(value))


def _few(value: float) -> float:
    return int(value) if float(value).is_integer() else round(value, 1)


def _scale(value: float, units: str) -> str:
    return show(value * 1e-3, "fine mass", units if value == 0.0 or value >= SMALLEST else "si")


BY_UNIT: dict[str, Shower] = {
    # end of a column's name: how its values are shown
    "kg": mass_text,
    "g": _scale,
    "m": _of("length"),
    "m3": _of("room"),
    "c": _temperature,
    "pa": _of("pressure"),
    "kwh": _of("energy", 3.6e6),
    "h": _of("time", 3600.0),
    "min": lambda value, _units: duration_text(60.0 * value),
    "days": _days,
}


def _share(value: float, _units: str) -> str:
    return quantity(value, "fraction", 1, short=True)


def _money(value: float, _units: str) -> str:
    return money(value, kitchen().currency)


def _worth(value: float, units: str) -> str:
    worth = money(value * (POUND if units == "us" else 1.0), kitchen().currency)
    return msg("{worth} per pound", worth=worth) if units == "us" else msg("{worth} per kilogram", worth=worth)


def _counted(unit: str) -> Shower:
    return lambda value, _units: f"{formatted(value, '.4g', reader().signs)} {unit}"


OTHERWISE: dict[str, Shower] = {
    "altitude_m": _of("altitude"),
    **dict.fromkeys(("target_moisture", "residual_moisture", "moisture_sd", "uncertain", "humidity", "chance"), _share),
    **dict.fromkeys(("price", "shop_price", "packaging_cost", "cost"), _money),
    "tariff_per_kwh": lambda value, _units: price(value, kitchen().currency),
    "value_per_kg": _worth,
    "value": _of("leak"),
    "minutes": lambda value, _units: duration_text(60.0 * value),
    "seconds": _counted("s"),
    "oil_hours_limit": _counted("h"),
    "energy_kcal": _counted("kcal"),
    "energy_kcal_day": _counted("kcal"),
    "protein_g": _counted("g"),  # nutrition: laws want it in grams everywhere
    "protein_g_day": _counted("g"),
    "days": _days,
    "weeks": lambda value, _units: msg_many("{count} week", "{count} weeks", int(value)),
    "years": lambda value, _units: msg_many("{count} year", "{count} years", _few(value)),
    "coldest_month": lambda value, _units: str(MONTHS[int(value)]),
}
"""Columns that are shown in another way than others with their unit, or whose name has none."""


def column_value(name: str, value: float, units: str) -> str:
    """Return the value of a column with its unit as pages show it, nothing where the column has none."""
    shower = OTHERWISE.get(name) or BY_UNIT.get(unit_of(name))
    return in_words(shower(value, units)) if shower is not None else ""

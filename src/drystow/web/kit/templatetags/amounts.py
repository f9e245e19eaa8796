"""Amounts in templates, in the units of the reader: ``{% amount batch.mass_kg "mass" %}``."""

from typing import Any

from django import template
from django.utils.translation import gettext as _

from drystow.figures import fixed
from drystow.messages import msg_many, ranged
from drystow.reports.text import duration_text
from drystow.reports.text import water_back as shown_water_back
from drystow.shown import both, price, show, to_display
from drystow.shown import money as money_text
from drystow.units import fahrenheit
from drystow.web.kit.reader import reader
from drystow.web.kit.words import in_words

register = template.Library()


@register.simple_tag(takes_context=True)
def amount(context: dict[str, Any], value: float | None, kind: str) -> str:
    """Return an SI value of a kind of `drystow.shown` as text in the reader's units."""
    return in_words(show(value, kind, str(context.get("units", "us"))))


@register.simple_tag(takes_context=True)
def amounts(context: dict[str, Any], low: float, high: float, kind: str) -> str:
    """Return a range of SI values, its unit once where both ends have the same, as one where both read the same."""
    return in_words(ranged(amount(context, low, kind), amount(context, high, kind)))


@register.simple_tag(takes_context=True)
def water_back(context: dict[str, Any], dry: float, water: float) -> list[str]:
    """Return dried food, water and the fresh food that they make, as text that adds up."""
    return [in_words(text) for text in shown_water_back(dry, water, str(context.get("units", "us")))]


@register.simple_tag(takes_context=True)
def degrees(context: dict[str, Any], celsius: float | None) -> str:
    """Return a temperature kept in °C as text in the reader's units."""
    kelvin = None if celsius is None else celsius + 273.15
    return in_words(show(kelvin, "temperature", str(context.get("units", "us"))))


@register.simple_tag(takes_context=True)
def money(context: dict[str, Any], value: float | None) -> str:
    """Return an amount of money in the currency of the kitchen."""
    return in_words(money_text(value, _currency(context)))


@register.simple_tag(takes_context=True)
def rate(context: dict[str, Any], value: float) -> str:
    """Return the price of one of something, such as a kilowatt-hour."""
    return in_words(price(value, _currency(context)))


@register.simple_tag(takes_context=True)
def electricity(context: dict[str, Any], value: float | None) -> str:
    """Return what electricity cost, in a kitchen without a tariff that it is not counted."""
    if not getattr(context.get("kitchen"), "tariff_per_kwh", 0.0):
        return _("not counted; enter its price in Settings")
    return money(context, value)


@register.simple_tag(takes_context=True)
def electricity_per_mass(context: dict[str, Any], per_kilogram: float | None) -> str:
    """Return what electricity cost for a kilogram or a pound, whichever the reader weighs in."""
    return electricity(context, None if per_kilogram is None else per_kilogram * _reader_mass(context))


@register.simple_tag(takes_context=True)
def energy_per_mass(context: dict[str, Any], per_kilogram: float | None) -> str:
    """Return an energy for a kilogram or a pound [J/kg]."""
    return amount(context, None if per_kilogram is None else per_kilogram * _reader_mass(context), "energy")


@register.simple_tag
def safe_degrees(degrees: float) -> str:
    """Return a temperature [°F] on which the safety of food rests in both units, the reader's own first."""
    return in_words(both(fahrenheit(degrees), "temperature"))


@register.filter
def figure(value: Any, decimals: int | None = None) -> str:
    """Return a number as the reader's language writes it; without `decimals` with one, unless it is a whole number."""
    if value is None or value == "":
        return ""
    number = float(value)
    places = (0 if number.is_integer() else 1) if decimals is None else decimals
    return fixed(number, places, reader().signs)


@register.filter
def percent(value: float) -> str:
    """Return a number of hundredths with its percent sign, as the reader's language sets it."""
    return figure(value, 0) + reader().signs.percent


@register.filter
def hours(low: float, high: float | None = None) -> str:
    """Return a number of hours as a cook says it, or a range of them."""
    words = in_words(duration_text(low * 3600.0))
    return words if high is None else in_words(ranged(words, in_words(duration_text(high * 3600.0))))


@register.filter
def years(value: float, decimals: int = 1) -> str:
    """Return a number of years as the reader's language writes it."""
    shown = round(value, decimals)
    return in_words(msg_many("{count} year", "{count} years", int(shown) if float(shown).is_integer() else shown))


def _reader_mass(context: dict[str, Any]) -> float:
    """Return how many kilograms are one of the reader's unit."""
    return 1.0 / to_display(1.0, "mass", str(context.get("units", "us")))


def _currency(context: dict[str, Any]) -> str:
    return str(getattr(context.get("kitchen"), "currency", "$"))

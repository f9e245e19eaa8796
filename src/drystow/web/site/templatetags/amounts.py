"""Amounts in templates, in the units of the reader: ``{% amount batch.mass_kg "mass" %}``."""

from typing import Any

from django import template

from drystow.said import ends
from drystow.shown import show
from drystow.web.site.words import in_words

register = template.Library()


@register.simple_tag(takes_context=True)
def amount(context: dict[str, Any], value: float | None, kind: str) -> str:
    """Return an SI value of a kind of `drystow.shown` as text in the reader's units."""
    return in_words(show(value, kind, str(context.get("units", "us"))))


@register.simple_tag(takes_context=True)
def amounts(context: dict[str, Any], low: float, high: float, kind: str) -> str:
    """Return a range of SI values, its unit once where both ends have the same, as one where both read the same."""
    first, last = amount(context, low, kind), amount(context, high, kind)
    return first if first == last else " – ".join(ends(first, last))


@register.simple_tag(takes_context=True)
def degrees(context: dict[str, Any], celsius: float | None) -> str:
    """Return a temperature kept in °C as text in the reader's units."""
    kelvin = None if celsius is None else celsius + 273.15
    return in_words(show(kelvin, "temperature", str(context.get("units", "us"))))


@register.simple_tag(takes_context=True)
def money(context: dict[str, Any], value: float | None) -> str:
    """Return an amount of money in the currency of the house."""
    house = context.get("house")
    return "–" if value is None else in_words(f"{getattr(house, 'currency', '$')}{value:.2f}")

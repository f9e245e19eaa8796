"""What templates show, in the language and units of the reader: amounts, days and times, the engine's sentences.

``{% amount batch.mass_kg "mass" %}``, ``{{ row.at|day:"moment" }}``, ``{{ note|told }}``.
"""

from datetime import date, datetime
from typing import Any, TypeVar

from django import template
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow import days
from drystow.errors import DrystowError
from drystow.figures import fixed
from drystow.foods import marks
from drystow.foods.model import part_word
from drystow.keeping.limits import evidence_word
from drystow.keeping.shelf_life import date_name as name_of_date
from drystow.messages import msg_many, ranged
from drystow.reports.text import duration_text
from drystow.reports.text import water_back as shown_water_back
from drystow.shown import both, price, show, to_display
from drystow.shown import money as money_text
from drystow.sources import SHORT_MARKS
from drystow.units import fahrenheit
from drystow.web.kit.notices import UNDO
from drystow.web.kit.reader import reader
from drystow.web.kit.words import in_words, problem_words, sentence_words

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


At = TypeVar("At", date, datetime)


@register.filter
def day(at: date | datetime | None, style: str = "day") -> str:
    """Return a day or a time in a style of `drystow.days`, nothing for none."""
    return "" if at is None or at == "" else in_words(days.day_text(_here(at), style))


@register.filter
def near(at: datetime | None, after: datetime | None = None) -> str:
    """Return a time at which something is to be done, as seen from now; the end of a range after its begin."""
    begin = None if after is None else _here(after)
    return "" if at is None else in_words(days.near(_here(at), _here(timezone.now()), begin))


@register.filter
def ahead(at: datetime | None) -> str:
    """Return how long it is until something that is not far away."""
    return "" if at is None else in_words(days.ahead(_here(at), _here(timezone.now())))


def _here(at: At) -> At:
    """Return what the clock of the kitchen shows; a day, or a time without a zone, is the kitchen's own."""
    return timezone.localtime(at).replace(tzinfo=None) if isinstance(at, datetime) and at.tzinfo else at


@register.filter
def told(text: Any) -> str:
    """Return a sentence, a word or an error of the engine in the language of the page."""
    return problem_words(text) if isinstance(text, DrystowError) else in_words(text or "")


@register.filter
def short_mark(mark: str) -> str:
    """Return in a word or two how a value got here, in the language of the page."""
    return in_words(SHORT_MARKS[mark])


@register.filter
def evidence(text: str) -> str:
    """Return a class of evidence in a cook's word, in the language of the page."""
    return in_words(evidence_word(text))


@register.filter
def date_name(evidence: str) -> str:
    """Return what the date of a package is, in the language of the page: best before, or check by."""
    return in_words(name_of_date(evidence))


@register.filter
def food_part(name: str) -> str:
    """Return the name of a part of a food in the language of the page."""
    return in_words(part_word(name))


@register.filter
def up_to(low: str, high: str) -> str:
    """Return a range of the engine's quantities, its unit once where both ends have the same."""
    return in_words(ranged(in_words(low), in_words(high)))


@register.filter
def as_sentence(text: Any) -> str:
    """Return a note of the engine, or an error, as a whole sentence in the language of the page."""
    return sentence_words(problem_words(text) if isinstance(text, DrystowError) else text or "")


@register.filter
def told_all(texts: Any) -> list[str]:
    """Return several of them."""
    return [in_words(text) for text in texts]


@register.filter
def raw_line(raw_animal: bool | None) -> str:
    """Return the line in capitals for raw animal food, also where it is not stated whether it is."""
    return in_words(marks.raw_line(raw_animal))


@register.filter
def raw_tag(raw_animal: bool | None) -> str:
    """Return the short mark of raw animal food, also where it is not stated whether it is."""
    return in_words(marks.raw_tag(raw_animal))


@register.filter
def raw_note(raw_animal: bool | None) -> str:
    """Return a sentence on raw animal food, also where it is not stated whether it is."""
    return in_words(marks.raw_note(raw_animal))


@register.filter
def allergen_line(allergens: Any) -> str:
    """Return the line on allergens, also where they are not stated."""
    return in_words(marks.allergen_line(allergens))


@register.filter
def undo_number(tags: str | None) -> str:
    """Return the number after ``undo:`` in the extra tags of a message, or nothing."""
    found = [tag.removeprefix(UNDO) for tag in (tags or "").split() if tag.startswith(UNDO)]
    return found[0] if found and found[0].isdigit() else ""

"""The only gate from written quantities to SI floats: numbers, units of the table, sums of a few parts.

The way back to a reader is `drystow.shown`.
"""

import math
import re
from datetime import date
from functools import lru_cache
from typing import TypeGuard

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError
from drystow.messages import Message, msg
from drystow.numerals import LARGEST, LONGEST, Numeral, numeral_at, plain_text
from drystow.unit_table import Unit, unit_at, unit_of

KINDS = {
    # kind: (SI unit, examples and word shown in error messages)
    "mass": ("kg", msg("'1.8 lb', '800 g' or '12 oz'"), msg("weight")),
    "length": ("m", msg("'13 mm' or '0.5 inch'"), msg("length")),
    "area": ("m^2", msg("'0.15 m^2' or '230 inch^2'"), msg("area")),
    "volume": ("m^3", msg("'1 quart', '950 mL' or '3.1 L'"), msg("volume")),
    "temperature": ("K", msg("'-20 °C' or '40 °F'"), msg("temperature")),
    "temperature difference": ("K", msg("'5 K' or '9 delta_degF'"), msg("temperature difference")),
    "pressure": ("Pa", msg("'50 Pa' or '500 mTorr'"), msg("pressure")),
    "time": ("s", msg("'2 h', '90 min' or '1 day'"), msg("time")),
    "power": ("W", msg("'900 W' or '1.2 kW'"), msg("power")),
    "energy": ("J", msg("'1.3 kWh'"), msg("energy")),
    "density": ("kg/m^3", msg("'850 kg/m^3'"), msg("density")),
    "conductivity": ("W/m/K", msg("'0.03 W/m/K'"), msg("conductivity")),
    "heat transfer": ("W/m^2/K", msg("'15 W/m^2/K'"), msg("heat transfer")),
    "heat conductance": ("W/K", msg("'2 W/K'"), msg("heat conductance")),
    "heat capacity": ("J/K", msg("'9000 J/K'"), msg("heat capacity")),
    "resistance": ("m/s", msg("'1e4 m/s'"), msg("resistance")),
    "resistance slope": ("1/s", msg("'5e7 1/s'"), msg("resistance slope")),
    "inverse length": ("1/m", msg("'0 1/m'"), msg("inverse length")),
    "vapor conductance": ("kg/s/Pa", msg("'2e-5 kg/s/Pa'"), msg("vapor conductance")),
    "pumping speed": ("m^3/s", msg("'5 m^3/h'"), msg("pumping speed")),
    "leak": ("Pa*m^3/s", msg("'0.02 mbar*L/s'"), msg("leak")),
    "water vapor transmission": ("kg/m^2/s", msg("'0.02 g/m^2/day'"), msg("water vapor transmission")),
    "fraction": ("dimensionless", msg("'3%' or '0.03'"), msg("fraction")),
    "altitude": ("m", msg("'1200 m' or '4000 ft'"), msg("altitude")),
    "money": ("$", msg("'1.40', '$1.40' or '14 cents'"), msg("price")),
}

FILE_UNITS = {"length": "mm", "temperature": "degC", "volume": "L", "time": "h"}
"""Unit in which a quantity of a kind is written into a file, where another reads better than that of SI."""

ONLY_UNIT = {"fraction": "dimensionless", "money": "$", "energy": "kWh"}
"""Unit of a bare number where a kind is written in no other one, in files too."""


TERMS = 4
"""Parts of one quantity, such as the three of ``1 day 2 h 30 min``."""

_BETWEEN = re.compile(r"\s*(?:,|&|\band\b|\by\b)?\s*")
_TIMES = re.compile(r"\s*(?:x|X|\bby\b|\bpor\b)\s*(?=[0-9.])")
_PER = re.compile(r"\s+(?:per|por)\s+(?!cien|mil|[0-9.])")
_DOT = re.compile(r"(?<=[A-Za-z])\.")
_CURRENCY = re.compile(r"\s*([-+]?)\s*(US\$|[$€£])\s*(.*)", re.DOTALL)


def in_file(value: float, kind: str) -> str:
    """Return a quantity as a file writes it, with so many digits that it is read as the same number.

    value: in the SI unit of its kind
    kind: one of `KINDS`

    >>> in_file(0.012, "length"), in_file(kelvin(-18.0), "temperature"), in_file(5400.0, "time")
    ('12 mm', '-18 degC', '1.5 h')
    """
    wanted = KINDS[kind][0]
    name = FILE_UNITS.get(kind, wanted)
    if kind == "time" and value and value % known("day").factor == 0.0:
        name = "day"
    unit = known(name)
    offset = unit.offset if kind == "temperature" else 0.0
    number = f"{(value - offset) / unit.factor:.12g}"
    if float(number) * unit.factor + offset != value:
        number, name = repr(value), wanted  # every digit, so that it is read as the same number
    return number if name == "dimensionless" else f"{number} {name}"


def _is_number(written: object) -> TypeGuard[float]:
    return isinstance(written, int | float) and not isinstance(written, bool)


def parse(text: object, kind: str, field: str, bare: str = "", language: str = "en") -> float:
    """Return the SI value of a written quantity such as ``"13 mm"``.

    text: what the person wrote
    kind: one of `KINDS`
    field: name of the field, for the error message
    bare: unit of a number without one; empty where it needs one, as in a file, except for fractions and money
    language: whose decimal sign and digit groups are read; a file follows the rules of English

    >>> round(parse("1/2 inch", "length", "size"), 5), round(parse("2 lb 8 oz", "mass", "mass"), 4)
    (0.0127, 1.134)
    """
    return _read(text, kind, field, bare, language)[0]


def step_of(text: object, kind: str, bare: str = "", language: str = "en") -> float:
    """Return the step in which a quantity was written, such as that of the scale's last digit, in SI.

    text: what the person wrote
    kind: one of `KINDS`
    bare: unit of a number without one
    language: whose decimal sign and digit groups are read

    >>> round(step_of("3.31 lb", "mass"), 6), round(step_of("2 lb 3 oz", "mass"), 5), step_of("1.2e3 g", "mass")
    (0.004536, 0.02835, 0.1)
    """
    return _read(text, kind, "", bare, language)[1]


def _read(text: object, kind: str, field: str, bare: str, language: str) -> tuple[float, float]:
    _, examples, word = KINDS[kind]
    if not isinstance(text, str) and not _is_number(text):
        raise InputError(
            field,
            msg(
                "{text} is not a {kind}; write, for example, {examples}",
                text=as_written(text),
                kind=word,
                examples=examples,
            ),
        )
    if not isinstance(text, str) and not abs(text) < LARGEST:
        raise InputError(field, _not_finite(as_written(text), word))
    written = text if isinstance(text, str) else as_written(text)
    if len(written) > LONGEST:
        raise InputError(
            field,
            msg(
                "'{text}…' is too long for a {kind}; write, for example, {examples}",
                text=written[:20],
                kind=word,
                examples=examples,
            ),
        )
    value, step = _convert(written, kind, field, bare, language if isinstance(text, str) else "en")
    return _finite(value, written, kind, field), step


def as_written(value: object) -> str:
    """Return a value as a person wrote it in a file; of an endless number only that it is one."""
    if isinstance(value, int) and abs(value) >= 10**LONGEST:
        return msg("a whole number of {count} digits", count=1 + int(math.log10(abs(value))))
    try:
        return str(value) if isinstance(value, date | int | float) else repr(value)[: 2 * LONGEST]
    except ValueError:  # holds a whole number of thousands of digits
        return type(value).__name__


def _without_unit(text: str, word: str, examples: str) -> str:
    return msg(
        "{text} has no unit; write the {kind} with one, for example {examples}", text=text, kind=word, examples=examples
    )


@lru_cache(4096)
def _convert(text: str, kind: str, field: str, bare: str, language: str) -> tuple[float, float]:
    words = _PER.sub(" / ", _DOT.sub("", plain_text(text).replace("**", "^")))
    if kind == "money" and (match := _CURRENCY.fullmatch(words)):
        words = f"{match[1]}{match[3]} {match[2]}"
    if kind == "area" and (sides := _TIMES.split(words, maxsplit=1))[1:]:
        return _rectangle(text, sides, field, language)
    terms = _terms(text, words, kind, field, language)
    if not terms[0][1] and len(terms) == 1:
        unit = bare or ONLY_UNIT.get(kind, "")
        if not unit:
            raise InputError(field, _without_unit(f"'{text}'", KINDS[kind][2], KINDS[kind][1]))
        terms = [(terms[0][0], unit)]
    return _sum(text, terms, kind, field)


def _terms(text: str, words: str, kind: str, field: str, language: str) -> list[tuple[Numeral, str]]:
    """Return the numbers of a quantity, each with its unit."""
    _, examples, word = KINDS[kind]
    terms: list[tuple[Numeral, str]] = []
    start = 0
    while not terms or (words[start:].strip() and len(terms) <= TERMS):
        number = numeral_at(words, start, language, field)
        if number is None and not terms:
            raise InputError(
                field,
                msg(
                    "'{text}' does not start with a number; write the {kind} like this: {examples}",
                    text=text,
                    kind=word,
                    examples=examples,
                ),
            )
        end = unit_at(words, number.end) if number else start
        if number is None or (end == number.end and words[end:].strip()) or len(terms) == TERMS:
            rest = words[number.end if number else start :].strip()
            raise InputError(field, _unknown_unit(text, rest, examples))
        terms.append((number, words[number.end : end].strip()))
        between = _BETWEEN.match(words, end)
        start = between.end() if between else end
    return terms


def _unknown_unit(text: str, unit: str, examples: str) -> str:
    return msg(
        "'{text}' has the unknown unit '{unit}'; write, for example, {examples}",
        text=text,
        unit=unit,
        examples=examples,
    )


def _of_another_kind(text: str, unit: str, word: str, examples: str) -> str:
    return msg(
        "'{text}' is not a {kind}: the unit '{unit}' measures something else; write, for example, {examples}",
        text=text,
        unit=unit,
        kind=word,
        examples=examples,
    )


def _sum(text: str, terms: list[tuple[Numeral, str]], kind: str, field: str) -> tuple[float, float]:
    """Return the sum of a quantity's parts and the step of its last part, in SI."""
    wanted, examples, word = KINDS[kind]
    total, step, before = 0.0, 0.0, math.inf
    for place, (number, name) in enumerate(terms):
        unit = unit_of(name) if name else None
        if unit is None:
            missing = not name
            raise InputError(
                field, _without_unit(f"'{text}'", word, examples) if missing else _unknown_unit(text, name, examples)
            )
        if unit.dimension != known(wanted).dimension:
            raise InputError(field, _of_another_kind(text, name, word, examples))
        if place and (unit.factor >= before or number.signed or kind in ("temperature", "fraction", "money")):
            raise InputError(
                field,
                msg(
                    "'{text}' has its units out of order; write the larger unit first, or only one unit",
                    text=text,
                ),
            )
        sign = -1.0 if terms[0][0].value < 0 and place else 1.0
        total += sign * number.value * unit.factor + (unit.offset if kind == "temperature" else 0.0)
        step, before = number.step * unit.factor, unit.factor
    return total, step


def _rectangle(text: str, sides: list[str], field: str, language: str) -> tuple[float, float]:
    """Return the area of a rectangle from its two sides, the first in the unit of the second unless it has its own."""
    second = _terms(text, sides[1], "area", field, language)
    first = _terms(text, sides[0], "area", field, language)
    if not first[-1][1]:
        first[-1] = (first[-1][0], second[-1][1])
    long, long_step = _sum(text, first, "length", field)
    wide, wide_step = _sum(text, second, "length", field)
    return long * wide, abs(long) * wide_step + abs(wide) * long_step


def known(name: str) -> Unit:
    """Return a unit that the table has."""
    unit = unit_of(name)
    if unit is None:
        raise KeyError(name)
    return unit


def _not_finite(text: str, word: str) -> str:
    return msg("'{text}' is not a usable {kind}", text=text if isinstance(text, Message) else text[:20], kind=word)


def _finite(value: float, text: str, kind: str, field: str) -> float:
    if not abs(value) < LARGEST:
        raise InputError(field, _not_finite(text, KINDS[kind][2]))
    if kind == "temperature" and value < 0:
        raise InputError(field, msg("'{text}' is below absolute zero", text=text))
    return value


def celsius(kelvin: float) -> float:
    """Return a temperature [°C] from [K]."""
    return kelvin - ZERO_CELSIUS


def kelvin(celsius: float) -> float:
    """Return a temperature [K] from [°C]."""
    return celsius + ZERO_CELSIUS


def fahrenheit(degrees: float) -> float:
    """Return a temperature [K] from [°F]."""
    return (degrees + 459.67) / 1.8


def hours(seconds: float) -> float:
    """Return a time [h] from [s]."""
    return seconds / 3600.0

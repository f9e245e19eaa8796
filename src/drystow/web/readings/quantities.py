"""What a logger measures, in which units, and what of it can be true; knows nothing of the database."""

import re
from dataclasses import dataclass
from functools import cache

from drystow.errors import InputError
from drystow.messages import Message, msg
from drystow.shown import quantity as shown
from drystow.units import parse


@dataclass(frozen=True)
class MeasuredQuantity:
    """One thing that is measured in or at a dryer.

    name: in topics, files and addresses
    words: for people
    kind: of `drystow.units.KINDS`
    unit: of a number that comes without one
    low: smallest value that can be true, SI
    high: largest value that can be true, SI
    pattern: words in the head of a column that mean it
    """

    name: str
    words: Message
    kind: str
    unit: str
    low: float
    high: float
    pattern: str


QUANTITIES = {
    quantity.name: quantity
    for quantity in (
        MeasuredQuantity("shelf", msg("shelf temperature"), "temperature", "°C", 173.15, 473.15,
                 r"shel(?:f|ves)|heater|balda|estante"),
        MeasuredQuantity("product", msg("food temperature"), "temperature", "°C", 173.15, 423.15,
                 r"product|food|probe|tray|sample|thermocouple|\btc ?\d|core|bandeja|alimento|sonda"),
        MeasuredQuantity("pressure", msg("chamber pressure"), "pressure", "Pa", 0.0, 120_000.0,
                 r"pressure|vac|pirani|chamber p|\bp\b|presi[oó]n"),
        MeasuredQuantity("trap", msg("trap temperature"), "temperature", "°C", 93.15, 353.15,
                 r"trap|condens|coil|ice ?bank|trampa|serpent"),
        MeasuredQuantity("power", msg("electric power"), "power", "W", -10.0, 30_000.0, r"power|watt|potencia|load"),
        MeasuredQuantity("room", msg("room temperature"), "temperature", "°C", 223.15, 333.15,
                 r"room|ambient|amb\b|indoor|ambiente|cuarto|sala"),
    )
}  # fmt: skip
"""Bounds: far wider than any dryer runs; outside them a sensor is broken or the unit is wrong (drystow-default)."""

UNITS = {
    # unit as shown: (kind, one of it in the spelling of `drystow.units`, other spellings)
    "°C": ("temperature", "degC", ("c", "degc", "celsius", "ºc", "oc", "℃")),
    "°F": ("temperature", "degF", ("f", "degf", "fahrenheit", "ºf", "of", "℉")),
    "K": ("temperature", "K", ("k", "kelvin")),
    "Pa": ("pressure", "Pa", ("pa", "pascal")),
    "hPa": ("pressure", "hPa", ("hpa",)),
    "kPa": ("pressure", "kPa", ("kpa",)),
    "mbar": ("pressure", "mbar", ("mbar", "millibar")),
    "mTorr": ("pressure", "mTorr", ("mtorr", "millitorr", "micron", "microns", "µmhg", "umhg")),
    "Torr": ("pressure", "kmTorr", ("torr", "mmhg")),
    "W": ("power", "W", ("w", "watt", "watts")),
    "kW": ("power", "kW", ("kw", "kilowatt")),
}
SPELLINGS = {word: unit for unit, (_, _, words) in UNITS.items() for word in (unit.lower(), *words)}


def units_of(kind: str) -> tuple[str, ...]:
    """Return the units in which a kind of quantity is written."""
    return tuple(unit for unit, (of, _, _) in UNITS.items() if of == kind)


def unit_named(written: str, field: str = "unit") -> str:
    """Return a unit by any of its spellings."""
    word = written.strip().strip("[](){}").replace(" ", "").replace(".", "").lower()
    if word not in SPELLINGS:
        raise InputError(
            field,
            msg("'{unit}' is not a known unit; known units: {units}", unit=written[:20], units=", ".join(UNITS)),
        )
    return SPELLINGS[word]


@cache
def scale_of(unit: str) -> tuple[float, float]:
    """Return factor and offset that lead from a unit to SI.

    >>> [round(number, 4) for number in scale_of("°F")]
    [0.5556, 255.3722]
    """
    kind, spelling, _ = UNITS[unit]
    if unit == "Torr":
        return 1000.0 * scale_of("mTorr")[0], 0.0
    offset = parse(f"0 {spelling}", kind, "unit")
    return parse(f"1 {spelling}", kind, "unit") - offset, offset


def to_si(value: float, unit: str) -> float:
    """Return a value in SI."""
    factor, offset = scale_of(unit)
    return value * factor + offset


def possible(value: float, quantity: MeasuredQuantity) -> bool:
    """Return whether an SI value can be true; what is not a number cannot."""
    return quantity.low <= value <= quantity.high


def impossible_words(value: float, quantity: MeasuredQuantity) -> Message:
    """Return why a value is refused.

    value: in SI
    """
    return msg(
        "{value} can’t be a {quantity}; it should be {low} to {high}. Is the unit right, and the "
        "sensor connected?",
        value=shown(value, quantity.kind), quantity=quantity.words,
        low=shown(quantity.low, quantity.kind), high=shown(quantity.high, quantity.kind),
    )  # fmt: skip


def quantity_in(words: str) -> tuple[str, int]:
    """Return the quantity that some words mean and the number of its tray, ``("", 0)`` when they mean none.

    words: head of a column or end of a topic

    >>> quantity_in("Tray 3 probe (°F)"), quantity_in("condenser temp"), quantity_in("remarks")
    (('product', 3), ('trap', 0), ('', 0))
    """
    plain = re.sub(r"[_\-/.]+", " ", words.lower())
    for name in ("trap", "room", "shelf", "pressure", "product", "power"):
        if name == "pressure" and re.search(r"temp", plain):
            continue
        if re.search(QUANTITIES[name].pattern, plain):
            return name, _tray_in(plain) if name == "product" else 0
    return "", 0


def _tray_in(plain: str) -> int:
    number = re.search(r"\d{1,2}", plain)
    return int(number.group()) if number and 1 <= int(number.group()) <= 40 else 1


def unit_in(words: str) -> str:
    """Return the unit that stands in the head of a column, an empty text when there is none.

    >>> unit_in("Shelf Temp [degF]"), unit_in("Vacuum, mTorr"), unit_in("P_chamber_mbar"), unit_in("Shelf")
    ('°F', 'mTorr', 'mbar', '')
    """
    parts = re.findall(r"[^\s,;:_/\[\](){}]+", words.replace("deg ", "deg").replace("° ", "°"))
    for part in reversed(parts):
        word = part.strip(".").lower()
        if part in UNITS:
            return part
        if word in SPELLINGS and (len(word) > 1 or part != parts[0]):
            return SPELLINGS[word]
    return ""


def guess_unit(quantity: MeasuredQuantity, low: float, high: float) -> tuple[str, bool]:
    """Return the most likely unit of a column and whether it is sure, by the range of its values.

    low: smallest value as written
    high: largest value as written
    """
    fitting = [
        unit
        for unit in units_of(quantity.kind)
        if possible(to_si(low, unit), quantity) and possible(to_si(high, unit), quantity)
    ]
    if quantity.kind == "power":
        return ("kW", high > 0.05) if high < 30 and low >= 0 else ("W", True)
    if quantity.kind == "temperature":
        if low > 150:
            return "K", True
        if high > 130 or low < -110:
            return "°F", low >= -150
        return ("°C", False) if "°C" in fitting or not fitting else (fitting[0], False)
    return _guess_pressure(low, high)


def _guess_pressure(low: float, high: float) -> tuple[str, bool]:
    """A logger that also saw the air (about 1013 mbar, 760 Torr, 101 325 Pa) tells its unit by it; a vacuum alone does
    not: 300 may be Pa or mTorr, and is asked.
    """
    air = {"Pa": (75e3, 107e3), "mTorr": (560e3, 785e3), "Torr": (560.0, 785.0), "mbar": (785.0, 1070.0)}
    for unit, (least, most) in air.items():
        if least <= high <= most:
            return unit, True
    if high < 20:
        return "mbar", False
    return "Pa" if low >= 0 and high < 150 else "mTorr", False

"""The only place where SI values become text for a reader, in the reader's own units."""

import math
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from drystow.constants import ZERO_CELSIUS
from drystow.figures import MINUS, MISSING, Signs, fitting, fixed
from drystow.messages import Late, Reader
from drystow.units import fahrenheit

DISPLAY = {
    # kind: {system: (unit label, factor from SI, offset after the factor, decimals)}
    "mass": {"us": ("lb", 2.2046226, 0.0, 2), "si": ("kg", 1.0, 0.0, 2)},
    "small mass": {"us": ("oz", 35.273962, 0.0, 1), "si": ("g", 1000.0, 0.0, 0)},
    "fine mass": {"us": ("oz", 35.273962, 0.0, 2), "si": ("g", 1000.0, 0.0, 1)},
    "length": {"us": ("in", 39.370079, 0.0, 2), "si": ("mm", 1000.0, 0.0, 0)},
    "area": {"us": ("in²", 1550.0031, 0.0, 0), "si": ("m²", 1.0, 0.0, 3)},
    "tray area": {"us": ("ft²", 10.7639104, 0.0, 1), "si": ("m²", 1.0, 0.0, 2)},
    "volume": {"us": ("cups", 4226.7528, 0.0, 2), "si": ("mL", 1e6, 0.0, 0)},
    "large volume": {"us": ("qt", 1056.6882, 0.0, 1), "si": ("L", 1000.0, 0.0, 1)},
    "room": {"us": ("ft³", 35.314667, 0.0, 1), "si": ("L", 1000.0, 0.0, 0)},
    "gas": {"us": ("cc", 1e6, 0.0, 0), "si": ("mL", 1e6, 0.0, 0)},
    "temperature": {"us": ("°F", 1.8, -459.67, 0), "si": ("°C", 1.0, -ZERO_CELSIUS, 1)},
    "temperature difference": {"us": ("°F", 1.8, 0.0, 0), "si": ("°C", 1.0, 0.0, 1)},
    "pressure": {"us": ("mTorr", 7.50061683, 0.0, 0), "si": ("Pa", 1.0, 0.0, 1)},
    "time": {"us": ("h", 1 / 3600, 0.0, 1), "si": ("h", 1 / 3600, 0.0, 1)},
    "time within": {"us": ("h", 1 / 3600, 0.0, 1), "si": ("h", 1 / 3600, 0.0, 1)},  # promised: rounded up
    "energy": {"us": ("kWh", 1 / 3.6e6, 0.0, 1), "si": ("kWh", 1 / 3.6e6, 0.0, 1)},
    "power": {"us": ("W", 1.0, 0.0, 0), "si": ("W", 1.0, 0.0, 0)},
    "fraction": {"us": ("%", 100.0, 0.0, 1), "si": ("%", 100.0, 0.0, 1)},
    "mass flow": {"us": ("lb/h", 7936.6414, 0.0, 2), "si": ("kg/h", 3600.0, 0.0, 2)},
    "altitude": {"us": ("ft", 3.2808399, 0.0, 0), "si": ("m", 1.0, 0.0, 0)},
    "heat transfer": {"us": ("Btu/(h·ft²·°F)", 0.17611018, 0.0, 2), "si": ("W/(m²·K)", 1.0, 0.0, 1)},
    "pumping speed": {"us": ("ft³/min", 2118.88, 0.0, 1), "si": ("m³/h", 3600.0, 0.0, 1)},
    "leak": {"us": ("mTorr·L/s", 7500.61683, 0.0, 1), "si": ("mbar·L/s", 10.0, 0.0, 3)},
}

PATTERNS = ("{number} {unit}", "{low} to {high}", "{own} ({other})", "{currency}{number}", "{currency} {number}")
"""How number, unit and money stand together, for the catalogues."""
OTHER = {"us": "si", "si": "us"}
WHOLE_IN_SENTENCES = ("temperature",)  # kinds of which a sentence gives no decimals; a table does


class Quantity(Late):
    """A quantity that is written in the units of its reader.

    Make it with `quantity`, `both`, `show` or `percent`.
    """

    value: float
    kind: str
    system: str
    decimals: int | None
    signed: bool
    twice: bool
    short: bool
    high: float | None

    def told(self, reader: Reader) -> str:
        """Return the quantity for a reader."""
        system = self.system or reader.units
        own, other = self._in(system, reader), self._in(OTHER[system], reader)
        if not self.twice or own == other:
            return own
        return reader("{own} ({other})").format(own=own, other=other)

    def _in(self, system: str, reader: Reader) -> str:
        label, factor, offset, usual = DISPLAY[self.kind][system]
        if self.value != self.value:
            return MISSING
        if self.kind in KITCHEN and self.decimals is None and not (self.short or self.signed or self.high is not None):
            return KITCHEN[self.kind](self.value, system, reader)
        decimals = usual if self.decimals is None else self.decimals
        written = []
        for value in (self.value,) if self.high is None else (self.value, self.high):
            number = value * factor + offset
            digits = decimals if offset else fitting(number, decimals)
            while self.short and digits and round(number, digits) == round(number, digits - 1):
                digits -= 1
            written.append(fixed(number, digits, reader.signs, signed=self.signed))
        number_words = written[0]
        if len(set(written)) > 1:
            number_words = reader("{low} to {high}").format(low=written[0], high=written[1])
        if label == "%":
            return number_words + reader.signs.percent
        return reader("{number} {unit}").format(number=number_words, unit=reader(label))


def _with_unit(number: str, unit: str, reader: Reader) -> str:
    return reader("{number} {unit}").format(number=number, unit=reader(unit))


def _weight(mass: float, system: str, reader: Reader) -> str:
    """Return a weight as a kitchen scale shows it: ounces below a pound, grams below a kilogram."""
    unit, small = ("lb", "oz") if system == "us" else ("kg", "g")
    number, part = (to_display(mass, kind, system) for kind in ("mass", "small mass"))
    if round(abs(number), 2) >= 1.0:
        few = 0.0 if system == "us" else 10.0
        decimals = (abs(number) < 100.0) + (abs(number) < few)
        return _with_unit(fixed(number, decimals, reader.signs), unit, reader)
    whole = round(abs(part), 1) >= (4.0 if system == "us" else 10.0)
    return _with_unit(fixed(part, 0 if whole else fitting(part, 1), reader.signs), small, reader)


def _cups(volume: float, system: str, reader: Reader) -> str:
    """Return a volume in cups with the quarters and thirds of measuring cups, in spoons where none is near."""
    if system != "us":
        return _with_unit(fixed(volume * 1e6, 0, reader.signs), "mL", reader)
    cups = to_display(volume, "volume", "us")
    if not math.isfinite(cups) or abs(cups) >= 100.0:
        return _with_unit(fixed(cups, 0, reader.signs), CUPS, reader)
    if cups < SMALLEST_CUP or (cups < 1.0 and min(abs(cups - part) for part in CUP_PARTS) > 1 / SPOONS):
        return _with_unit(_broken(cups * SPOONS, SPOON_PARTS, reader), SPOON, reader)
    words = _broken(cups, CUP_PARTS if cups < FEW_CUPS else SPOON_PARTS, reader)
    return _with_unit(words, CUP if words == "1" or (words.count("/") and " " not in words) else CUPS, reader)


def _broken(number: float, parts: Mapping[float, str], reader: Reader) -> str:
    """Return a number as a whole one and the nearest of some common fractions."""
    sign, size = (MINUS, -number) if number < 0 else ("", number)
    whole = math.floor(size)
    part = min(parts, key=lambda one: abs(size - whole - one))
    if part == 1.0:
        whole, part = whole + 1, 0.0
    shown = " ".join(word for word in (fixed(float(whole), 0, reader.signs) if whole else "", parts[part]) if word)
    return sign + shown if shown else "0"


def _span(seconds: float, system: str, reader: Reader, whole: Callable[[float], int] = round) -> str:
    """Return a time as a cook says it: minutes, hours and minutes, hours alone, days and hours."""
    if not math.isfinite(seconds):
        return _with_unit(fixed(seconds, 0, reader.signs), "h", reader)
    minutes, hours = (whole(abs(seconds) / unit) for unit in (60.0, 3600.0))
    sign = MINUS if seconds < 0 and minutes else ""
    if minutes < 60:
        return f"{sign}{minutes} min"
    if minutes < 10 * 60:
        return sign + _two(minutes, 60, "h", "min")
    return sign + (f"{hours} h" if hours <= 3 * 24 else _two(hours, 24, "d", "h"))


def _two(count: int, size: int, large: str, small: str) -> str:
    whole, rest = divmod(count, size)
    return " ".join([f"{whole:,} {large}"] * bool(whole) + [f"{rest} {small}"] * bool(rest))


CUP_PARTS = {0.0: "", 0.25: "1/4", 1 / 3: "1/3", 0.5: "1/2", 2 / 3: "2/3", 0.75: "3/4", 1.0: ""}
SPOON_PARTS = {0.0: "", 0.5: "1/2", 1.0: ""}
SPOONS, SMALLEST_CUP, FEW_CUPS = 16, 0.23, 6.0
CUP, CUPS, SPOON = MEASURES = "cup", "cups", "tbsp"
KITCHEN: Mapping[str, Callable[[float, str, Reader], str]] = {"mass": _weight, "volume": _cups, "time": _span,
    "time within": lambda time, system, reader: _span(max(time - 1.0, 0.0), system, reader, math.ceil)}  # fmt: skip
"""Kinds with no more digits than a kitchen needs, where nobody asks for some; files and programs get all of them."""


class Money(Late):
    """A sum of money, with the signs of its reader's language."""

    value: float
    currency: str
    decimals: int

    def told(self, reader: Reader) -> str:
        """Return the sum for a reader."""
        number = fixed(self.value, self.decimals, reader.signs)
        minus = MINUS if number.startswith(MINUS) else ""
        pattern = "{currency} {number}" if self.currency[-1:].isalpha() else "{currency}{number}"
        return minus + reader(pattern).format(currency=self.currency, number=number.removeprefix(minus))


Shown = TypeVar("Shown", Quantity, Money)


def values_of(text: Quantity | Money) -> dict[str, Any]:
    """Return a quantity or a sum of money as plain data, for a database."""
    return dict(text.__dict__)


def shown_again(data: dict[str, Any]) -> Quantity | Money:
    """Return the quantity or the sum of money of its plain data.

    >>> shown_again(values_of(both(250.15, "temperature")))
    '−23 °C (−9 °F)'
    """
    return _late(Money(), data) if "currency" in data else _late(Quantity(), data)


def _late(blank: Shown, values: dict[str, Any]) -> Shown:
    """Return a text that knows the values from which it is written; `blank` only says of which class."""
    blank.__dict__ = values
    made = type(blank)(blank.told(Reader()))
    made.__dict__ = values
    return made


def _quantity(value: float, kind: str, **how: Any) -> Quantity:
    usual = {"system": "", "decimals": None, "signed": False, "twice": False, "short": False, "high": None}
    return _late(Quantity(), {"value": float(value), "kind": kind, **usual, **how})


def to_display(value: float, kind: str, system: str = "us") -> float:
    """Return an SI value in the display unit of `kind` in system ``us`` or ``si``."""
    _, factor, offset, _ = DISPLAY[kind][system]
    return value * factor + offset


def as_shown(value: float, kind: str, system: str, decimals: int | None = None) -> float:
    """Return the SI value of the rounded number that `show` writes.

    >>> print(f"{as_shown(0.21149, 'small mass', 'si'):.3f}")
    0.211
    """
    _, factor, offset, usual = DISPLAY[kind][system]
    number = value * factor + offset
    digits = usual if decimals is None else decimals
    written = fixed(number, digits if offset else fitting(number, digits), Signs("", "."))
    return (float(written.replace(MINUS, "-")) - offset) / factor


def quantity(
    value: float, kind: str, decimals: int | None = None, *, signed: bool = False, short: bool = False
) -> Quantity:
    """Return an SI value for a sentence of the engine, which comes to its reader in the reader's unit.

    value: in SI
    kind: of `DISPLAY`
    decimals: other than usual
    signed: a plus before a positive value
    short: no zeros at the end, as for what is allowed rather than measured

    >>> quantity(250.15, "temperature"), quantity(250.15, "temperature").told(Reader(units="us"))
    ('−23 °C', '−9 °F')
    """
    return _quantity(value, kind, decimals=_in_sentence(kind, decimals), signed=signed, short=short)


def between(low: float, high: float, kind: str, decimals: int | None = None, *, signed: bool = False) -> Quantity:
    """Return a range of SI values for a sentence of the engine, its unit once; only a signed one has zeros at its end.

    >>> between(0.0, 3.05, "temperature difference"), between(250.15, 253.15, "temperature").told(Reader(units="us"))
    ('0 to 3 °C', '−9 to −4 °F')
    """
    decimals = _in_sentence(kind, decimals)
    return _quantity(low, kind, decimals=decimals, signed=signed, short=not signed, high=float(high))


def both(value: float, kind: str, decimals: int | None = None) -> Quantity:
    """Return an SI value in both units, the reader's own first: for sentences on which the safety of food rests.

    >>> both(250.15, "temperature"), both(277.59, "temperature").told(Reader(units="us"))
    ('−23 °C (−9 °F)', '40 °F (4 °C)')
    """
    return _quantity(value, kind, decimals=_in_sentence(kind, decimals), twice=True)


def _in_sentence(kind: str, decimals: int | None) -> int | None:
    return 0 if decimals is None and kind in WHOLE_IN_SENTENCES else decimals


def show(value: float | None, kind: str, system: str = "us", decimals: int | None = None) -> str:
    """Return an SI value as text with its unit in a system; a missing value as a dash.

    >>> show(253.15, "temperature", "us"), show(0.0127, "length", "si")
    ('−4 °F', '13 mm')
    """
    return MISSING if value is None else _quantity(value, kind, system=system, decimals=decimals)


def percent(share: float, decimals: int = 0) -> str:
    """Return a share [-] as text.

    >>> percent(0.62), percent(0.032, 1)
    ('62%', '3.2%')
    """
    return _quantity(share, "fraction", decimals=decimals)


def price(value: float, currency: str) -> str:
    """Return a price of one of something, to the hundredth of a cent where it has such a digit.

    >>> price(0.1735, "$"), price(0.17, "$")
    ('$0.1735', '$0.17')
    """
    return money(value, currency, next((more for more in (2, 3) if abs(value - round(value, more)) < 5e-7), 4))


def money(value: float | None, currency: str, decimals: int = 2) -> str:
    """Return a sum of money; a missing one as a dash.

    >>> money(1054.938, "$"), money(-3, "CHF"), money(12345.6, "$", 0)
    ('$1,054.94', '−CHF 3.00', '$12,346')
    """
    if value is None:
        return MISSING
    return _late(Money(), {"value": float(value), "currency": currency, "decimals": decimals})


# How cold food is kept, in the round numbers of the food codes.
REFRIGERATOR, FREEZER = both(fahrenheit(40.0), "temperature"), both(fahrenheit(0.0), "temperature")

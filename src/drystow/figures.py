"""How the digits of a number are written: the only place that does it, for every language."""

import math
import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

MINUS = "\N{MINUS SIGN}"
ENDLESS = "∞"
MISSING = "–"

_FIXED = re.compile(r"(\+?)\.(\d)([f%])")
LARGEST_EXACT = 1e20
_EXAMPLE = re.compile(r"1(.?)000(.)5(.*)")
_PLAIN = re.compile(r"([+-]?)(\d+)(?:\.(\d+))?")
_LARGEST, _SMALLEST = 9, -7  # powers of ten that are still written out
_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


@dataclass(frozen=True)
class Signs:
    """How a language parts the digits of a number.

    thousands: between groups of three digits
    decimal: before the part below one
    percent: after a number of hundredths, with the space before it where the language has one
    """

    thousands: str = ","
    decimal: str = "."
    percent: str = "%"


ENGLISH = Signs()


def signs_of(example: str) -> Signs:
    """Return how a language parts digits, read from how it writes one thousand and a half percent.

    >>> signs_of("1.000,5 %"), signs_of("1000.5%")
    (Signs(thousands='.', decimal=',', percent=' %'), Signs(thousands='', decimal='.', percent='%'))
    """
    match = _EXAMPLE.fullmatch(example)
    assert match is not None, example
    return Signs(*match.groups())


def fixed(value: float, decimals: int, signs: Signs = ENGLISH, *, signed: bool = False) -> str:
    """Return a number with so many digits below one.

    >>> fixed(1054.94, 2), fixed(-0.001, 1), fixed(-3.2, 0), fixed(3.2, 1, signed=True)
    ('1,054.94', '0.0', '−3', '+3.2')
    """
    return formatted(value, f"{'+' if signed else ''}.{decimals}f", signs)


def formatted(value: float, spec: str, signs: Signs = ENGLISH) -> str:
    """Return a number by a format of Python, with the signs of a language.

    >>> formatted(0.0004, ".1f"), formatted(12345, ""), formatted(1e-9, "g"), formatted(2e7, "g")
    ('0.0', '12,345', '1 × 10⁻⁹', '20,000,000')
    """
    if not math.isfinite(value):
        return MISSING if math.isnan(value) else ENDLESS if value > 0 else MINUS + ENDLESS
    text = _half_up(value, spec) or format(value, spec)
    digits, percent, _rest = text.partition("%")
    digits, _e, power = digits.partition("e")
    if power and _SMALLEST < int(power) < _LARGEST:
        digits, power = format(Decimal(f"{digits}e{power}"), "f"), ""
    match = _PLAIN.fullmatch(digits)
    if match is None:  # set in a column, or no number at all
        return text
    sign, whole, below = match.groups()
    if not (int(whole) or int(below or 0)):
        sign = ""
    grouped = f"{int(whole):,}".replace(",", signs.thousands) if len(whole) > 3 else whole
    written = sign.replace("-", MINUS) + grouped + (signs.decimal + below if below else "")
    raised = f" × 10{str(int(power)).translate(_RAISED)}" if power else ""
    return written + raised + (signs.percent if percent else "")


def _half_up(value: float, spec: str) -> str:
    """Return a number with fixed decimals as people round, 1.25 to 1.3; nothing for other formats."""
    match = _FIXED.fullmatch(spec)
    if match is None or not isinstance(value, float) or abs(value) > LARGEST_EXACT:
        return ""
    exact = Decimal(repr(float(value))) * (100 if match[3] == "%" else 1)
    rounded = exact.quantize(Decimal(1).scaleb(-int(match[2])), ROUND_HALF_UP)
    return format(rounded, match[1] + "f") + ("%" if match[3] == "%" else "")


def fitting(value: float, decimals: int) -> int:
    """Return how many digits below one say enough: more for a small number that would vanish, fewer for a large one.

    >>> fitting(3.14159, 2), fitting(0.004, 2), fitting(1e-9, 2), fitting(31415.9, 2)
    (2, 3, 2, 0)
    """
    size = abs(value)
    if not math.isfinite(value):
        return decimals
    if round(size, decimals) >= 10_000:
        return 0
    if round(size, decimals) >= 1_000:
        return min(decimals, 1)
    if size == 0 or round(size, decimals) > 0:
        return decimals
    return next((more for more in (decimals + 1, decimals + 2) if round(size, more) > 0), decimals)


def typed(value: float, digits: int, signs: Signs = ENGLISH) -> str:
    """Return a number as a person types it: no groups, no zeros at the end, every digit above one.

    >>> typed(12345.6, 4), typed(0.00025, 4), typed(-2.50, 4), typed(1.5, 4, Signs(".", ","))
    ('12346', '0.00025', '−2.5', '1,5')
    """
    rounded = Decimal(f"{value:.{digits}g}") if abs(value) < 10**digits else Decimal(f"{value:.0f}")
    text = format(rounded, "f")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return ("0" if text == "-0" else text).replace("-", MINUS).replace(".", signs.decimal)

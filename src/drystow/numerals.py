"""Numbers as people write them: with the signs of their language, as fractions, with a power of ten."""

import re
import unicodedata
from dataclasses import dataclass

from drystow.errors import InputError
from drystow.messages import msg

LARGEST = 1e30
"""No quantity is as large, in SI."""

LONGEST = 80
"""Signs in a number or quantity."""

MOST_FIGURES = 18
"""Figures of a whole number that a database can hold."""

MOST_DIGITS = 24
"""Signs in a number with groups or another decimal sign; Python's decimals hold 28."""

_NUMERAL = re.compile(
    r"""\s*(?P<sign>[-+]?)\s*(?:
    (?:(?P<whole>[0-9]{1,6})(?:\s+|\s*-\s*|\s+&\s+))?(?P<over>[0-9]{1,4})\s*/\s*(?P<under>[0-9]{1,4})(?![0-9.,])
    |(?P<plain>[0-9]+(?:[.,\u00a0\u2009\u202f][0-9]+)*\.?|[.,][0-9]+)(?P<power>[eE][-+]?[0-9]{1,4}(?![0-9]))?
    )""",
    re.VERBOSE,
)
_PLAIN_NUMBER = re.compile(r"[0-9]+(?:[.,\u00a0\u2009\u202f][0-9]+)+")
_POINT = re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+")
_SPACES = dict.fromkeys(map(ord, "\u00a0\u2009\u202f"))


@dataclass(frozen=True)
class Numeral:
    """A number that was read.

    value: the number [-]
    step: one in its last digit, or the part of a fraction [-]
    end: place in the text after it
    signed: whether a sign stood before it
    """

    value: float
    step: float
    end: int
    signed: bool


def numeral_at(text: str, start: int = 0, language: str = "en", field: str = "") -> Numeral | None:
    """Return the number that begins at a place of a text, None when there is none.

    language: of the reader; a written file follows the rules of English
    field: for the error message

    >>> numeral_at("1 1/2 in").value, numeral_at("5,000 ft").value, numeral_at("1.200,5 g", language="es").value
    (1.5, 5000.0, 1200.5)
    """
    match = _NUMERAL.match(text, start)
    if match is None:
        return None
    sign = -1.0 if match["sign"] == "-" else 1.0
    if match["over"]:
        under = int(match["under"])
        if under == 0:
            return None
        value, step = int(match["whole"] or 0) + int(match["over"]) / under, 1.0 / under
    else:
        plain, power = match["plain"].translate(_SPACES), match["power"] or "e0"
        point = plain if _POINT.fullmatch(plain) and (language == "en" or plain.isdigit()) else None
        point = point or _by_language(plain, language, text, field)
        value = float(point + power)
        step = float(f"1e{int(power[1:]) - len(point.partition('.')[2])}")
    return Numeral(sign * value, step, match.end(), bool(match["sign"]))


def read_number(text: str, language: str = "en", field: str = "") -> float:
    """Return a text as a number, or raise `InputError` with what to write.

    text: nothing but the number
    language: of the reader
    field: for the error message
    """
    found = numeral_at(plain_text(text), 0, language, field) if len(text) <= LONGEST else None
    if found is None or plain_text(text)[found.end :].strip():
        raise InputError(
            field, msg("'{text}' is not a number; write, for example, {example}", text=text[:20], example="1.5")
        )
    if not abs(found.value) < LARGEST:
        raise InputError(field, msg("'{text}' is too large", text=text[:20]))
    return found.value


def whole_in(text: str) -> int | None:
    """Return the small whole number that a program wrote into an address or a hidden field, None for anything else.

    >>> whole_in("12"), whole_in("²"), whole_in("9" * 5000)
    (12, None, None)
    """
    return int(text) if text.isascii() and text.isdigit() and len(text) <= MOST_FIGURES else None


def in_english(text: str, language: str) -> str:
    """Return a text with every number in it as a written file has it: with a decimal point and without digit groups.

    language: of the reader who wrote it

    >>> in_english("1.200,5 g", "es"), in_english("1,200 W", "en")
    ('1200.5 g', '1200 W')
    """
    return _PLAIN_NUMBER.sub(lambda match: _by_language(match[0].translate(_SPACES), language, text, ""), text)


def plain_text(text: str) -> str:
    """Return a text with the signs of a keyboard: fractions as 1/2, one minus, one raised dot.

    >>> plain_text("1½ in²")
    '1 1/2  in^2'
    """
    return "".join(_PLAIN.get(sign) or _fraction(sign) for sign in text)


_PLAIN = {
    "−": "-", "–": "-", "×": "x", "·": "*", "⋅": "*", "∙": "*", "²": "^2", "³": "^3", "μ": "µ", "º": "°",
    "″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "⁄": "/", "∕": "/",
}  # fmt: skip


def _fraction(sign: str) -> str:
    if not unicodedata.decomposition(sign).startswith("<fraction>"):
        return sign
    return f" {unicodedata.normalize('NFKC', sign).replace('⁄', '/')} "


def _by_language(plain: str, language: str, text: str, field: str) -> str:
    """Return a number with digit groups or another decimal sign, with a point and no groups."""
    from babel.core import Locale
    from babel.numbers import NumberFormatError, get_decimal_symbol, get_group_symbol, parse_decimal

    if len(plain) > MOST_DIGITS:
        raise InputError(field, msg("'{text}' has too many digits; round the number", text=text.strip()[:30]))
    locale = Locale.parse(language, sep="-")
    try:
        return format(parse_decimal(plain, locale=locale, strict=True), "f")
    except NumberFormatError:
        if get_decimal_symbol(locale) != "." and _POINT.fullmatch(plain):
            return plain  # no group of three: a decimal point, the only one that many keyboards have
    decimal, group = get_decimal_symbol(locale), get_group_symbol(locale)
    head, _, tail = plain.partition(group)
    if head.isdigit() and tail.isdigit() and len(tail) < 3:
        ways = msg("{first} or {second}", first=f"{head}{decimal}{tail}", second=f"{head}{group}{tail:0<3}")
    else:
        ways = msg("{first} or {second}", first=f"1{decimal}5", second=f"1{group}500{decimal}5")
    raise InputError(
        field,
        msg("'{text}' can be read in more than one way; write {ways}", text=text.strip()[:30], ways=ways),
    )

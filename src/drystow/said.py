"""Sentences that stay translatable: English text that remembers its pattern and values until it reaches a reader."""

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any

DECIMAL = "1.5"
"""One and a half, in the catalogues for its decimal sign."""

_NUMBER = re.compile(r"(?<![\d.])(?<!\d,)(\d+)\.(\d+)(?!\d|[.,]\d)")
"""A number with a decimal point and no digit groups."""

_QUANTITY = re.compile(r"(-?\d[\d.,]*) (\D+)")

Translate = Callable[[str], str]
"""Gives a pattern or a word in the reader's language, and what it does not know as it is, such as gettext."""


class Said(str):
    """An English sentence that knows how it was put together; everywhere else it is an ordinary text."""

    template: str
    values: dict[str, Any]


def say(template: str, /, **values: Any) -> Said:
    """Return a sentence.

    template: the English sentence with its values in braces, ``"{mass:.1f} kg is too much"``; the text that
        translators see
    values: what goes into the braces; a value that is itself said is translated too

    >>> say("no more than {count} trays", count=4)
    'no more than 4 trays'
    >>> say("{share:.0%} of it", share=0.62)
    '62 % of it'
    """
    sentence = Said(_filled(template, values))
    sentence.template = template
    sentence.values = values
    return sentence


def listed(parts: Iterable[str]) -> Said:
    """Return words in a row, parted by commas; those that were said are told one by one.

    parts: the words

    >>> listed(["milk", "egg"])
    'milk, egg'
    """
    words = {f"part{number}": part for number, part in enumerate(parts)}
    return say(", ".join(f"{{{name}}}" for name in words), **words)


def ends(low: str, high: str) -> tuple[str, str]:
    """Return the two ends of a range, the first without its unit where both have the same one.

    low, high: each a number and its unit, or any other words

    >>> ends("10 years", "25 years"), ends("45 min", "2 h"), ends("1 h 4 min", "2 h 8 min")
    (('10', '25 years'), ('45 min', '2 h'), ('1 h 4 min', '2 h 8 min'))
    """
    parts = [_QUANTITY.fullmatch(text) for text in (low, high)]
    first, second = parts
    shared = first is not None and second is not None and first[2] == second[2]
    return (first[1], high) if shared and first is not None else (low, high)


def told(text: str, translate: Translate) -> str:
    """Return a text of the engine in the reader's language, with the reader's decimal sign.

    text: a sentence that was said; any other text is looked up as a whole, such as the name of a container
    translate: to the reader's language; how it writes `DECIMAL` tells the decimal sign

    >>> spanish = {"no more than {count} trays": "máximo {count} bandejas", "1.5": "1,5", "h": "horas"}
    >>> told(say("no more than {count} trays", count=4), lambda text: spanish.get(text, text))
    'máximo 4 bandejas'
    >>> told("2.5 h", lambda text: spanish.get(text, text))
    '2,5 h'
    """
    if not text:
        return ""
    if isinstance(text, Said):
        values = {name: _value(value, translate) for name, value in text.values.items()}
        sentence = _filled(translate(text.template), values)
    else:
        sentence = translate(str(text))
    sign = translate(DECIMAL)[1:-1]
    return sentence if sign == "." else _NUMBER.sub(rf"\1{sign}\2", sentence)


def english(text: str) -> str:
    """Return a pattern as it is: the reader reads English."""
    return text


def _filled(template: str, values: Mapping[str, Any]) -> str:
    """Return a pattern with its values; a percent sign stands apart from its number, as in the SI."""
    return template.replace("%}", "%}\0").format(**values).replace("%\0", " %")


def _value(value: Any, translate: Translate) -> Any:
    return told(value, translate) if isinstance(value, str) else value

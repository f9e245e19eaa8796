"""Sentences that stay translatable: English text that remembers its pattern and values until it reaches a reader."""

import re
import string
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import ceil
from numbers import Real
from typing import Any, Self

from drystow.figures import ENGLISH, Signs, formatted, signs_of

EXAMPLE = "1,000.5%"
"""One thousand and a half percent, in the catalogues for how a language parts digits and sets the percent sign."""

_NUMBER = re.compile(r"(?<![\d.])(?<!\d,)(\d+)\.(\d+)(?!\d|[.,]\d)")
"""A number with a decimal point and no digit groups."""

_QUANTITY = re.compile(r"([-−]?\d[\d.,]*)( ?\D+)")

Translate = Callable[[str], str]
"""Gives a pattern or a word in the reader's language, and what it does not know as it is, such as gettext."""


Choose = Callable[[str, str, int], str]
"""Gives one of a text's forms by a number and the plural rule of the reader's language, such as ngettext."""


def english(text: str) -> str:
    """Return a pattern as it is: the reader reads English."""
    return text


@dataclass(frozen=True)
class Reader:
    """Who reads a text; stands wherever a `Translate` may.

    translate: to the language
    units: ``us`` or ``si``
    choose: among the forms of a text about a number; without it the rule of English
    """

    translate: Translate = english
    units: str = "si"
    choose: Choose | None = None

    @classmethod
    def of(cls, translate: Translate, units: str) -> Self:
        """Return who reads in a language, or what another reader does, in these units."""
        if isinstance(translate, Reader):
            return cls(translate.translate, units, translate.choose)
        return cls(translate, units)

    def __call__(self, text: str) -> str:
        """Return a pattern or a word in the language."""
        return self.translate(text)

    def counted(self, one: str, many: str, count: float) -> str:
        """Return the pattern of a sentence about a number of things in the language; a fraction counts as many."""
        if self.choose is None:
            return self.translate(one if count == 1 else many)
        return self.choose(one, many, int(count) if float(count).is_integer() else max(2, ceil(count)))

    @property
    def signs(self) -> Signs:
        """How the language parts the digits of a number."""
        return signs_of(self.translate(EXAMPLE))


class Late(str):
    """A text that is written anew for each reader; as it stands it is in English and SI, for logs and files."""

    def told(self, reader: Reader) -> str:
        """Return the text for a reader."""
        raise NotImplementedError


class Message(Late):
    """An English sentence that knows how it was put together; everywhere else it is an ordinary text."""

    template: str
    values: dict[str, Any]
    many: str = ""

    def told(self, reader: Reader) -> str:
        """Return the sentence for a reader."""
        values = {name: told(one, reader) if isinstance(one, str) else one for name, one in self.values.items()}
        return _filled(self._pattern(reader), values, reader.signs)

    def again(self, values: Mapping[str, Any]) -> "Message":
        """Return the same sentence with other values."""
        return msg_many(self.template, self.many, **values) if self.many else msg(self.template, **values)

    def _pattern(self, reader: Reader) -> str:
        if not self.many:
            return reader.translate(self.template)
        return reader.counted(self.template, self.many, self.values["count"])


def msg(template: str, /, **values: Any) -> Message:
    """Return a sentence.

    template: the English sentence with its values in braces, ``"{mass:.1f} kg is too much"``; the text that
        translators see
    values: what goes into the braces; a value that is itself said is translated too

    >>> msg("no more than {count} trays", count=4)
    'no more than 4 trays'
    >>> msg("{share:.0%} of it", share=0.62)
    '62% of it'
    """
    sentence = Message(_filled(template, values))
    sentence.template = template
    sentence.values = values
    return sentence


def msg_many(one: str, many: str, /, count: float, **values: Any) -> Message:
    """Return a sentence about a number of things: the only way to write a noun behind a number that may be one.

    one: for exactly one
    many: for every other number, also none; translators see both as one text, with the plural forms of their language
    count: what ``{count}`` stands for, rounded as it is shown
    values: what goes into the other braces

    >>> msg_many("{count} tray", "{count} trays", 1), msg_many("{count} tray", "{count} trays", 4)
    ('1 tray', '4 trays')
    """
    count = int(count) if float(count).is_integer() else count  # 1.0 tray is one tray
    sentence = msg(one if count == 1 else many, count=count, **values)
    sentence.template, sentence.many = one, many
    return sentence


def listed(parts: Iterable[str]) -> Message:
    """Return words in a row, parted by commas; those that were said are told one by one.

    parts: the words

    >>> listed(["milk", "egg"])
    'milk, egg'
    """
    words = {f"part{number}": part for number, part in enumerate(parts)}
    return msg(", ".join(f"{{{name}}}" for name in words), **words)


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


def ranged(low: str, high: str) -> str:
    """Return a range in words, its unit once where both ends have the same, as one where both read the same.

    low, high: each a number and its unit, or any other words

    >>> ranged("10 years", "25 years"), ranged("45 min", "2 h"), ranged("2 h", "2 h")
    ('10 to 25 years', '45 min to 2 h', '2 h')
    """
    first, last = ends(low, high)
    return low if low == high else msg("{low} to {high}", low=first, high=last)


def told(text: str, translate: Translate) -> str:
    """Return a text of the engine in the reader's language, with the reader's decimal sign.

    text: a sentence that was said; any other text is looked up as a whole, such as the name of a container
    translate: to the reader's language, or the `Reader`

    >>> spanish = {"no more than {count} trays": "máximo {count} bandejas", "1,000.5%": "1.000,5 %", "h": "horas"}
    >>> told(msg("no more than {count} trays", count=4), lambda text: spanish.get(text, text))
    'máximo 4 bandejas'
    >>> told("2.5 h", lambda text: spanish.get(text, text))
    '2,5 h'
    """
    if not text:
        return ""
    reader = translate if isinstance(translate, Reader) else Reader(translate)
    if isinstance(text, Late):
        return text.told(reader)
    return _with_sign(reader.translate(str(text)), reader.signs)


def _with_sign(text: str, signs: Signs) -> str:
    """Return a text that was not said with the decimal sign of the language."""
    return text if signs.decimal == "." else _NUMBER.sub(rf"\1{signs.decimal}\2", text)


class _Writer(string.Formatter):
    """Fills a pattern; its numbers are written by `drystow.figures`."""

    def __init__(self, signs: Signs) -> None:
        self.signs = signs

    def parse(self, format_string: Any) -> Iterator[tuple[str, str | None, str | None, str | None]]:
        """Yield the parts of a pattern, the words between the braces with the decimal sign of the language."""
        for words, name, spec, turned in super().parse(format_string):
            yield _with_sign(words, self.signs), name, spec, turned

    def format_field(self, value: Any, format_spec: str) -> str:
        """Return one value as text."""
        if isinstance(value, Real) and not isinstance(value, bool):
            return formatted(value, format_spec, self.signs)  # type: ignore[arg-type]
        return format(value, format_spec)


def _filled(template: str, values: Mapping[str, Any], signs: Signs = ENGLISH) -> str:
    return _Writer(signs).vformat(template, (), values)

"""Sentences that stay translatable: English text that remembers its pattern and values until it reaches a reader."""

from collections.abc import Callable
from typing import Any


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
    """
    sentence = Said(template.format(**values))
    sentence.template = template
    sentence.values = values
    return sentence


def told(text: str, translate: Callable[[str], str]) -> str:
    """Return a sentence in the reader's language; a text that was not said here stays as it is.

    text: a sentence
    translate: gives the pattern in the reader's language, such as gettext

    >>> told(say("no more than {count} trays", count=4), {"no more than {count} trays": "máximo {count}"}.__getitem__)
    'máximo 4'
    """
    if not isinstance(text, Said):
        return text
    values = {name: told(value, translate) if isinstance(value, str) else value for name, value in text.values.items()}
    return translate(text.template).format(**values)

"""The engine's words in the reader's language, chosen when they are shown."""

from collections.abc import Mapping
from typing import Any

from django.utils import translation
from django.utils.translation import gettext

from drystow.errors import DrystowError, InputError
from drystow.reports.text import sentence
from drystow.said import Said, say, told


def in_words(text: str) -> str:
    """Return a text of the engine, or one that was kept in English, in the reader's language."""
    return told(text, gettext)


def sentence_words(text: str) -> str:
    """Return a note of the engine in the reader's language, with a capital at its start, a stop at its end,
    and degrees that stay with their number.
    """
    return sentence(text, gettext).replace(" °", "\N{NO-BREAK SPACE}°") if text else ""


def problem_words(error: DrystowError) -> str:
    """Return an error of the engine in the reader's language, one line for each of its problems."""
    return "\n".join(_problem(one) for one in error.problems)


def _problem(error: DrystowError) -> str:
    if not isinstance(error, InputError):
        return told(str(error), gettext)
    words = told(error.message, gettext)
    return f"{error.field}: {words}" if error.field else words


def in_english(words: object) -> str:
    """Return a text marked for translation as it is kept in the database."""
    with translation.override("en"):
        return str(words)


def kept(text: str) -> dict[str, Any]:
    """Return a sentence as data for the database: its pattern and values, nothing for an ordinary text.

    >>> kept(say("tray {tray}: {food}", tray=2, food="kale"))
    {'pattern': 'tray {tray}: {food}', 'values': {'tray': 2, 'food': 'kale'}}
    """
    if not isinstance(text, Said) or not text.values:
        return {}
    return {"pattern": text.template, "values": {name: kept(one) or one for name, one in text.values.items()}}


def again(data: dict[str, Any], text: str) -> str:
    """Return the sentence of `kept` data, else the text that stands beside it.

    >>> again({"pattern": "tray {tray}", "values": {"tray": 2}}, "").template
    'tray {tray}'
    """
    if not data:
        return text
    values = {name: again(one, "") if isinstance(one, dict) else one for name, one in data["values"].items()}
    return say(data["pattern"], **values)


def sentence_json(text: str) -> dict[str, Any]:
    """Return a sentence, or an ordinary text, as data for the database."""
    return {"text": str(text), **kept(text)}


def sentence_again(data: Mapping[str, Any]) -> str:
    """Return the sentence of `sentence_json` data.

    >>> sentence_again(sentence_json(say("tray {tray}", tray=2))).template
    'tray {tray}'
    """
    return again({"pattern": data["pattern"], "values": data["values"]} if "pattern" in data else {}, data["text"])

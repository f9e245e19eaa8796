"""The engine's words in the reader's language, chosen when they are shown."""

from collections.abc import Mapping
from typing import Any

from django.utils import translation
from django.utils.functional import lazy

from drystow.days import Moment, day_text
from drystow.errors import DrystowError, InputError
from drystow.messages import Message, msg, msg_many, told
from drystow.reports.text import sentence
from drystow.shown import Money, Quantity, shown_again, values_of
from drystow.web.kit.reader import reader


def in_words(text: str) -> str:
    """Return a text of the engine, or one that was kept in English, in the reader's language and units."""
    return told(text, reader())


def later_words(text: str) -> str:
    """Return a text that speaks the language and the units of the page when it is shown."""
    return lazy(lambda: in_words(text), str)()


def sentence_words(text: str) -> str:
    """Return a note of the engine in the reader's language, with a capital at its start, a stop at its end,
    and degrees that stay with their number.
    """
    return sentence(text, reader()).replace(" °", "\N{NO-BREAK SPACE}°") if text else ""


def problem_words(error: DrystowError) -> str:
    """Return an error of the engine in the reader's language, one line for each of its problems."""
    return "\n".join(_problem(one, with_field=True) for one in error.problems)


def page_problem_words(error: DrystowError) -> str:
    """Return an error about records, one line for each of its problems, without the names that fields have in files."""
    return "\n".join(_problem(one, with_field=False) for one in error.problems)


def _problem(error: DrystowError, *, with_field: bool) -> str:
    if not isinstance(error, InputError):
        return told(str(error), reader())
    words = told(error.message, reader())
    return f"{error.field}: {words}" if with_field and error.field else words


def in_english(words: object) -> str:
    """Return a text marked for translation as it is kept in the database."""
    with translation.override("en"):
        return str(words)


def kept(text: str) -> dict[str, Any]:
    """Return a sentence or a quantity as data for the database, nothing for an ordinary text.

    >>> kept(msg("tray {tray}: {food}", tray=2, food="kale"))
    {'pattern': 'tray {tray}: {food}', 'values': {'tray': 2, 'food': 'kale'}}
    """
    if isinstance(text, Quantity | Money):
        return {"shown": values_of(text)}
    if isinstance(text, Moment):
        return {"day": dict(text.__dict__)}
    if not isinstance(text, Message) or not text.values:
        return {}
    values = {name: kept(one) or one for name, one in text.values.items()}
    return {"pattern": text.template, **({"many": text.many} if text.many else {}), "values": values}


def again(data: dict[str, Any], text: str) -> str:
    """Return the sentence of `kept` data, else the text that stands beside it.

    >>> again({"pattern": "tray {tray}", "values": {"tray": 2}}, "").template
    'tray {tray}'
    """
    if not data:
        return text
    if "shown" in data:
        return shown_again(data["shown"])
    if "day" in data:
        return day_text(**data["day"])
    values: dict[str, Any] = {
        name: again(one, "") if isinstance(one, dict) else one for name, one in data["values"].items()
    }
    if "many" in data:
        return msg_many(data["pattern"], data["many"], **values)
    return msg(data["pattern"], **values)


def sentence_json(text: str) -> dict[str, Any]:
    """Return a sentence, or an ordinary text, as data for the database."""
    return {"text": str(text), **kept(text)}


def sentence_again(data: Mapping[str, Any]) -> str:
    """Return the sentence of `sentence_json` data.

    >>> sentence_again(sentence_json(msg("tray {tray}", tray=2))).template
    'tray {tray}'
    """
    return again(
        {name: data[name] for name in ("pattern", "many", "values", "shown", "day") if name in data}, data["text"]
    )

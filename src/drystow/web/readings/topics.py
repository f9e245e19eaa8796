"""Topics of live readings: the pattern of the kitchen, and what a topic and its payload mean."""

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.utils.text import slugify

from drystow.errors import InputError
from drystow.messages import msg
from drystow.web.dryers.models import Dryer
from drystow.web.readings.csvfile import number_in
from drystow.web.readings.quantities import (
    QUANTITIES,
    UNITS,
    impossible_words,
    possible,
    quantity_in,
    to_si,
    unit_named,
)
from drystow.web.readings.timestamps import guess_format, reader_of

DEFAULT = "drystow/{dryer}/{quantity}"
PLACES = ("{dryer}", "{quantity}")
LONGEST = 4096  # payload [bytes]


@dataclass(frozen=True)
class PayloadValue:
    """What a payload says.

    value: in SI
    unit: in which it was written
    at: when it was measured, None when it does not say
    """

    value: float
    unit: str
    at: datetime | None


def check_pattern(pattern: str) -> None:
    """Raise `InputError` when a pattern is none."""
    parts = pattern.split("/")
    for place in PLACES:
        if parts.count(place) != 1:
            raise InputError("topic", msg("the topic needs {place} once, as its own part", place=place))
    if any(not part or "+" in part or "#" in part or ("{" in part and part not in PLACES) for part in parts):
        raise InputError(
            "topic", msg("'{topic}' is not a topic; use, for example, {usual}", topic=pattern, usual=DEFAULT)
        )


def subscription(pattern: str) -> str:
    """Return what is subscribed for a pattern.

    >>> subscription("drystow/{dryer}/{quantity}")
    'drystow/+/+'
    """
    return "/".join("+" if part in PLACES else part for part in pattern.split("/"))


def parts_of(pattern: str, topic: str) -> tuple[str, str] | None:
    """Return dryer and quantity of a topic, None when it does not fit the pattern."""
    ours, theirs = pattern.split("/"), topic.split("/")
    if len(ours) != len(theirs):
        return None
    if any(own not in PLACES and own != their for own, their in zip(ours, theirs, strict=True)):
        return None
    found = dict(zip(ours, theirs, strict=True))
    return found["{dryer}"], found["{quantity}"]


def dryer_named(name: str, dryers: Sequence[Dryer]) -> Dryer:
    """Return the dryer that a topic names: by its name with - for blanks, or by its number."""
    for dryer in dryers:
        if name.lower() in (slugify(dryer.name), str(dryer.pk)):
            return dryer
    known = ", ".join(slugify(dryer.name) for dryer in dryers) or "–"
    raise InputError(
        "topic", msg("there is no dryer '{name}'; write one of {known} in the topic", name=name[:40], known=known)
    )


def quantity_named(name: str) -> tuple[str, int]:
    """Return the quantity and the tray that a topic names."""
    quantity, tray = quantity_in(name)
    if not quantity:
        raise InputError(
            "topic",
            msg(
                "'{name}' is not something we can record; known names: {known}",
                name=name[:40],
                known=", ".join(QUANTITIES),
            ),
        )
    return quantity, tray


def read_payload(payload: bytes, quantity: str) -> PayloadValue:
    """Return what a payload says; raise `InputError` when it says nothing that can be true.

    payload: a number, or JSON with value and perhaps unit and at
    quantity: name of one of `QUANTITIES`
    """
    of = QUANTITIES[quantity]
    if len(payload) > LONGEST:
        raise InputError("payload", msg("{count} bytes are too many for one reading", count=len(payload)))
    try:
        text = payload.decode("utf-8").strip()
    except UnicodeDecodeError:
        raise InputError("payload", msg("it is not text")) from None
    data = _json(text)
    if isinstance(data, dict):
        value, unit, at = data.get("value"), data.get("unit"), data.get("at")
    else:
        value, unit, at = text if data is None else data, None, None
    unit = unit_named(str(unit)) if unit is not None else of.unit
    if UNITS[unit][0] != of.kind:
        raise InputError("unit", msg("'{unit}' is not a unit of {quantity}", unit=unit, quantity=of.words))
    number = _number(value)
    si = to_si(number, unit)
    if not possible(si, of):
        raise InputError("value", impossible_words(si, of))
    return PayloadValue(si, unit, None if at is None else moment_in(at))


def moment_in(at: Any) -> datetime:
    """Return the moment of a payload: a date with a time and its zone (UTC without one), or a count since 1970."""
    text = str(at)
    guess = guess_format([text])
    if isinstance(at, bool) or guess.format not in ("ymd", "epoch", "epoch ms"):
        raise InputError("at", msg("'{text}' is not a time; use 2026-03-04T14:05:00Z", text=text[:40]))
    moment, _utc = reader_of(guess.format)(text)
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


def example_topics(pattern: str, dryers: Sequence[Dryer]) -> list[str]:
    """Return topics as the dryers of this kitchen have them."""
    names = [slugify(dryer.name) for dryer in dryers] or ["bench"]
    quantities = ("shelf", "product-1", "pressure", "trap", "power", "room")
    return [
        pattern.replace("{dryer}", name).replace("{quantity}", quantity) for name in names for quantity in quantities
    ][:6]


def _json(text: str) -> Any:
    try:
        return json.loads(text)
    except ValueError:
        return None


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise InputError("value", msg("there is no number in it"))
    text = str(value)
    if not re.fullmatch(r"\s*[-+]?[\d.,]+([eE][-+]?\d+)?\s*", text[:60]):
        raise InputError("value", msg("'{text}' is not a number", text=text[:40]))
    number = number_in(text, "," if "," in text and "." not in text else ".")
    if number is None:
        raise InputError("value", msg("'{text}' is not a number", text=text[:40]))
    return number

"""Days and times of day in templates, in the order and by the clock of the reader: ``{{ row.at|day:"moment" }}``."""

from datetime import date, datetime
from typing import TypeVar

from django import template
from django.utils import timezone

from drystow import days
from drystow.web.kit.words import in_words

register = template.Library()
At = TypeVar("At", date, datetime)


@register.filter
def day(at: date | datetime | None, style: str = "day") -> str:
    """Return a day or a time in a style of `drystow.days`, nothing for none."""
    return "" if at is None or at == "" else in_words(days.day_text(_here(at), style))


@register.filter
def near(at: datetime | None, after: datetime | None = None) -> str:
    """Return a time at which something is to be done, as seen from now; the end of a range after its begin."""
    begin = None if after is None else _here(after)
    return "" if at is None else in_words(days.near(_here(at), _here(timezone.now()), begin))


@register.filter
def ahead(at: datetime | None) -> str:
    """Return how long it is until something that is not far away."""
    return "" if at is None else in_words(days.ahead(_here(at), _here(timezone.now())))


def _here(at: At) -> At:
    """Return what the clock of the kitchen shows; a day, or a time without a zone, is the kitchen's own."""
    return timezone.localtime(at).replace(tzinfo=None) if isinstance(at, datetime) and at.tzinfo else at

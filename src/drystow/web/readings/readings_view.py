"""Readings of a span of time as charts: on the clock of the kitchen, thinned, in the reader's units."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
from django.utils.translation import gettext as _

from drystow.numerics import Array
from drystow.reports.readings_chart import Measured, readings_pictures
from drystow.web.kit.drawing import Drawing, drawing_of
from drystow.web.readings.models import Channel
from drystow.web.readings.storage import course, how_many, outline, thinned

MOST_LINES = 12
MOST_FETCHED = 50_000  # readings of one line
DAY = 86_400_000  # [ms]
SPANS = {"day": DAY, "week": 7 * DAY, "month": 31 * DAY, "all": 0}


@dataclass(frozen=True)
class Span:
    """A span of time.

    start_ms: first moment [ms since 1970]
    end_ms: last moment [ms since 1970]
    """

    start_ms: int
    end_ms: int

    @property
    def start(self) -> datetime:
        """First moment."""
        return datetime.fromtimestamp(self.start_ms / 1000, UTC)

    @property
    def end(self) -> datetime:
        """Last moment."""
        return datetime.fromtimestamp(self.end_ms / 1000, UTC)


def kitchen_zone(name: str) -> ZoneInfo:
    """Return the zone of the kitchen, UTC when this computer does not know it."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo("UTC")


def span_names() -> tuple[tuple[str, str], ...]:
    """Return the spans to choose from."""
    return (("day", _("a day")), ("week", _("a week")), ("month", _("a month")), ("all", _("everything")))


def span_before(last_ms: int, first_ms: int, name: str) -> Span:
    """Return a span that ends with the last reading.

    last_ms: of all channels
    first_ms: of all channels
    name: one of `SPANS`
    """
    length = SPANS.get(name, DAY)
    return Span(max(first_ms, last_ms - length) if length else first_ms, last_ms)


def drawings_of(channels: Sequence[Channel], span: Span, zone: ZoneInfo, units: str) -> list[Drawing]:
    """Return the charts of some channels; a clock change within the span does not bend the axis.

    channels: at most `MOST_LINES` are drawn
    span: of time
    zone: of the kitchen
    units: ``us`` or ``si``
    """
    shift = (span.end.astimezone(zone).utcoffset() or timedelta()).total_seconds() * 1000
    measured = []
    for channel in channels[:MOST_LINES]:
        moments, values, step = _curve(channel, span)
        if len(moments):
            measured.append(Measured(str(channel), channel.of.kind, moments + shift, values, step))
    return [drawing_of(picture) for picture in readings_pictures(measured, units)]


def _curve(channel: Channel, span: Span) -> tuple[Array, Array, float]:
    """Return the points of a channel's line, and the usual time between two of its readings [ms]."""
    count = how_many(channel, span.start_ms, span.end_ms)
    if count > MOST_FETCHED:
        return *outline(channel, span.start_ms, span.end_ms), (span.end_ms - span.start_ms) / count
    moments, values = course(channel, span.start_ms, span.end_ms)
    step = float(np.median(np.diff(moments))) if len(moments) > 1 else 0.0
    return *thinned(moments, values), step


def clock_words(span: Span, zone: ZoneInfo) -> str:
    """Return on which clock the charts stand."""
    local = span.end.astimezone(zone)
    return f"{zone.key}, UTC{local.strftime('%z')[:3]}:{local.strftime('%z')[3:5]}"

"""Readings into the database and out of it again, many at once."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
from django.db import connection, transaction
from django.db.models import OuterRef, Subquery
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.numerics import Array
from drystow.reports.readings_chart import Measured, readings_pictures
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.drawing import Drawing, drawing_of
from drystow.web.readings.models import Channel, Reading
from drystow.web.readings.quantities import QUANTITIES

CHUNK = 20_000
MOST_POINTS = 1000
TABLE = Reading._meta.db_table


def channel_for(
    dryer: Dryer, quantity: str, tray: int, source: str, unit: str, *, label: str = "", who: str = ""
) -> Channel:
    """Return the channel of a source, made when it is not there yet, taken back when it is in the bin.

    dryer: where it measures
    quantity: name of one of `QUANTITIES`
    tray: of a product temperature, else 0
    source: head of the column, topic or name of the program
    unit: in which the source writes
    label: of a new channel
    who: asks for it
    """
    tray = tray if quantity == "product" else 0
    key = {"dryer": dryer, "quantity": quantity, "tray": tray, "source": source[:200]}
    found: Channel | None = Channel.objects.filter(**key).first()
    if found is None:
        words = msg("new sensor: {quantity}", quantity=QUANTITIES[quantity].words)
        return records.create(Channel(**key, unit=unit, label=label[:80]), who=who, words=words)
    if found.binned_at is not None:
        found = records.take_back(found, who=who, words=msg("new readings"))
    return found


def add_readings(channel: Channel, at_ms: Iterable[int], values: Iterable[float]) -> int:
    """Keep readings and return how many are new; those of a moment that is known already change nothing.

    channel: of all of them
    at_ms: moments in milliseconds since 1970
    values: in SI
    """
    moments, numbers = [int(at) for at in at_ms], [float(value) for value in values]
    added = 0
    with transaction.atomic(), connection.cursor() as cursor:
        for start in range(0, len(moments), CHUNK):
            part = slice(start, start + CHUNK)
            added += _insert(cursor, channel.pk, moments[part], numbers[part])
    return added


def _insert(cursor: Any, channel: int, moments: list[int], numbers: list[float]) -> int:
    into = f"INSERT INTO {TABLE} (channel_id, at_ms, value)"
    if connection.vendor == "postgresql":
        columns = "SELECT %s, unnest(%s::bigint[]), unnest(%s::double precision[])"
        cursor.execute(f"{into} {columns} ON CONFLICT DO NOTHING", [channel, moments, numbers])
    else:
        rows = [(channel, at, value) for at, value in zip(moments, numbers, strict=True)]
        cursor.executemany(f"{into} VALUES (%s, %s, %s) ON CONFLICT DO NOTHING", rows)
    return max(int(cursor.rowcount), 0)


def course(channel: Channel, start_ms: int, end_ms: int) -> tuple[Array, Array]:
    """Return moments [ms since 1970] and values [SI] of a channel, in the order of time.

    start_ms: of the first
    end_ms: of the last
    """
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT at_ms, value FROM {TABLE} WHERE channel_id = %s AND at_ms BETWEEN %s AND %s ORDER BY at_ms",
            [channel.pk, start_ms, end_ms],
        )
        rows = cursor.fetchall()
    pairs = np.array(rows, dtype=float).reshape(-1, 2)  # milliseconds stay exact in a double for 285,000 years
    return pairs[:, 0], pairs[:, 1]


def how_many(channel: Channel, start_ms: int, end_ms: int) -> int:
    """Return how many readings a channel has between two moments, counted in the index."""
    found: int = Reading.objects.filter(channel=channel, at_ms__gte=start_ms, at_ms__lte=end_ms).count()
    return found


def outline(channel: Channel, start_ms: int, end_ms: int, most: int = MOST_POINTS) -> tuple[Array, Array]:
    """Return lowest and highest value of equal stretches of time, found by the database: for spans with so many
    readings that fetching them would take seconds. The lowest stands at the first and the highest at the last moment
    of its stretch.

    start_ms: of the first
    end_ms: of the last
    most: points, even
    """
    length = (end_ms - start_ms) // (most // 2) + 1
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT (at_ms - %s) / %s, MIN(at_ms), MIN(value), MAX(at_ms), MAX(value) FROM {TABLE}"
            " WHERE channel_id = %s AND at_ms BETWEEN %s AND %s GROUP BY 1 ORDER BY 1",
            [start_ms, length, channel.pk, start_ms, end_ms],
        )
        rows = np.array(cursor.fetchall(), dtype=float).reshape(-1, 5)
    moments, values = rows[:, (1, 3)].ravel(), rows[:, (2, 4)].ravel()
    single = np.concatenate([[False], np.diff(moments) <= 0])
    return moments[~single], values[~single]


def thinned(moments: Array, values: Array, most: int = MOST_POINTS) -> tuple[Array, Array]:
    """Return at most `most` points of a curve: of each stretch its lowest and highest, and both ends.

    moments: in order
    values: one for each
    most: even
    """
    if len(moments) <= most:
        return moments, values
    from tsdownsample import MinMaxDownsampler

    thinner: Any = MinMaxDownsampler
    keep = thinner().downsample(np.ascontiguousarray(values), n_out=most - 2)
    keep = np.unique(np.concatenate([[0], keep.astype(int), [len(moments) - 1]]))
    return moments[keep], values[keep]


def with_ends(channels: Any) -> Any:
    """Return a question for channels that also brings first_ms, last_ms and last_value, found by the index alone.

    channels: a question for channels
    """
    rows = Reading.objects.filter(channel=OuterRef("pk"))
    newest = rows.order_by("-at_ms")
    return channels.annotate(
        first_ms=Subquery(rows.order_by("at_ms").values("at_ms")[:1]),
        last_ms=Subquery(newest.values("at_ms")[:1]),
        last_value=Subquery(newest.values("value")[:1]),
    )


def csv_rows(channels: Sequence[Channel], start_ms: int, end_ms: int) -> Iterator[list[Any]]:
    """Yield the readings of some channels as plain rows, channel by channel, never all of them in memory."""
    for channel in channels:
        found = Reading.objects.filter(channel=channel, at_ms__gte=start_ms, at_ms__lte=end_ms).order_by("at_ms")
        for reading in found.iterator(chunk_size=2000):
            at = reading.at.isoformat(timespec="milliseconds")
            yield [at, channel.quantity, channel.tray or "", reading.value, channel.label, channel.source]


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

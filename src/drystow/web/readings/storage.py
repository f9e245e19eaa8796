"""Readings into the database and out of it again, many at once."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import numpy as np
from django.db import connection, transaction
from django.db.models import OuterRef, Subquery

from drystow.messages import msg
from drystow.numerics import Array
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
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

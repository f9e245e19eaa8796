"""Temperatures of places, logged or as the place usually has them: the sums of months, and what packages have met."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from math import cos, pi
from typing import Any

from django.db import transaction
from django.db.models import Count, Max, QuerySet, Sum
from django.db.models.functions import TruncMonth

from drystow.packing.seasons import DAY, YEAR, StoreSeason
from drystow.units import kelvin
from drystow.web.pantry.models import Place, PlaceMonth, PlaceReading

CHUNK = 2000
SUMS = ("count", "total_c", "latest_at", "latest_c")


def add_readings(place: Place, rows: Iterable[tuple[datetime, float]]) -> int:
    """Save temperatures of a place and return how many.

    rows: (when, with a time zone; °C)
    """
    made = [PlaceReading(place=place, at=at, temperature_c=celsius) for at, celsius in rows]
    if not made:
        return 0
    with transaction.atomic():
        Place.objects.select_for_update().get(pk=place.pk)  # one writer of the months of a place at a time
        PlaceReading.objects.bulk_create(made, batch_size=CHUNK)
        starts = sorted({_month_of(row.at) for row in made})
        after = _month_of(starts[-1] + timedelta(days=31))
        touched = PlaceReading.objects.filter(place=place, at__gte=starts[0], at__lt=after)
        _save_months(_months_of(touched, {start.date() for start in starts}))
    return len(made)


def rebuild_months() -> None:
    """Sum up all readings again, after rows were written without `add_readings`."""
    with transaction.atomic():
        PlaceMonth.objects.all().delete()
        _save_months(_months_of(PlaceReading.objects.all(), None))


def _month_of(at: datetime) -> datetime:
    return at.astimezone(UTC).replace(day=1, hour=0, minute=0, second=0, microsecond=0)


def _months_of(readings: QuerySet[PlaceReading], wanted: set[object] | None) -> list[PlaceMonth]:
    """Return the sums of the months, in UTC so that they stay true when the kitchen changes its time zone.

    wanted: first days of the months, None for all
    """
    sums = (
        readings.order_by()
        .annotate(start=TruncMonth("at", tzinfo=UTC))
        .values("place_id", "start")
        .annotate(count=Count("pk"), total_c=Sum("temperature_c"), latest_at=Max("at"))
    )
    months = []
    for found in sums:
        row: dict[str, Any] = dict(found)
        month = row.pop("start").date()
        if wanted is None or month in wanted:
            last = PlaceReading.objects.filter(place=row["place_id"], at=row["latest_at"]).order_by("-pk")
            latest_c = last.values_list("temperature_c", flat=True)[0]
            months.append(PlaceMonth(month=month, latest_c=latest_c, **row))
    return months


def _save_months(months: list[PlaceMonth]) -> None:
    PlaceMonth.objects.bulk_create(
        months, batch_size=CHUNK, update_conflicts=True, unique_fields=("place", "month"), update_fields=SUMS
    )


AHEAD_YEARS = 26
"""How far the usual course is carried on: beyond the longest life that is claimed."""

Readings = Mapping[tuple[int, int, int], float]
"""(place, year, month) -> mean of the logged temperatures [°C]."""


@dataclass(frozen=True)
class Climate:
    """The usual course of a place over the year.

    place: its number
    warm_c: usual temperature, or of the warmest month where the place follows the seasons [°C]
    cold_c: of the coldest month, None for the same all year [°C]
    coldest_month: 1 to 12
    humidity: relative humidity of its air [-]
    """

    place: int
    warm_c: float
    cold_c: float | None
    coldest_month: int
    humidity: float

    def usual_c(self, month: int) -> float:
        """Return the usual temperature of a month [°C], a cosine between the coldest and the warmest month."""
        if self.cold_c is None:
            return self.warm_c
        middle, swing = (self.warm_c + self.cold_c) / 2, (self.warm_c - self.cold_c) / 2
        return middle - swing * cos(2 * pi * (month - self.coldest_month) / 12)


def seasons_of(
    stays: Sequence[tuple[date, Climate]], readings: Readings, packed_on: date, today: date
) -> tuple[StoreSeason, ...]:
    """Return the seasons of a package from the day of packing: as logged until today, as usual afterwards.

    stays: (since, place), oldest first, at least one; the first counts from the day of packing
    readings: monthly means of the places
    """
    past = list(_past(stays, readings, packed_on, today))
    last = stays[-1][1]
    if last.cold_c is None:
        return (*past, _season(AHEAD_YEARS * YEAR, last.warm_c, last))
    months = [(today.month - 1 + step) % 12 + 1 for step in range(12)]
    return (*past, *[_season(YEAR / 12, last.usual_c(month), last) for month in months] * AHEAD_YEARS)


def _past(
    stays: Sequence[tuple[date, Climate]], readings: Readings, packed_on: date, today: date
) -> Iterator[StoreSeason]:
    day = packed_on
    while day < today:
        place = next((place for since, place in reversed(stays) if since <= day), stays[0][1])
        ends = [_next_month(day), today, *(since for since, _ in stays if since > day)]
        end = min(ends)
        logged = readings.get((place.place, day.year, day.month))
        yield _season((end - day).days * DAY, place.usual_c(day.month) if logged is None else logged, place)
        day = end


def _next_month(day: date) -> date:
    return (day.replace(day=28) + timedelta(days=4)).replace(day=1)


def _season(duration: float, celsius: float, place: Climate) -> StoreSeason:
    return StoreSeason(duration, kelvin(celsius), place.humidity)

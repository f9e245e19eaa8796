"""Logged temperatures: they are written here, so that the sums of their months are always right."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from django.db import transaction
from django.db.models import Count, Max, QuerySet, Sum
from django.db.models.functions import TruncMonth

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
    """Return the sums of the months, in UTC so that they stay true when the house changes its time zone.

    wanted: first days of the months, None for all
    """
    sums = (
        readings.order_by()
        .annotate(start=TruncMonth("at", tzinfo=UTC))
        .values("place_id", "start")
        .annotate(count=Count("pk"), total_c=Sum("temperature_c"), latest_at=Max("at"))
    )
    months = []
    for row in sums:
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

"""The sums of the months agree with the readings themselves, added up here by Python's own statistics."""

from datetime import UTC, datetime, timedelta
from importlib import import_module
from statistics import fmean
from types import SimpleNamespace

import pytest
from django.apps import apps
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from drystow.web.kit import records
from drystow.web.pantry.models import Place, PlaceMonth, PlaceReading
from drystow.web.pantry.readings import add_readings, rebuild_months

NEW_YEAR = datetime(2026, 1, 1, tzinfo=UTC)
Sums = dict[tuple[int, int, int], tuple[int, float, datetime, float]]


def by_hand() -> Sums:
    """Sums of each place and month from the rows, without SQL."""
    months: dict[tuple[int, int, int], list[tuple[datetime, int, float]]] = {}
    for row in PlaceReading.objects.all():
        at = row.at.astimezone(UTC)
        months.setdefault((row.place_id, at.year, at.month), []).append((row.at, row.pk, row.temperature_c))
    return {
        key: (len(rows), pytest.approx(fmean(row[2] for row in rows)), max(rows)[0], max(rows)[2])
        for key, rows in months.items()
    }


def kept() -> Sums:
    """The same as the database keeps them."""
    return {
        (row.place_id, row.month.year, row.month.month): (
            row.count,
            row.total_c / row.count,
            row.latest_at,
            row.latest_c,
        )
        for row in PlaceMonth.objects.all()
    }


def two_places() -> list[Place]:
    """Two places with readings around a turn of the year, written in no order and in several goes."""
    made = [records.create(Place(name=name)) for name in ("Cellar", "Loft")]
    for number, place in enumerate(made):
        days = [3, -2, 40, 0, -31, 40]
        add_readings(place, [(NEW_YEAR + timedelta(days=day, hours=day % 5), 10.0 + day + number) for day in days[:4]])
        add_readings(place, [(NEW_YEAR + timedelta(days=day, hours=day % 5), 9.5 - day) for day in days[4:]])
    return made


def test_the_months_are_those_of_the_readings_however_they_were_added() -> None:
    two_places()
    assert len(kept()) == 6
    assert kept() == by_hand()


def test_the_last_second_of_a_month_belongs_to_it_and_midnight_to_the_next() -> None:
    place = records.create(Place(name="Cellar"))
    add_readings(place, [(NEW_YEAR - timedelta(seconds=1), 1.0), (NEW_YEAR, 2.0)])
    assert [(row.month.month, row.total_c) for row in PlaceMonth.objects.all()] == [(12, 1.0), (1, 2.0)]


def test_an_older_reading_does_not_become_the_latest(client: Client) -> None:
    place = records.create(Place(name="Cellar"))
    add_readings(place, [(NEW_YEAR + timedelta(days=9), 4.0)])
    add_readings(place, [(NEW_YEAR, 30.0)])
    assert PlaceMonth.objects.get().latest_c == 4.0
    page = client.get("/pantry/places/?units=si").content.decode()
    assert "4.0 °C" in page
    assert "30.0 °C" not in page


def test_rebuilding_and_the_migration_give_the_same_months() -> None:
    two_places()
    expected = by_hand()
    PlaceMonth.objects.update(total_c=0.0, count=1)
    rebuild_months()
    assert kept() == expected
    PlaceMonth.objects.all().delete()
    import_module("drystow.web.pantry.migrations.0005_fill_months").fill(apps, SimpleNamespace(connection=connection))
    assert kept() == expected


def test_no_reading_changes_nothing() -> None:
    assert add_readings(records.create(Place(name="Cellar")), []) == 0
    assert not PlaceMonth.objects.exists()


def test_the_places_do_not_ask_the_readings_themselves(client: Client) -> None:
    two_places()
    records.kitchen()
    with CaptureQueriesContext(connection) as asked:
        client.get("/pantry/places/")
    assert len(asked.captured_queries) <= 5
    assert not any("pantry_placereading" in query["sql"] for query in asked.captured_queries)

"""The demo year: a small one, filled into an empty database."""

from collections import defaultdict
from datetime import UTC, datetime, timedelta
from io import StringIO
from typing import Any
from unittest.mock import Mock

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.test import Client, override_settings

from drystow.web.batches.models import Batch, Item, Load, Weighing
from drystow.web.data.backup import kitchen_models
from drystow.web.demo import fill as filling
from drystow.web.demo.fill import fill, is_empty, keep_alive
from drystow.web.demo.menu import CUTS
from drystow.web.dryers.models import Dryer, Service
from drystow.web.foods.models import OwnFood, Recipe
from drystow.web.kit import records
from drystow.web.kit.models import Change
from drystow.web.pantry.models import Movement, Package, Place, PlaceReading
from drystow.web.plans.models import Plan, Season
from tests.web.batch_rows import a_batch

NOW = datetime(2026, 6, 14, 10, 30, tzinfo=UTC)


@pytest.fixture
def year() -> dict[str, int]:
    return fill(batches=11, now=NOW)


def test_every_stage_has_something_to_show(year: dict[str, int]) -> None:
    assert year["batches"] == Batch.objects.count() == 11
    assert set(Batch.objects.values_list("stage", flat=True)) == {name for name, _ in Batch.STAGES}
    running = Batch.objects.get(stage="running")
    assert running.started_at is not None
    assert running.ended_at is None
    hours = (NOW - running.started_at).total_seconds() / 3600
    assert 0.2 < hours / running.prediction["total_h"]["p50"] < 0.8
    assert records.kitchen().name == "Alder Lane Kitchen"


def test_every_record_has_its_creation_in_the_history_and_can_be_undone(year: dict[str, int]) -> None:
    for model in (Batch, Item, Load, Package, Place, Dryer, Service, OwnFood, Recipe):
        log = dict(Change.objects.filter(kind=model._meta.label_lower).values_list("object_id", "after"))
        for row in model.objects.all():
            assert log[row.pk] == records.snapshot(row)
    package = Package.objects.filter(state="stored").first()
    assert package is not None
    changed = records.change(package, {"container": "can-10"}, expected=1)
    records.undo(records.history(changed).first())
    assert Package.objects.get(pk=package.pk).container == package.container


def test_masses_add_up_in_the_pantry_and_on_the_trays(year: dict[str, int]) -> None:
    sums: dict[int, float] = defaultdict(float)
    sign = {"packed": 1, "used": -1, "given": -1, "discarded": -1}
    for move in Movement.objects.exclude(mass_kg=None):
        assert move.mass_kg is not None
        sums[move.package_id] += sign[move.kind] * move.mass_kg
    for package in Package.objects.all():
        assert package.left_mass_kg == pytest.approx(sums[package.pk], abs=1e-6)
    for item in Item.objects.prefetch_related("loads"):
        if item.loads.all():
            assert sum(load.mass_kg for load in item.loads.all()) == pytest.approx(item.mass_kg, abs=1e-6)


def test_weighings_are_whole_grams_and_agree_with_dried_food(year: dict[str, int]) -> None:
    for row in Weighing.objects.select_related("batch"):
        assert row.gross_g == round(row.gross_g)
        fresh = sum(load.mass_kg for load in Load.objects.filter(item__batch=row.batch, tray=row.tray)) * 1000
        assert 0.03 * fresh < row.gross_g - row.tare_g < 0.45 * fresh  # foods of the menu hold 66 to 95% water


def test_the_prediction_points_to_the_saved_items(year: dict[str, int]) -> None:
    for batch in Batch.objects.exclude(prediction={}):
        items = set(batch.items.values_list("pk", flat=True))
        assert {tray["item"] for tray in batch.prediction["trays"]} == items


def test_places_follow_their_seasons(year: dict[str, int]) -> None:
    cellar = Place.objects.get(name="Cellar")
    readings = PlaceReading.objects.filter(place=cellar)
    assert year["readings"] == 3 * (365 * 4 + 1)
    july = [row.temperature_c for row in readings if row.at.month == 7]
    january = [row.temperature_c for row in readings if row.at.month == 1]
    assert sum(july) / len(july) - sum(january) / len(january) > 5


def test_a_demo_opened_days_later_shows_a_run_under_way(year: dict[str, int]) -> None:
    for days in (3, 40):  # the second time after a run that was begun again
        later = NOW + timedelta(days=days)
        keep_alive(later)
        batch = Batch.objects.get(stage="running")
        assert batch.started_at is not None
        assert 0.2 < (later - batch.started_at).total_seconds() / 3600 / batch.prediction["total_h"]["p50"] < 0.8
        for row in batch.happenings.all():
            assert batch.started_at < row.at
        started = batch.started_at
        keep_alive(later + timedelta(hours=1))
        assert Batch.objects.get(stage="running").started_at == started


def test_a_run_that_somebody_worked_on_stays_as_it_is(year: dict[str, int]) -> None:
    batch = Batch.objects.get(stage="running")
    records.change(batch, {"notes": "mine"}, expected=batch.version, who="Ana")
    keep_alive(NOW + timedelta(days=3))
    assert Batch.objects.get(stage="running").started_at == batch.started_at


def counts() -> dict[str, int]:
    return {model.__name__: model._default_manager.count() for model in kitchen_models()}


def test_a_filling_that_is_cut_off_goes_on_where_it_was_and_ends_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    with transaction.atomic():
        fill(batches=8, now=NOW)
        whole, lots = counts(), set(Batch.objects.values_list("lot", "title", "packaging_cost"))
        transaction.set_rollback(True)
    save, left = filling._save, 0

    def cut_off(model: Any, rows: Any) -> None:
        nonlocal left
        left -= 1
        if left < 0:
            raise OSError("the power went")
        save(model, rows)

    monkeypatch.setattr(filling, "_save", cut_off)
    for calls in (3, 20, 11, 10):  # until the power goes, each time
        left = calls
        with pytest.raises(OSError, match="the power went"):
            fill(batches=8, now=NOW)
        for batch in Batch.objects.exclude(stage="basket"):  # each is there with all that belongs to it
            assert Load.objects.filter(item__batch=batch).exists(), batch
    assert 4 < Batch.objects.count() <= 8
    left = 99
    fill(batches=8, now=NOW)
    assert counts() == whole
    assert set(Batch.objects.values_list("lot", "title", "packaging_cost")) == lots


def test_after_a_start_that_was_cut_off_the_next_one_finishes_the_year(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[datetime] = []

    def fill_some(now: datetime) -> None:
        asked.append(now)
        a_batch()
        if len(asked) == 1:
            raise OSError("the power went")

    monkeypatch.setattr(filling, "fill", fill_some)
    monkeypatch.setattr(filling, "connection", Mock())
    for _start in range(3):
        filling._fill_if_empty()
    assert len(asked) == 2
    assert asked[0] == asked[1]
    assert not filling.unfinished().exists()


def test_the_year_is_written_in_pieces_of_one_batch_at_most(monkeypatch: pytest.MonkeyPatch) -> None:
    """So whoever writes meanwhile waits for one piece, not for the year."""
    depth, pieces = 0, []

    def watch(execute: Any, sql: str, *rest: Any) -> Any:
        nonlocal depth
        if sql.startswith("SAVEPOINT"):
            depth += 1
            if depth == 1:
                pieces.append(0)
        elif sql.startswith(("RELEASE", "ROLLBACK")):
            depth -= 1
        elif sql.startswith('INSERT INTO "batches_batch"'):
            assert depth, "outside any piece"
            pieces[-1] += 1
        return execute(sql, *rest)

    with connection.execute_wrapper(watch):
        fill(batches=8, now=NOW)
    assert sum(pieces) == 8
    assert max(pieces) == 1


def test_pages_say_that_the_year_is_being_written(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    with override_settings(DEMO=True):
        assert "is still being written" not in client.get("/batches/").content.decode()
        monkeypatch.setattr("drystow.web.demo.fill.is_being_filled", lambda: True)
        assert "The demo kitchen’s year is still being written" in client.get("/batches/").content.decode()


def test_the_command_never_mixes_with_other_records(year: dict[str, int]) -> None:
    assert not is_empty()
    with pytest.raises(CommandError, match="already holds batches"):
        call_command("fill_demo", stdout=StringIO())


def test_a_week_and_a_season_are_planned_with_food_of_the_month(year: dict[str, int]) -> None:
    plan, season = Plan.objects.get(), Season.objects.get()
    assert plan.begin == NOW.date()
    assert {row.name for row in plan.lots.all()} <= {cut.name for cut in CUTS if NOW.month in cut.months}
    assert plan.lots.count() == 8
    assert plan.dryers.count() == season.choices.count() - 1 == 2
    assert all(row.first <= row.peak <= row.last for row in season.crops.all())

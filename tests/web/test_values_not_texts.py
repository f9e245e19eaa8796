"""Between rows and engine numbers stay numbers: no text is written that the parser of quantities reads again."""

import tomllib
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client, override_settings
from django.utils import timezone
from tools.count_house import read, written_again

import drystow
from drystow import units
from drystow.machine.loadfile import parse_load
from drystow.machine.profile import dryer_profile, profile_names
from drystow.packing.containers import containers, materials
from drystow.planning.load.best_load import plan_load
from drystow.planning.schedule.batch_time import Reckoning
from drystow.planning.season.answer import try_seasons
from drystow.web.batches import adapters
from drystow.web.batches.models import Batch, Item
from drystow.web.data.backup import write_backup
from drystow.web.data.loads import load_text
from drystow.web.data.restore import restore_backup
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.answers import KeptAnswer, Problem
from drystow.web.kit.models import Record
from drystow.web.kit.si import COLUMNS
from drystow.web.plans import making
from drystow.web.plans.batch_adapters import LoadQuestion, basket_of, load_question
from drystow.web.plans.found import BEST_LOAD
from drystow.web.plans.models import Lot, Plan, PlanDryer
from drystow.web.season import trying
from drystow.web.season.spec import garden_of, season_basis
from tests.web import made_rows, season_rows
from tests.web.batch_rows import CARROTS, ONIONS, a_batch, an_item, on_tray

EARLIER = "worked out from texts"  # a fingerprint that an earlier program may have kept


@pytest.fixture
def parsed(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """What the parser of quantities was given, after the files of the package, dryers and packaging, were read."""
    for name in profile_names():
        dryer_profile(name)
    materials()
    containers()
    given: list[object] = []
    real = units._read

    def spy(text: object, *more: str) -> tuple[float, float]:
        given.append(text)
        return real(text, *more)

    monkeypatch.setattr(units, "_read", spy)
    return given


def a_tray_of_two(**extra: object) -> Batch:
    batch = a_batch(freezer="household freezer")
    one = an_item(batch, CARROTS, shape="slab", size_m=0.006, mass_kg=0.3, target_moisture=0.04, extra=extra)
    on_tray(one, 1, 0.3)
    on_tray(an_item(batch, ONIONS, shape="cube", size_m=0.008, mass_kg=0.2, frozen=True, start_c=-18.0), 1, 0.2)
    return batch


def asked(batch: Batch) -> LoadQuestion:
    items = basket_of(batch)
    cut = {str(items[0].pk): {"cut_m": [0.005, 0.008], "must": True}}
    return load_question(batch, {"time_h": 30.0, "apart": ["smells"], "share": 1, "foods": cut}, items)


def test_no_number_is_written_as_text_to_be_parsed_again() -> None:
    modules = read(Path(drystow.__file__).parents[1])
    assert {one.name: lines for one in modules if (lines := written_again(one))} == {}


def test_the_spy_sees_what_is_parsed(parsed: list[object]) -> None:
    assert units.parse("2 kg", "mass", "mass") == 2.0
    assert parsed == ["2 kg"]


def test_a_forecast_and_its_page_parse_no_text(client: Client, parsed: list[object]) -> None:
    batch = a_tray_of_two(area=0.05)
    result, _spread = adapters.predict(batch)
    assert len(result.trays) == 2
    for page in ("basket/", "trays/", "best-load/"):
        assert client.get(f"/batches/{batch.pk}/{page}").status_code == 200
    assert parsed == []


def test_the_search_for_a_load_parses_no_text(parsed: list[object]) -> None:
    question = asked(a_tray_of_two())
    plan = plan_load(question.counter, members=2, known=question.known)
    assert plan.trays
    assert parsed == []


def test_a_plan_parses_no_text(monkeypatch: pytest.MonkeyPatch, parsed: list[object]) -> None:
    monkeypatch.setattr(making, "SECONDS", 2.0)
    plan = made_rows.a_plan()
    made_rows.a_lot(plan, tray_kg=0.4, fridge_days=3.0, freezer_days=90.0)
    assert made_rows.made(plan).result.batches
    assert parsed == []


def test_a_season_parses_no_text(monkeypatch: pytest.MonkeyPatch, parsed: list[object]) -> None:
    monkeypatch.setattr(trying, "try_seasons", lambda garden, told: try_seasons(garden, told, Reckoning(members=2)))
    season = season_rows.a_full_season(freezer_m3=0.06)
    row = trying.SEASON.work_out(season.pk)
    assert row is not None
    assert row.result.answer.choices
    assert garden_of(season_basis(season)).choices[0].frame.freezer == pytest.approx(0.06)
    assert parsed == []


OF_A_FILE: dict[type[Record], tuple[str, dict[str, Any], dict[str, Any]]] = {
    # rows with numbers that earlier versions kept as a file writes them: column, then and now
    Dryer: (
        "numbers",
        {"leak": "0.02 mbar*L/s", "chamber_volume": "52 L", "room": "64.4 degF", "trays": 4, "contact_gas": 0.5},
        {"leak": 2e-3, "chamber_volume": 0.052, "room": 291.15, "trays": 4, "contact_gas": 0.5},
    ),
    Batch: ("extra", {"freeze_to": "-25 degC", "overload": True}, {"freeze_to": 248.15, "overload": True}),
    Item: (
        "extra",
        {"area": "0.05 m^2", "ice_mass": "400 g", "class": "fruit", "dried_layer": {"R0": "1e4 m/s", "A2": "0 1/m"},
         "heat": {"contact": "22 W/m^2/K"}, "areas": {"outer": "5000 cm^2"}},
        {"area": 0.05, "ice_mass": 0.4, "like": "fruit", "dried_layer": {"R0": 1e4, "A2": 0.0},
         "heat": {"contact": 22.0}, "areas": {"outer": 0.5}},
    ),
    Plan: ("extra", {"step": "1 h", "begin_time": "12:00:00"}, {"step": 3600.0, "begin_time": "12:00:00"}),
    PlanDryer: ("extra", {"freeze": "dryer", "freeze_to": "-13 degF"}, {"freeze": "dryer", "freeze_to": 248.15}),
    Lot: (
        "extra",
        {"faces": 2, "final_moisture": "2.5%", "start_temperature": "4 degC", "dryers": [1], "volume": 2.0},
        {"faces": 2, "final_moisture": 0.025, "start_temperature": 277.15, "dryers": [1], "volume": 2.0},
    ),
}  # fmt: skip


def rows_of_a_file() -> list[Record]:
    """A row of every kind that may have such numbers."""
    plan = made_rows.a_plan()
    lot, batch = made_rows.a_lot(plan), a_batch()
    every: list[Record] = [batch.dryer, batch, an_item(batch), plan, PlanDryer.objects.get(), lot]
    assert [type(row) for row in every] == list(OF_A_FILE)
    return every


def approx(table: Any) -> Any:
    """A table of which every number only has to be near."""
    if isinstance(table, dict):
        return {name: approx(value) for name, value in table.items()}
    return pytest.approx(table, rel=1e-12) if isinstance(table, float) else table


def test_every_column_of_such_numbers_is_known() -> None:
    kinds = {records.kind_of(row): column for row in rows_of_a_file() for column, *_ in [OF_A_FILE[type(row)]]}
    assert kinds == {kind: column for kind, (column, _known) in COLUMNS.items()}


@override_settings()
def test_a_backup_with_numbers_as_texts_is_restored_with_numbers(tmp_path: Path) -> None:
    settings.DATA_FOLDER, settings.MEDIA_ROOT = tmp_path, tmp_path / "media"
    for row in rows_of_a_file():
        column, then, _now = OF_A_FILE[type(row)]
        records.change(row, {column: then}, expected=row.version)
    file = BytesIO()
    write_backup(file)
    restore_backup(file, replace=True)
    for kind, (column, then, now) in OF_A_FILE.items():
        row = kind._default_manager.get()
        assert getattr(row, column) == approx(now)
        log = records.history(row)[0]
        assert (log.after[column], log.before[column]) == (approx(now), {})
        assert then != now


def test_an_area_kept_as_a_number_is_shown_in_the_units_of_the_reader(client: Client) -> None:
    batch = a_tray_of_two(area=0.05)
    pages = {units: client.get(f"/batches/{batch.pk}/basket/?units={units}").content.decode() for units in ("si", "us")}
    assert "0.050 m²" in pages["si"]
    assert "78 in²" in pages["us"]  # 77.5, of 0.05 m² / (0.0254 m)²


def test_an_exported_batch_is_read_as_it_is_forecast() -> None:
    batch = a_tray_of_two(area=0.05)
    text = load_text(batch)
    assert 'shelf = ["-10 degC for 2 h", "40 degC until dry"]' in text
    assert 'start_temperature = "-18 degC"' in text
    read_again, here = parse_load(tomllib.loads(text)), adapters.load_of(batch)
    assert read_again.rig.program == here.rig.program
    assert read_again.items == here.items


def test_answers_kept_under_an_earlier_fingerprint_are_worked_out_anew(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(making, "SECONDS", 2.0)
    plan = made_rows.a_plan()
    made_rows.a_lot(plan)
    fresh = made_rows.made(plan)
    making.PLAN.keep(replace(fresh, fingerprint=EARLIER))
    assert client.get(f"/plans/{plan.pk}/").status_code == 200
    assert made_rows.made(plan).fingerprint == fresh.fingerprint
    batch = a_tray_of_two()
    records.change(Item.objects.filter(batch=batch)[0], {"extra": {"area": 0.05}}, expected=1)
    asked = {"time_h": 30.0, "share": 1, "apart": [], "foods": {}}
    BEST_LOAD.keep(KeptAnswer(batch.pk, asked, EARLIER, timezone.now(), problems=(Problem("too much"),)))
    season = season_rows.a_full_season()
    for address in (f"/batches/{batch.pk}/basket/", f"/batches/{batch.pk}/best-load/", f"/plans/seasons/{season.pk}/"):
        assert client.get(address).status_code == 200

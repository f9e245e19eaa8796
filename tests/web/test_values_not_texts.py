"""Between rows and engine numbers stay numbers: no text is written that the parser of quantities reads again."""

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from django.test import Client
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
from drystow.web.data.loads import load_text
from drystow.web.kit import records
from drystow.web.kit.answers import Kept, Problem
from drystow.web.plans import making
from drystow.web.plans.batch_adapters import LoadQuestion, basket_of, load_question
from drystow.web.plans.searching import BEST_LOAD
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


def test_an_area_that_was_kept_as_text_counts_as_before() -> None:
    old, new = a_tray_of_two(area="0.05 m^2"), a_tray_of_two(area=0.05)
    assert adapters.load_of(old).items == adapters.load_of(new).items
    assert adapters.load_of(new).items[0].areas.contact == pytest.approx(0.05)


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
    assert read_again.program == here.program
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
    records.change(Item.objects.filter(batch=batch)[0], {"extra": {"area": "0.05 m^2"}}, expected=1)
    asked = {"time_h": 30.0, "share": 1, "apart": [], "foods": {}}
    BEST_LOAD.keep(Kept(batch.pk, asked, EARLIER, timezone.now(), problems=(Problem("too much"),)))
    season = season_rows.a_full_season()
    for address in (f"/batches/{batch.pk}/basket/", f"/batches/{batch.pk}/best-load/", f"/plans/seasons/{season.pk}/"):
        assert client.get(address).status_code == 200

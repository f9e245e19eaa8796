"""The list of seasons; begin one, change it, put it in the bin."""

from pathlib import Path

import pytest
from django.test import Client

from drystow.web.kit import records
from drystow.web.plans.models import Choice, Crop, Season
from tests.web.page_form import sent_back
from tests.web.plan_entry_rows import a_dryer
from tests.web.queries import queries
from tests.web.season_rows import a_crop, a_full_season, a_season

ROOT = Path(__file__).parents[2]
PRICES = {"price-TOTAL_FORMS": "0", "price-INITIAL_FORMS": "0"}


def test_an_empty_kitchen_is_told_what_a_season_is_for(client: Client) -> None:
    page = client.get("/plans/seasons/").content.decode()
    assert "Is one dryer enough for the garden?" in page
    assert "Start with a made-up garden" in page


def test_seasons_are_told_with_what_grows(client: Client) -> None:
    season = a_season()
    a_crop(season, mass_kg=20.0)
    a_crop(season, mass_kg=30.0, name="More")
    records.put_in_bin(a_crop(season, mass_kg=5.0))
    assert "2 crops, 50.0 kg in all" in client.get("/plans/seasons/?units=si").content.decode()


def test_the_questions_do_not_grow_with_the_seasons(client: Client) -> None:
    for number in range(15):
        a_crop(a_season(title=f"Season {number}"))
    client.get("/plans/seasons/")
    with queries(at_most=4):
        client.get("/plans/seasons/")


def test_the_example_garden_begins_with_ten_crops_and_the_dryers_of_the_kitchen(client: Client) -> None:
    dryer = a_dryer()
    answer = client.post("/plans/seasons/example/", follow=True)
    season = Season.objects.get()
    assert answer.redirect_chain[-1][0] == f"/plans/seasons/{season.pk}/crops/"
    assert Crop.objects.filter(season=season).count() == 10
    now, beside, instead = Choice.objects.filter(season=season)
    assert now.dryers == [{"dryer": dryer.pk}]
    assert beside.dryers == [{"dryer": dryer.pk}, {"profile": "bench-4"}]
    assert instead.dryers == [{"profile": "floor-7"}]
    assert "Strawberries" in answer.content.decode()


def test_the_example_in_the_program_is_the_one_in_the_folder_of_examples() -> None:
    shipped = ROOT / "src" / "drystow" / "planning" / "example_garden.toml"
    assert shipped.read_text() == (ROOT / "examples" / "planning" / "garden.toml").read_text()


def test_a_new_season_begins_with_what_is_there_now(client: Client) -> None:
    a_dryer()
    assert "New season" in client.get("/plans/seasons/new/").content.decode()
    sent = {"title": "Ours", "begin": "2027-05-18", "weeks": "20", "rounds": "10", "seed": "3", "weekdays": "17-22",
            "price": "0.2", "freezer": "60 L", **PRICES}  # fmt: skip
    answer = client.post("/plans/seasons/new/", sent)
    season = Season.objects.get()
    assert answer.headers["Location"] == f"/plans/seasons/{season.pk}/crops/"
    assert (season.weeks, season.rounds, season.seed) == (20, 10, 3)
    assert season.home == {"weekdays": ["17-22"]}
    assert season.freezer_m3 == pytest.approx(0.06)
    assert Choice.objects.get().name == "What you have now"


def test_what_is_wrong_in_a_season_comes_back_beside_its_field(client: Client) -> None:
    page = client.post("/plans/seasons/new/", {"title": "", "weeks": "99", "rounds": "0", **PRICES}).content.decode()
    assert 'id="id_weeks_error"' in page
    assert 'id="id_rounds_error"' in page
    assert 'id="id_title_error"' in page
    assert not Season.objects.exists()


def test_a_season_is_changed_and_the_change_can_be_undone(client: Client) -> None:
    season = a_full_season()
    address = f"/plans/seasons/{season.pk}/about/"
    sent = sent_back(client.get(address), weeks="8")
    answer = client.post(address, sent, follow=True)
    assert "Season saved." in answer.content.decode()
    season.refresh_from_db()
    assert season.weeks == 8
    assert "Undo" in answer.content.decode()
    records.undo(records.history(season).first())
    season.refresh_from_db()
    assert season.weeks == 6


def test_a_season_goes_to_the_bin(client: Client) -> None:
    season = a_season()
    client.post(f"/plans/seasons/{season.pk}/bin/")
    season.refresh_from_db()
    assert season.binned_at is not None
    assert client.get(f"/plans/seasons/{season.pk}/").status_code == 404

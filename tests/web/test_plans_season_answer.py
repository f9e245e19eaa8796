"""The answer of a season: asked for, worked out beside, shown, and told when it is old."""

import pytest
from django.test import Client

from drystow.planning.season.answer import ChoiceAnswer, try_seasons
from drystow.planning.season.garden import OverSeasons
from drystow.web.kit import records
from drystow.web.plans.models import Crop, Season
from drystow.web.season import trying
from drystow.web.season.spec import garden_of, season_basis
from drystow.web.season.trying import number_rows
from tests.web.queries import queries
from tests.web.season_rows import a_choice, a_crop, a_full_season, a_season
from tests.web.waiting import waits


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three members in place of 25: the tests ask for the page, not for the drying times."""
    from drystow.planning.schedule.batch_time import Reckoning

    monkeypatch.setattr(trying, "try_seasons", lambda garden, told: try_seasons(garden, told, Reckoning(members=3)))


def page_of(client: Client, season: Season, **headers: str) -> str:
    return client.get(f"/plans/seasons/{season.pk}/?units=si", headers=headers).content.decode()


def test_a_season_without_crops_or_dryers_says_what_to_do(client: Client) -> None:
    season = a_season()
    assert "Add crops" in page_of(client, season)
    a_crop(season)
    assert "Add dryers" in page_of(client, season)
    a_choice(season)
    assert "Test it" in page_of(client, season)


def test_nothing_is_worked_out_before_it_is_asked_for(client: Client) -> None:
    season = a_full_season()
    page_of(client, season)
    assert not waits(trying.SEASON.task)
    assert client.post(f"/plans/seasons/{season.pk}/try/").headers["Location"] == f"/plans/seasons/{season.pk}/"
    assert waits(trying.SEASON.task) == [season.pk]
    trying.SEASON.task.tell(season.pk, 0.4)
    page = page_of(client, season)
    assert 'value="40"' in page
    assert "Check again" in page
    assert 'hx-trigger="every 2s"' in page


def test_the_answer_is_told_in_plain_sentences_with_picture_and_table(client: Client, quick: None) -> None:
    season = a_full_season()
    row = trying.SEASON.work_out(season.pk)
    assert row is not None
    now, two = row.result.answer.choices
    page = page_of(client, season)
    assert f"Enough in {now.enough} of 2 seasons" in page
    assert f"Enough in {two.enough} of 2 seasons" in page
    assert f"Dries {two.pay.more.mean:.0f} kg more a year" in page
    assert f"{two.pay.price:.2f} a kilogram" in page
    assert page.count("<svg") >= 4
    assert "In numbers, for one season" in page
    assert "How it was calculated" in page
    pounds = client.get(f"/plans/seasons/{season.pk}/?units=us").content.decode()
    assert f"{two.pay.price * 0.45359237:.2f} a pound" in pounds


def test_a_part_is_sent_to_a_page_that_looks_again(client: Client, quick: None) -> None:
    season = a_full_season()
    trying.SEASON.work_out(season.pk)
    part = page_of(client, season, **{"HX-Request": "true"})
    assert part.lstrip().startswith('<div id="tried"')
    assert "every 2s" not in part


def test_a_change_makes_the_answer_old_and_it_is_said(client: Client, quick: None) -> None:
    season = a_full_season()
    trying.SEASON.work_out(season.pk)
    assert "Something has changed" not in page_of(client, season)
    records.change(Crop.objects.get(), {"mass_kg": 61.0}, expected=1)
    page = page_of(client, season)
    assert "Something has changed since this was tested." in page
    assert "Enough in" in page


def test_what_the_engine_refuses_is_told_in_its_words(client: Client) -> None:
    season = a_full_season()
    records.change(Crop.objects.get(), {"size_m": 0.5}, expected=1)
    trying.SEASON.work_out(season.pk)
    page = page_of(client, season)
    assert "These entries don’t work yet." in page
    assert f'href="/plans/seasons/{season.pk}/crops/{Crop.objects.get().pk}/"' in page
    assert "Strawberries: " in page
    assert "Test it" in page


def test_a_season_in_the_bin_is_not_tried(client: Client) -> None:
    season = a_full_season()
    records.put_in_bin(season)
    assert trying.SEASON.work_out(season.pk) is None
    assert trying.SEASON.kept(season.pk) is None


def test_the_engine_gets_what_is_written(client: Client) -> None:
    season = a_full_season(seed=7, freezer_m3=0.06, apart=["smells"])
    garden = garden_of(season_basis(season))
    assert (garden.seed, garden.weeks, garden.rounds) == (7, 6, 2)
    assert garden.crops[0].mass == 60.0
    assert [len(choice.frame.dryers) for choice in garden.choices] == [1, 2]
    assert garden.choices[1].price == 2000.0
    assert garden.choices[0].frame.freezer == pytest.approx(0.06)
    assert garden.choices[0].frame.rules == ("germs", "smells")


def test_the_questions_do_not_grow_with_crops_and_choices(client: Client, quick: None) -> None:
    season = a_full_season()
    for number in range(4):
        a_crop(season, name=f"Crop {number}")
        a_choice(season, f"Choice {number}")
    trying.SEASON.work_out(season.pk)
    page_of(client, season)
    with queries(at_most=7):
        page_of(client, season)


def test_the_table_names_a_unit_once_and_a_range_of_one_number_as_that(client: Client) -> None:
    def spread(low: float, middle: float, high: float) -> OverSeasons:
        return OverSeasons(low, middle, high, middle)

    names = ("lost", "value", "share", "weeks_lost", "batches", "time", "energy", "freezer_days")
    row = ChoiceAnswer(
        **dict.fromkeys(names, spread(0.0, 0.0, 0.0)),
        name="Two small ones", dryers=(), price=0.0, years=10.0, enough=2, weeks=(), crops=(), pay=None, per_kg=2.0,
        dried=spread(10.0, 20.0, 30.0), cost=spread(1.0, 2.0, 3.0), freezer=spread(0.1, 0.424, 0.9),
    )  # fmt: skip
    rows = number_rows([row], "si", "$")
    assert {one.named_cells for one in rows if one.label == "Dried"} == {(("Two small ones", "20 kg", "10 to 30 kg"),)}
    shown = {one.label: one.cells[0] for one in rows}
    assert shown["Dried"] == ("20 kg", "10 to 30 kg")
    assert shown["Batches"] == ("0", "0")
    assert shown["Its cost"] == ("$2", "$1 to $3")
    assert shown["Freezer at its fullest"] == ("42%", "days when it is full: 0")
    assert shown["Total cost per kilogram"] == ("$2.00", "")
    pound = {one.label: one.cells[0] for one in number_rows([row], "us", "$")}
    assert pound["Dried"] == ("44 lb", "22 to 66 lb")  # international pound
    assert pound["Total cost per pound"] == ("$0.91", "")

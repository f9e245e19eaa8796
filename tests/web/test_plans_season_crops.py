"""What grows in a season."""

from datetime import date

import pytest
from django.test import Client

from drystow.web.kit import records
from drystow.web.plans.models import Crop
from tests.web.queries import queries
from tests.web.season_rows import BERRIES, a_crop, a_season

CROP = {
    "food": BERRIES.id, "name": "", "mass": "90 lb", "uncertain": "30%", "first": "2026-06-01", "peak": "2026-06-12",
    "last": "2026-06-25", "per_week": "3", "shape": "slab", "size": "9 mm", "value": "4",
}  # fmt: skip


def test_a_food_is_found_and_put_in_the_season(client: Client) -> None:
    season = a_season()
    address = f"/plans/seasons/{season.pk}/crops/"
    assert "Nothing yet" in client.get(address).content.decode()
    assert f"food={BERRIES.id}" in client.get(address + "?q=strawberries").content.decode()
    assert "Add to the season" in client.get(address + f"?food={BERRIES.id}").content.decode()
    answer = client.post(address, CROP, follow=True)
    assert "added to the season" in answer.content.decode()
    crop = Crop.objects.get()
    assert crop.name == BERRIES.name
    assert crop.mass_kg == pytest.approx(90 * 0.45359237)  # international pound
    assert crop.value_per_kg == pytest.approx(4 / 0.45359237)
    assert crop.uncertain == pytest.approx(0.3)
    assert crop.peak == date(2026, 6, 12)


def test_only_the_found_foods_are_sent_while_somebody_types(client: Client) -> None:
    season = a_season()
    part = client.get(f"/plans/seasons/{season.pk}/crops/?q=corn", headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert "food=" in part


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("mass", "0", "is out of range; enter"),
        ("uncertain", "300%", "is out of range; enter"),
        ("first", "2025-01-01", "outside the season"),
        ("peak", "2026-06-28", "between the first and the last picking"),
        ("per_week", "9", "7"),
        ("size", "3 m", "is out of range; enter"),
        ("value", "-1", "0"),
    ],
)
def test_what_is_wrong_in_a_crop_stands_beside_its_field(client: Client, field: str, value: str, words: str) -> None:
    season = a_season()
    page = client.post(f"/plans/seasons/{season.pk}/crops/", CROP | {field: value}).content.decode()
    assert words in page.split(f'id="id_{field}_error"')[1].split("</p>")[0].replace("&#x27;", "'")
    assert not Crop.objects.exists()


def test_a_crop_is_changed_and_keeps_the_worth_that_was_not_touched(client: Client) -> None:
    season = a_season()
    crop = a_crop(season, value_per_kg=9.123)
    address = f"/plans/seasons/{season.pk}/crops/{crop.pk}/"
    assert "Strawberries" in client.get(address).content.decode()
    sent = CROP | {"version": "1", "name": "Berries", "value": "4.14"}
    assert client.post(address, sent).status_code == 302
    crop.refresh_from_db()
    assert (crop.name, crop.value_per_kg) == ("Berries", 9.123)


def test_two_people_who_change_one_crop_are_told(client: Client) -> None:
    season = a_season()
    crop = a_crop(season)
    records.change(crop, {"per_week": 1.0}, expected=1)
    page = client.post(
        f"/plans/seasons/{season.pk}/crops/{crop.pk}/", CROP | {"version": "1", "per_week": "5"}
    ).content.decode()
    assert "meanwhile" in page


def test_a_crop_is_taken_out(client: Client) -> None:
    season = a_season()
    crop = a_crop(season)
    answer = client.post(f"/plans/seasons/{season.pk}/crops/{crop.pk}/remove/", follow=True)
    assert "removed from the season" in answer.content.decode()
    assert not Crop.objects.kept().exists()


def test_the_questions_do_not_grow_with_the_crops(client: Client) -> None:
    season = a_season()
    for number in range(12):
        a_crop(season, name=f"Crop {number}")
    client.get(f"/plans/seasons/{season.pk}/crops/")
    with queries(at_most=5):
        client.get(f"/plans/seasons/{season.pk}/crops/")

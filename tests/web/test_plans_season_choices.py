"""Which dryers might be there in a season."""

import re

import pytest
from django.test import Client

from drystow.web.kit import records
from drystow.web.plans.models import Choice
from tests.web.plan_entry_rows import a_dryer
from tests.web.queries import queries
from tests.web.season_rows import a_choice, a_season


def test_dryers_of_the_kitchen_and_usual_ones_make_a_choice(client: Client) -> None:
    season, dryer = a_season(), a_dryer("Oak")
    address = f"/plans/seasons/{season.pk}/dryers/"
    assert "What do you have now?" in client.get(address).content.decode()
    sent = {"name": "Two more", "price": "2400", "years": "8", "dryers": [dryer.pk], "count_bench-4": "2"}
    page = client.post(address, sent, follow=True).content.decode()
    choice = Choice.objects.get()
    assert choice.dryers == [{"dryer": dryer.pk}, {"profile": "bench-4"}, {"profile": "bench-4"}]
    words = "dryer with 5 ft² of trays that holds 7.9 lb of ice"
    assert f"Oak, {words}, {words} (2)" in page
    assert not re.search(r">[^<]*bench-4", page)
    assert "lasts 8 years" in page


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"count_bench-4": ""}, "Choose 1 to 6 dryers"),
        ({"count_bench-4": "3", "count_kitchen-5": "3", "count_floor-7": "1"}, "Choose 1 to 6 dryers"),
        ({"count_bench-4": "1", "price": "-1"}, "id_price_error"),
        ({"count_bench-4": "1", "years": "0"}, "id_years_error"),
        ({"count_bench-4": "9"}, "id_count_bench-4_error"),
        ({"count_bench-4": "1", "name": ""}, "id_name_error"),
    ],
)
def test_what_is_wrong_in_a_choice_is_told(client: Client, sent: dict[str, str], words: str) -> None:
    season = a_season()
    usual = {"name": "New", "price": "0", "years": "10"}
    assert words in client.post(f"/plans/seasons/{season.pk}/dryers/", usual | sent).content.decode()
    assert not Choice.objects.exists()


def test_a_choice_is_changed_and_taken_out(client: Client) -> None:
    season = a_season()
    choice = a_choice(season, "Old", "bench-4", "bench-4")
    address = f"/plans/seasons/{season.pk}/dryers/{choice.pk}/"
    assert 'value="2"' in client.get(address).content.decode()
    sent = {"version": "1", "name": "Newer", "price": "10", "years": "5", "count_kitchen-5": "1"}
    assert client.post(address, sent).status_code == 302
    choice.refresh_from_db()
    assert (choice.name, choice.dryers) == ("Newer", [{"profile": "kitchen-5"}])
    client.post(address + "remove/")
    assert not Choice.objects.kept().exists()


def test_a_dryer_that_left_the_kitchen_is_left_out(client: Client) -> None:
    season, dryer = a_season(), a_dryer("Oak")
    a_choice(season, "Both", dryers=[{"dryer": dryer.pk}, {"profile": "floor-7"}])
    records.put_in_bin(dryer)
    page = client.get(f"/plans/seasons/{season.pk}/dryers/").content.decode()
    assert "<p>dryer with 20.3 ft² of trays that holds 35.3 lb of ice</p>" in page


def test_the_questions_do_not_grow_with_the_choices(client: Client) -> None:
    season = a_season()
    for number in range(5):
        a_choice(season, f"Choice {number}", dryers=[{"dryer": a_dryer(f"Dryer {number}").pk}])
    client.get(f"/plans/seasons/{season.pk}/dryers/")
    with queries(at_most=7):
        client.get(f"/plans/seasons/{season.pk}/dryers/")

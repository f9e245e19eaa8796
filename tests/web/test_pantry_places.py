"""Places and their temperatures."""

import pytest
from django.test import Client

from drystow.web.pantry.models import Place, PlaceReading
from drystow.web.pantry.readings import Climate
from tests.web.pantry_rows import package, place
from tests.web.queries import queries


def test_a_place_is_added_in_the_units_of_the_kitchen(client: Client) -> None:
    assert "No places yet" in client.get("/pantry/places/").content.decode()
    data = {"name": "Cellar", "warm": "68", "cold": "41 °F", "coldest_month": "1", "humidity": "60%", "version": "1"}
    assert client.post("/pantry/places/", data).status_code == 302
    made = Place.objects.get()
    assert (made.temperature_c, made.winter_c, made.humidity) == (20.0, 5.0, 0.6)


def test_a_second_place_of_the_same_name_is_refused(client: Client) -> None:
    place("Cellar")
    data = {"name": "Cellar", "warm": "68", "coldest_month": "1", "humidity": "60%"}
    answer = client.post("/pantry/places/", data)
    assert answer.status_code == 422
    assert "there is already a place with this name" in answer.content.decode()


def test_a_winter_warmer_than_the_summer_is_refused(client: Client) -> None:
    data = {"name": "Shed", "warm": "10 °C", "cold": "20 °C", "coldest_month": "1", "humidity": "60%"}
    assert "swap the two" in client.post("/pantry/places/", data).content.decode()


def test_a_reading_is_logged_and_listed(client: Client) -> None:
    made = place()
    client.post(f"/pantry/places/{made.pk}/reading/", {"temperature": "50 °F"})
    assert PlaceReading.objects.get().temperature_c == 10.0
    assert "50 °F" in client.get(f"/pantry/places/{made.pk}/").content.decode()


def test_a_reading_of_tomorrow_is_refused(client: Client) -> None:
    made = place()
    data = {"temperature": "50 °F", "at": "2999-01-01T10:00"}
    assert "in the future" in client.post(f"/pantry/places/{made.pk}/reading/", data).content.decode()
    assert not PlaceReading.objects.exists()


def test_two_people_changing_one_place_are_told(client: Client) -> None:
    made = place()
    data = {"name": "Cellar", "warm": "60 °F", "coldest_month": "1", "humidity": "50%"}
    client.post(f"/pantry/places/{made.pk}/", data | {"version": "1", "notes": "dry"})
    answer = client.post(f"/pantry/places/{made.pk}/", data | {"version": "1", "notes": "damp"})
    assert "Someone changed this meanwhile" in answer.content.decode()
    assert "damp" in answer.content.decode()
    assert Place.objects.get().notes == "dry"


def test_a_place_with_packages_stays_and_an_empty_one_goes_to_the_bin(client: Client) -> None:
    used, empty = place("Cellar"), place("Attic")
    package(used)
    assert "move them to another place" in client.post(f"/pantry/places/{used.pk}/bin/").content.decode()
    client.post(f"/pantry/places/{empty.pk}/bin/")
    assert [one.name for one in Place.objects.kept()] == ["Cellar"]


def test_many_places_and_readings_take_few_questions(client: Client) -> None:
    for number in range(20):
        package(place(f"Shelf {number}"))
    client.get("/pantry/places/")
    with queries(at_most=5):
        client.get("/pantry/places/")


def test_the_usual_course_is_a_cosine_between_coldest_and_warmest_month() -> None:
    """Half a year from its lowest a cosine is at its highest, a quarter year from it in the middle (definition)."""
    shed = Climate(1, 25.0, 5.0, 1, 0.5)
    assert [round(shed.usual_c(month), 6) for month in (1, 4, 7, 10)] == [5.0, 15.0, 25.0, 15.0]
    assert sum(shed.usual_c(month) for month in range(1, 13)) / 12 == pytest.approx(15.0)
    assert Climate(1, 25.0, 5.0, 7, 0.5).usual_c(7) == 5.0

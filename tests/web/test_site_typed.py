"""What somebody typed for a quantity comes back as it was typed, as long as the record still has that value."""

from typing import Any

import pytest
from django.test import Client

from drystow.web.batches.models import Item
from drystow.web.kit import records
from drystow.web.kit.models import Change, Kitchen, Typed
from drystow.web.pantry.models import Place
from tests.web.batch_rows import a_batch, an_item
from tests.web.page_form import sent_back

LB = 0.45359237  # exact by definition (NIST SP 811)


@pytest.fixture
def address() -> str:
    item = an_item(a_batch())
    return f"/batches/{item.batch_id}/basket/{item.pk}/"


def fields(client: Client, address: str) -> dict[str, str]:
    return sent_back(client.get(address))


def save(client: Client, address: str, **changes: str) -> Item:
    answer = client.post(address, fields(client, address) | changes)
    assert answer.status_code == 302, answer.content.decode()
    return Item.objects.get()


TYPED = {"mass": "2 lb 8 oz", "size": "1 1/2 in", "start_c": "110 F"}


def test_each_quantity_comes_back_as_it_was_typed(client: Client, address: str) -> None:
    item = save(client, address, **TYPED)
    assert item.mass_kg == pytest.approx(2.5 * LB)
    shown = fields(client, address)
    assert {name: shown[name] for name in TYPED} == TYPED


def test_saving_again_what_is_shown_changes_nothing(client: Client, address: str) -> None:
    item = save(client, address, **TYPED)
    again = save(client, address)
    assert (again.version, again.mass_kg, again.start_c) == (item.version, item.mass_kg, item.start_c)


def test_a_value_that_was_changed_elsewhere_is_shown_instead(client: Client, address: str) -> None:
    item = save(client, address, **TYPED)
    item = records.change(item, {"mass_kg": 1.0}, expected=item.version)
    assert fields(client, address)["mass"] == "2.2 lb"
    records.undo(Change.objects.filter(object_id=item.pk, kind="batches.item").latest("id"))
    assert fields(client, address)["mass"] == "2 lb 8 oz"


@pytest.mark.parametrize(
    ("typed", "kitchen", "shown"),
    [
        ("1,200 g", {"language": "es"}, "2,65 lb"),  # one and a fifth of a gram to a Spanish reader
        ("2.5", {"units": "si"}, "1.13 kg"),  # pounds, which a bare number is not any more
        ("1.5 lb", {"language": "es"}, "1,5 lb"),
        ("2 lb 8 oz", {"language": "es", "units": "si"}, "2 lb 8 oz"),  # the same to everybody
    ],
)
def test_a_reader_who_would_read_another_value_sees_the_value(
    client: Client, address: str, typed: str, kitchen: dict[str, Any], shown: str
) -> None:
    save(client, address, mass=typed)
    assert fields(client, address)["mass"] == typed
    records.change(records.kitchen(), kitchen, expected=records.kitchen().version)
    assert fields(client, address)["mass"] == shown


def test_only_what_differs_from_the_usual_way_is_kept(client: Client, address: str) -> None:
    save(client, address, mass="2.5 lb")
    assert not Typed.objects.filter(texts__has_key="mass").exists()


def test_settings_and_places_bring_it_back_too(client: Client) -> None:
    answer = client.post("/settings/", fields(client, "/settings/") | {"altitude_m": "5,000 feet"})
    assert answer.status_code == 302
    assert Kitchen.objects.get().altitude_m == pytest.approx(1524.0)
    assert fields(client, "/settings/")["altitude_m"] == "5,000 feet"
    place = records.create(Place(name="Cellar", temperature_c=12.0, humidity=0.6))
    page = f"/pantry/places/{place.pk}/"
    client.post(page, fields(client, page) | {"warm": "60 F", "name": "Cellar"})
    assert Place.objects.get().temperature_c == pytest.approx(15.56)
    assert fields(client, page)["warm"] == "60 F"

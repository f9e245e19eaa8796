"""The trays of a batch."""

import re
import time

import pytest
from django.test import Client

from drystow.foods import table
from drystow.planning.separation import smells
from drystow.web.batches.adapters import load_of
from drystow.web.batches.arrange import Placed, neighbour_warnings, spread_evenly
from drystow.web.batches.models import Load
from drystow.web.data.loads import batch_from_text, load_text
from tests.web.batch_rows import BERRIES, CARROTS, CHICKEN, ONIONS, a_batch, an_item, on_tray

PART = {"HX-Request": "true"}


def test_a_tapped_tray_takes_all_that_is_left(client: Client) -> None:
    batch = a_batch()
    item = an_item(batch)
    on_tray(item, 1, 0.7)
    client.post(f"/batches/{batch.pk}/trays/put/", {"item": item.pk, "tray": 2, "mass": ""})
    assert Load.objects.get(tray=2).mass_kg == pytest.approx(0.9)
    page = client.post(f"/batches/{batch.pk}/trays/put/", {"item": item.pk, "tray": 3}).content.decode()
    assert "is on trays; enter how much to move" in page


def test_a_written_mass_replaces_what_lay_there(client: Client) -> None:
    batch = a_batch()
    item = an_item(batch)
    load = on_tray(item, 1, 0.7)
    sent = {"item": item.pk, "tray": 1, "mass": "500 g", f"seen-{load.pk}": 1}
    assert client.post(f"/batches/{batch.pk}/trays/put/", sent).status_code == 302
    assert Load.objects.get().mass_kg == 0.5
    told = client.post(f"/batches/{batch.pk}/trays/put/", sent | {"mass": "600 g"}).content.decode()
    assert "Someone changed this meanwhile" in told
    assert "mass_kg" not in told
    assert Load.objects.get().mass_kg == 0.5


def test_htmx_gets_the_new_forecast_at_once(client: Client) -> None:
    batch = a_batch()
    item = an_item(batch)
    address = f"/batches/{batch.pk}/trays/"
    client.post(f"{address}put/", {"item": item.pk, "tray": 1, "mass": "0.4 kg"}, headers=PART)
    begin = time.process_time()
    part = client.post(f"{address}put/", {"item": item.pk, "tray": 2, "mass": "0.8 kg"}, headers=PART).content.decode()
    assert time.process_time() - begin < 0.6
    assert "<html" not in part
    assert "All dry after about" in part
    assert len(re.findall(r"dry after\s+[\d.]+ h", part)) == 2


def test_the_picture_shows_a_tray_that_is_too_full(client: Client) -> None:
    batch = a_batch()
    item = an_item(batch, mass_kg=3.5)
    on_tray(item, 3, 3.5)
    page = client.get(f"/batches/{batch.pk}/trays/").content.decode()
    assert "Tray 3, Blueberries, raw:" in page
    assert "rim" in page
    assert 'class="food over"' in page
    assert "above the rim" in page


def test_the_trays_page_says_how_food_lies_and_what_cannot_be_true(client: Client) -> None:
    batch = a_batch()
    on_tray(an_item(batch), 1, 0.4)
    bars = an_item(batch, CARROTS, shape="slab", size_m=0.01, width_m=0.03, length_m=0.09)
    on_tray(bars, 2, 0.3)
    on_tray(an_item(batch, CARROTS, shape="cube", size_m=0.008), 3, 1.2)
    page = " ".join(client.get(f"/batches/{batch.pk}/trays/").content.decode().split())
    assert re.search(r"About \d+ pieces, covering \d+% of the tray", page)
    assert re.search(r"About [\d,]+ pieces on each other", page)
    assert "so it dries as a bed" in page


def test_food_in_wrappers_is_kept_as_written_and_its_wrappers_are_no_food(client: Client) -> None:
    batch = a_batch()
    item = an_item(batch, CARROTS, shape="slab", size_m=0.012, mass_kg=0.6)
    sent = {
        "food": item.food, "version": 1, "mass": "600 g", "shape": "slab", "size": "12 mm", "width": "25 mm",
        "length": "10 cm", "packing": "touching", "lies_on": "mesh", "wrapper": "slit", "opening": "5 %",
        "wrapper_mass": "30 g",
    }  # fmt: skip
    assert client.post(f"/batches/{batch.pk}/basket/{item.pk}/", sent).status_code == 302
    on_tray(item, 1, 0.3)
    loaded = load_of(batch).items[0]
    assert (loaded.cut.width, loaded.cut.length, loaded.cut.packing) == (0.025, 0.1, "touching")
    assert (loaded.cut.faces, loaded.cut.wrapper, loaded.cut.opening) == (2, "slit", 0.05)
    assert loaded.covering > 0.0
    assert (loaded.mass, loaded.wrapper_mass) == (pytest.approx(0.3), pytest.approx(0.015))
    again, _told = batch_from_text(load_text(batch))
    kept = again.items.get()
    assert (kept.lies_on, kept.packing, kept.wrapper, kept.wrapper_kg) == ("mesh", "touching", "slit", 0.015)


def test_food_is_spread_over_all_trays_with_raw_meat_lowest(client: Client) -> None:
    batch = a_batch()
    an_item(batch, CHICKEN, mass_kg=0.4, shape="slab", size_m=0.01)
    an_item(batch, mass_kg=1.5)
    client.post(f"/batches/{batch.pk}/trays/spread/", {})
    rows = {load.tray: load.item.name for load in Load.objects.kept().select_related("item")}
    assert sorted(rows) == [1, 2, 3, 4]
    assert rows[4] == CHICKEN.name
    assert sum(load.mass_kg for load in Load.objects.kept()) == pytest.approx(1.9)
    client.post(f"/batches/{batch.pk}/trays/spread/", {})
    assert Load.objects.kept().count() == 4


def test_food_is_taken_off_and_a_tray_beyond_the_dryer_refused(client: Client) -> None:
    batch = a_batch()
    item = an_item(batch)
    load = on_tray(item, 1, 0.7)
    page = client.post(f"/batches/{batch.pk}/trays/put/", {"item": item.pk, "tray": 5, "mass": "1 lb"}).content.decode()
    assert "The dryer has 4 trays" in page
    client.post(f"/batches/{batch.pk}/trays/take/", {"load": load.pk})
    assert Load.objects.kept().count() == 0
    again = client.post(f"/batches/{batch.pk}/trays/take/", {"load": load.pk}).content.decode()
    assert "already off the tray" in again


def test_the_waiting_tray_is_named(client: Client) -> None:
    batch = a_batch()
    thick = an_item(batch, table.get("Stew, beef"), shape="slab", size_m=0.017)
    on_tray(thick, 2, 1.6)
    on_tray(an_item(batch), 1, 0.2)
    page = client.get(f"/batches/{batch.pk}/trays/").content.decode()
    assert "The others wait for tray 2 (Stew, beef)" in page


def test_whole_trays_are_shared_out_by_need_and_shared_when_there_are_too_few() -> None:
    assert spread_evenly({1: 3.0, 2: 1.0}, 4) == [(1, 1, 1 / 3), (1, 2, 1 / 3), (1, 3, 1 / 3), (2, 4, 1.0)]
    assert spread_evenly({1: 1.0, 2: 1.0, 3: 1.0}, 2) == [(1, 1, 1.0), (2, 1, 1.0), (3, 2, 1.0)]
    assert spread_evenly({}, 4) == []


def test_raw_meat_above_ready_food_allergens_and_smells_are_warned_of() -> None:
    egg = table.get("Egg, whole, raw, fresh")
    words = warned(Placed(1, "Chicken", CHICKEN), Placed(2, "Berries", BERRIES))
    assert "Raw and ready-to-eat food in one chamber" in words
    assert "Chicken is above or beside" in words
    assert "wash trays, shelves and door seal" in words
    assert "is above" not in warned(Placed(1, "Berries", BERRIES), Placed(2, "Chicken", CHICKEN))
    allergens = warned(Placed(1, "Egg", egg), Placed(2, "Berries", BERRIES))
    assert "Allergen egg" in allergens
    assert "may contain" in allergens
    smell = warned(Placed(1, "Onions", ONIONS), Placed(2, "Berries", BERRIES))
    assert "Onions scents the whole chamber, and Berries picks it up" in smell
    assert "Another tray is not enough" in smell
    assert "Cook it after soaking" in warned(Placed(1, "Chicken", CHICKEN))
    assert neighbour_warnings([Placed(1, "Carrots", CARROTS), Placed(2, "Berries", BERRIES)]) == []
    assert not smells(table.get("Carrots, raw"))


def warned(*placed: Placed) -> str:
    return " ".join(" ".join((one.words, *one.steps)) for one in neighbour_warnings(placed))


def test_warnings_stand_on_the_page_with_what_to_do(client: Client) -> None:
    batch = a_batch()
    on_tray(an_item(batch, CHICKEN, mass_kg=0.4), 1, 0.4)
    on_tray(an_item(batch, mass_kg=0.4), 2, 0.4)
    page = client.get(f"/batches/{batch.pk}/trays/").content.decode()
    assert "move it to the lowest trays" in page
    assert "in a batch of its own" in page


def test_an_empty_basket_leads_back(client: Client) -> None:
    batch = a_batch()
    assert "Add food first" in client.get(f"/batches/{batch.pk}/trays/").content.decode()
    assert "The basket is empty" in client.post(f"/batches/{batch.pk}/trays/spread/", {}).content.decode()


def test_the_queries_do_not_grow_with_the_trays(client: Client) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    batch = a_batch()
    on_tray(an_item(batch), 1, 0.2)
    client.get(f"/batches/{batch.pk}/trays/")
    with CaptureQueriesContext(connection) as few:
        client.get(f"/batches/{batch.pk}/trays/")
    for tray in (2, 3, 4):
        on_tray(an_item(batch), tray, 0.2)
    with CaptureQueriesContext(connection) as many:
        client.get(f"/batches/{batch.pk}/trays/")
    assert len(many) == len(few)


def test_spreading_what_is_spread_already_offers_no_undo_of_something_older(client: Client) -> None:
    batch = a_batch()
    an_item(batch)
    address = f"/batches/{batch.pk}/trays/"
    first = client.post(f"{address}spread/", follow=True).content.decode()
    again = client.post(f"{address}spread/", follow=True).content.decode()
    assert "/undo/" in first
    assert "/undo/" not in again

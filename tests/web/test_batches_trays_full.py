"""More water than the trap holds: the forecast still stands there, with what must come out or when to stop."""

import re
import time

import pytest
from django.test import Client

from drystow.foods import table
from drystow.web.batches.adapters import dryer_of, load_of, predict_overload, tray_loads
from drystow.web.batches.models import Batch, Load
from drystow.web.batches.traypicture import excess_of
from tests.web.batch_rows import BERRIES, a_batch, an_item, on_tray
from tests.web.page_forms import forms_of

PART = {"HX-Request": "true"}


def too_wet() -> Batch:
    """5.2 kg of blueberries on the bench dryer's four trays."""
    batch = a_batch()
    item = an_item(batch, mass_kg=5.2)
    for tray in (1, 2, 3, 4):
        on_tray(item, tray, 1.3)
    return batch


def test_the_forecast_stands_beside_what_is_too_much(client: Client) -> None:
    batch = too_wet()
    page = " ".join(client.get(f"/batches/{batch.pk}/trays/?units=si").content.decode().split())
    water, trap = 5.2 * BERRIES.composition.water, dryer_of(batch.dryer).trap_capacity  # fresh mass times its water
    over = f"{1000 * (water - trap):.0f} g too much"
    told = f"holds {water:.2f} kg of water, but the cold trap takes only {trap:.2f} kg of ice: {over}"
    assert told in page
    assert "Trap full, food not dry, after about" in page
    assert "Ice on the cold trap" in page
    assert re.search(r"The trap is full after about [\d.]+ h", page)
    assert "How to stop and defrost" in page


def test_what_is_advised_to_come_off_is_enough_and_not_much_more() -> None:
    batch = too_wet()
    loads = tray_loads(batch)
    excess = excess_of(loads, predict_overload(batch, loads))
    assert excess is not None
    off = sum(one.mass for one in excess.off)
    needed = excess.over / BERRIES.composition.water  # all the same food, so the masses follow by division
    assert needed < off < needed + 0.02
    for one in excess.off:
        loads[loads.index(one.load)].mass_kg = one.left
    assert load_of(batch, [load for load in loads if load.mass_kg > 0]).overload is False


def test_the_slowest_tray_is_eased_first() -> None:
    batch = a_batch(program=[{"shelf_c": 30.0, "hours": None}])
    berries = an_item(batch, mass_kg=3.4)
    for tray in (1, 2):
        on_tray(berries, tray, 1.3)
    stew = an_item(batch, table.get("Stew, beef"), mass_kg=4.0, shape="slab", size_m=0.017)
    for tray in (3, 4):
        on_tray(stew, tray, 1.7)
    loads = tray_loads(batch)
    result = predict_overload(batch, loads)
    excess = excess_of(loads, result)
    assert excess is not None
    wettest = max(zip(loads, result.trays, strict=True), key=lambda pair: pair[1].residual_moisture)[0]
    assert excess.off[0].load.pk == wettest.pk


def test_one_press_takes_off_what_is_too_much(client: Client) -> None:
    batch = too_wet()
    address = f"/batches/{batch.pk}/trays/"
    page = client.get(address).content.decode()
    for form in forms_of(address, page):
        if {"item", "load"} <= set(form.fields):
            client.post(form.action, form.fields)
    assert sum(load.mass_kg for load in Load.objects.kept()) < 5.2
    page = client.get(address).content.decode()
    assert "All dry after about" in page
    assert "cold trap takes only" not in page


def test_a_planned_stop_lets_the_batch_go_on_and_is_taken_back(client: Client) -> None:
    batch = too_wet()
    address = f"/batches/{batch.pk}/trays/"
    client.post(f"{address}stop/")
    assert load_of(Batch.objects.get()).overload is True
    page = client.get(address).content.decode()
    assert "A defrost stop is planned" in page
    assert "Put the trays in a freezer right away" in page
    client.post(f"{address}forget/", {"name": "overload"})
    assert Batch.objects.get().extra == {}
    assert "This was already removed" in client.post(f"{address}forget/", {"name": "overload"}).content.decode()


def test_the_answer_comes_in_under_a_third_of_a_second(client: Client) -> None:
    batch = too_wet()
    item, address = batch.items.get(), f"/batches/{batch.pk}/trays/"
    client.get(address)
    begin = time.process_time()
    part = client.post(f"{address}put/", {"item": item.pk, "tray": 2, "mass": "1.25 kg"}, headers=PART).content.decode()
    assert time.process_time() - begin < 0.3
    assert "Trap full" in part


def test_other_refusals_stay_refusals(client: Client) -> None:
    batch = a_batch()
    item = an_item(batch, mass_kg=9.0)
    on_tray(item, 1, 9.0)
    page = client.get(f"/batches/{batch.pk}/trays/").content.decode()
    assert "above the tray" in page
    assert "Trap full" not in page


@pytest.mark.parametrize("name", ["freeze_to", "heat"])
def test_what_a_load_file_set_is_shown_and_taken_back(client: Client, name: str) -> None:
    batch = a_batch(extra={"freeze_to": 248.15})
    item = an_item(batch, extra={"heat": {"contact": 22.0}})
    on_tray(item, 1, 0.7)
    address = f"/batches/{batch.pk}/trays/"
    page = client.get(f"{address}?units=si").content.decode()
    assert "Set by the load file" in page
    assert "−25.0 °C" in page
    assert "contact 22.0 W/(m²·K)" in page
    assert "Set by the load file" in client.get(f"/batches/{batch.pk}/basket/").content.decode()
    client.post(f"{address}forget/", {"name": name, "item": item.pk if name == "heat" else ""})
    batch.refresh_from_db()
    item.refresh_from_db()
    assert (name in batch.extra, name in item.extra) == (False, False)
    assert batch.extra or item.extra


def test_an_amount_moves_to_another_tray_in_part_and_whole(client: Client) -> None:
    batch = a_batch()
    item = an_item(batch)
    load, address = on_tray(item, 1, 0.7), f"/batches/{batch.pk}/trays/move/"
    sent = {"load": load.pk, "version": 1}
    client.post(address, sent | {"tray": 2, "mass": "200 g"})
    assert {row.tray: row.mass_kg for row in Load.objects.kept()} == pytest.approx({1: 0.5, 2: 0.2})
    client.post(address, sent | {"tray": 2, "version": 2})
    assert {row.tray: row.mass_kg for row in Load.objects.kept()} == pytest.approx({2: 0.7})
    client.post(address, {"load": Load.objects.kept().get().pk, "version": 2, "tray": 4})
    assert Load.objects.kept().get().tray == 4


def test_a_move_that_cannot_be_says_why(client: Client) -> None:
    batch = a_batch()
    item = an_item(batch)
    load, address = on_tray(item, 1, 0.7), f"/batches/{batch.pk}/trays/move/"
    sent = {"load": load.pk, "version": 1}
    assert (
        "less Blueberries, raw than that" in client.post(address, sent | {"tray": 2, "mass": "1 kg"}).content.decode()
    )
    assert "is already on tray 1" in client.post(address, sent | {"tray": 1}).content.decode()
    assert "The dryer has 4 trays" in client.post(address, sent | {"tray": 9}).content.decode()
    assert "already off the tray" in client.post(address, sent | {"load": 0, "tray": 2}).content.decode()
    client.post(address, sent | {"tray": 2, "mass": "100 g"})
    told = client.post(address, sent | {"tray": 3, "mass": "100 g"}).content.decode()
    assert "Someone changed this meanwhile" in told

"""The end of a batch: yield, cost, notes."""

from datetime import UTC, datetime

import pytest
from django.test import Client

from drystow.web.batches.models import Batch
from drystow.web.costs.sums import bring_up_to_date
from drystow.web.kit import records
from drystow.web.pantry.models import Package
from tests.engine.pdf_reading import page_texts
from tests.web.batch_rows import CARROTS, a_batch, an_item, on_tray
from tests.web.pantry_rows import package, place
from tests.web.queries import queries


def finished(**values: object) -> Batch:
    """2 kg fresh for 20, 200 g dried, predicted 10 kWh and 30 h, took 33 h."""
    batch = a_batch(
        stage="done",
        started_at=datetime(2026, 3, 1, 8, tzinfo=UTC),
        ended_at=datetime(2026, 3, 2, 17, tzinfo=UTC),
        prediction={"total_h": {"p10": 26.0, "p50": 30.0, "p90": 36.0}, "energy_kwh": 10.0},
        **values,
    )
    item, cellar = an_item(batch, mass_kg=2.0, price=20.0), place()
    for _ in range(2):
        package(cellar, batch=batch, item=item, lot=batch.lot, name=item.name, food=item.food)
    return batch


def words_of(client: Client, batch: Batch, query: str = "") -> str:
    return " ".join(client.get(f"/batches/{batch.pk}/done/{query}").content.decode().split())


def test_time_yield_and_cost_follow_from_the_rows(client: Client) -> None:
    """By hand: 33 h; 0.2/2 = 10%; 10 kWh × 0.17 = 1.70; 20 + 1.70 = 21.70; 1.70 / 1.8 kg = 0.94; 21.70 / 7 = 3.10."""
    batch = finished(servings=7.0)
    page = words_of(client, batch, "?units=si")
    assert page.count('name="servings"') == 1
    assert "<dd>33 h</dd>" in page
    assert "30 h (8 in 10: 26 to 36 h)" in page
    assert "(10.0%)" in page
    assert "<strong>$21.70</strong>" in page
    assert "$1.70 ($0.17/kWh)" in page
    assert "$0.94, 5.6 kWh" in page
    assert "<strong>$3.10</strong> (7)" in page
    assert "(forecast)" in page


def test_measured_electricity_and_packaging_count_instead(client: Client) -> None:
    """20 kWh × 0.17 = 3.40; 20 + 3.40 + 5 = 28.40 (arithmetic by hand)."""
    batch = finished()
    data = {"version": 1, "energy": "20 kWh", "packaging": "5", "notes": "Thinner slices"}
    client.post(f"/batches/{batch.pk}/done/", data)
    page = words_of(client, batch)
    assert "<strong>$28.40</strong>" in page
    assert "(measured)" in page
    assert "Thinner slices" in page
    assert Batch.objects.get().done_at is None


def test_finishing_sets_the_day_and_tells_every_package_its_cost(client: Client) -> None:
    batch = finished()
    client.post(f"/batches/{batch.pk}/done/finish/", {"version": 1, "notes": ""})
    assert Batch.objects.get().done_at is not None
    assert [one.cost for one in Package.objects.all()] == pytest.approx([10.85, 10.85])


def test_a_shop_price_shows_the_difference(client: Client) -> None:
    """50 in the shop − 21.70 = 28.30."""
    batch = finished()
    item = batch.items.get()
    records.change(item, {"shop_price": 50.0}, expected=1)
    assert "$28.30" in words_of(client, batch)


def test_what_is_missing_for_the_cost_is_told(client: Client) -> None:
    batch = a_batch(stage="done")
    an_item(batch)
    page = words_of(client, batch)
    assert "Nothing packed yet." in page
    assert "Enter below how much electricity it used." in page


def test_a_wrong_energy_comes_back_filled_in(client: Client) -> None:
    batch = finished()
    answer = client.post(f"/batches/{batch.pk}/done/", {"version": 1, "energy": "20 miles"})
    assert answer.status_code == 422
    assert 'value="20 miles"' in answer.content.decode()


def test_two_people_writing_notes_are_told(client: Client) -> None:
    batch = finished()
    client.post(f"/batches/{batch.pk}/done/", {"version": 1, "notes": "Thinner"})
    answer = client.post(f"/batches/{batch.pk}/done/", {"version": 1, "notes": "Warmer"})
    assert "Someone changed this meanwhile" in answer.content.decode()
    assert Batch.objects.get().notes == "Thinner"


def test_the_page_takes_few_questions(client: Client) -> None:
    batch = finished()
    for _ in range(10):
        package(batch.packages.all()[0].place, batch=batch)
    words_of(client, batch)
    with queries(at_most=9):
        words_of(client, batch)


def test_the_sheet_needs_food_on_the_trays_and_then_names_it(client: Client) -> None:
    batch = a_batch()
    item = an_item(batch, CARROTS, mass_kg=0.8, shape="slab", size_m=0.006)
    assert client.get(f"/batches/{batch.pk}/sheet.pdf").headers["Location"] == f"/batches/{batch.pk}/trays/"
    on_tray(item, 1, 0.8)
    answer = client.get(f"/batches/{batch.pk}/sheet.pdf")
    assert answer.headers["Content-Type"] == "application/pdf"
    assert "Carrots, raw" in page_texts(answer.content)[0]
    assert batch.lot in page_texts(answer.content)[0]


def test_servings_written_when_packing_count_by_package_or_in_all(client: Client) -> None:
    """21.70 as above; 2 packages of 4 servings are 8: 21.70 / 8 = 2.71; 14 in all: 1.55 (arithmetic by hand)."""
    batch = finished()
    address = f"/batches/{batch.pk}/packing/"
    assert "How many servings?" in client.get(address).content.decode()
    assert client.post(f"{address}servings/", {"version": 1, "servings": "4", "each": "each"}).status_code == 302
    assert "<strong>$2.71</strong> (8)" in words_of(client, batch)
    bring_up_to_date()
    assert "$2.71" in client.get("/costs/").content.decode()
    data = {"version": 2, "servings": "14", "each": "", "notes": ""}
    client.post(f"/batches/{batch.pk}/done/", data)
    assert "<strong>$1.55</strong> (14)" in words_of(client, batch)
    bring_up_to_date()
    assert "$1.55" in client.get("/costs/").content.decode()
    wrong = client.post(f"{address}servings/", {"version": 3, "servings": "none"})
    assert (wrong.status_code, Batch.objects.get().servings) == (422, 14.0)

"""Labels of a batch: the code on each opens the page of its package."""

from datetime import date

import pytest
from django.test import Client

from drystow.errors import InputError
from drystow.reports.labels import Label
from drystow.web.batches.models import Batch
from drystow.web.pantry.models import Package
from drystow.web.site import records
from tests.engine.pdf_reading import codes, page_texts
from tests.web.batch_rows import a_batch
from tests.web.pantry_rows import package, place


def packed(**values: object) -> Batch:
    batch = a_batch(stage="labels")
    cellar = place()
    for _ in range(3):
        package(cellar, batch=batch, lot=batch.lot, **values)
    return batch


def test_every_code_opens_its_own_package(client: Client) -> None:
    """The codes are read back from the picture of the page by an independent decoder."""
    batch = packed()
    pdf = client.get(f"/batches/{batch.pk}/labels.pdf?sheet=letter-2x5").content
    read = sorted(code.text for code in codes(pdf))
    assert read == sorted(f"http://localhost/pantry/p/{one.code}" for one in Package.objects.all())
    for address in read:
        page = client.get(address.removeprefix("http://localhost"), follow=True)
        assert page.status_code == 200
        assert address[-6:] in page.content.decode()


def test_a_label_says_what_is_in_the_package(client: Client) -> None:
    batch = packed(raw_animal=True, allergens=["milk"], absorbers="1 × 300 cc")
    (text,) = page_texts(client.get(f"/batches/{batch.pk}/labels.pdf?sheet=letter-2x5&units=si").content)
    for words in ("Strawberries", "Net weight 100 g", "COOK BEFORE EATING", "Contains: milk", f"Lot {batch.lot}"):
        assert text.count(words) == 3
    assert "planning estimate" in text


def test_gs1_codes_hold_lot_dates_and_weight(client: Client) -> None:
    batch = packed()
    pdf = client.get(f"/batches/{batch.pk}/labels.pdf?sheet=letter-2x5&gs1=on").content
    assert all(f"10{batch.lot}" in code.text.replace("(", "").replace(")", "") for code in codes(pdf))
    assert "(3103)000100" in page_texts(pdf)[0]


def test_labels_that_do_not_fit_come_back_with_the_reason(client: Client) -> None:
    batch = packed(allergens=[f"allergen number {n}" for n in range(30)])
    answer = client.get(f"/batches/{batch.pk}/labels.pdf?sheet=letter-3x10")
    assert answer.status_code == 422
    assert "is too small for" in answer.content.decode()


def test_more_used_labels_than_the_sheet_has_are_refused(client: Client) -> None:
    batch = packed()
    answer = client.get(f"/batches/{batch.pk}/labels.pdf?sheet=letter-2x5&skip=10")
    assert answer.status_code == 422
    assert "the sheet has 10 labels" in answer.content.decode()


def test_the_sheet_of_the_house_is_chosen_already(client: Client) -> None:
    house = records.household()
    records.change(house, {"label_sheet": "a4-2x7"}, expected=house.version)
    batch = packed()
    page = client.get(f"/batches/{batch.pk}/labels/").content.decode()
    assert '<option value="a4-2x7" selected>' in page
    assert "Only this computer knows that address" in page


def test_labels_on_leads_to_the_end(client: Client) -> None:
    batch = packed()
    answer = client.post(f"/batches/{batch.pk}/labels/")
    assert answer.headers["Location"] == f"/batches/{batch.pk}/done/"
    assert Batch.objects.get().stage == "done"


def test_without_packages_there_are_no_labels(client: Client) -> None:
    batch = a_batch(stage="labels")
    assert "There are no packages yet" in client.get(f"/batches/{batch.pk}/labels/").content.decode()
    assert client.get(f"/batches/{batch.pk}/labels.pdf").headers["Location"] == f"/batches/{batch.pk}/packing/"


def test_a_gs1_code_holds_no_number_of_its_own() -> None:
    with pytest.raises(InputError, match="leave out one of the two"):
        Label(food="Corn", packed_on=date(2026, 3, 1), lot="A1", net_mass=0.1, code="ABC234", gs1=True)

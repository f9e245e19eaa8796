"""Labels of a batch: the code on each opens the page of its package."""

import pytest
from django.test import Client
from django.utils.translation import gettext, override

from drystow.foods import table
from drystow.foods.classify import ALLERGENS
from drystow.foods.marks import RAW
from drystow.keeping.limits import COOKS_WORDS, ESTIMATE
from drystow.reports.labels import TAKE_OUT_ABSORBER
from drystow.reports.sheets import SHEETS
from drystow.web.batches.models import Batch
from drystow.web.kit import records
from drystow.web.pantry.models import Package
from tests.engine.pdf_reading import codes, page_texts
from tests.web.batch_rows import a_batch
from tests.web.pantry_rows import package, place


def packed(**values: object) -> Batch:
    batch = a_batch(stage="labels")
    cellar = place()
    for _ in range(3):
        package(cellar, batch=batch, **({"lot": batch.lot} | values))
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
    assert "the sheet takes 10, so 0 to 9 of them can be used already" in answer.content.decode()


def test_the_sheet_of_the_kitchen_is_chosen_already(client: Client) -> None:
    kitchen = records.kitchen()
    records.change(kitchen, {"label_sheet": "a4-2x7"}, expected=kitchen.version)
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
    assert "No packages yet. Every package gets a label" in client.get(f"/batches/{batch.pk}/labels/").content.decode()
    assert client.get(f"/batches/{batch.pk}/labels.pdf").headers["Location"] == f"/batches/{batch.pk}/packing/"


@pytest.mark.parametrize("gs1", ["", "&gs1=on"])
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("sheet", SHEETS)
def test_no_sheet_drops_what_a_package_may_not_go_without(client: Client, sheet: str, language: str, gs1: str) -> None:
    """The cautions, the allergens and the number of every package stand on the smallest sheet too."""
    batch = packed(
        name=max((food.name for food in table.every()), key=len),
        lot="AL-260928-CHICKEN-02",
        raw_animal=True,
        allergens=list(ALLERGENS),
        absorbers="1 × 300 cc",
        basis=str(ESTIMATE),
    )
    records.change(records.kitchen(), {"language": language}, expected=records.kitchen().version)
    answer = client.get(f"/batches/{batch.pk}/labels.pdf?sheet={sheet}{gs1}", headers={"Accept-Language": language})
    assert answer.status_code == 200
    text = " ".join(page_texts(answer.content))
    with override(language):
        names = ", ".join(gettext(name) for name in ALLERGENS)
        for words in (TAKE_OUT_ABSORBER, RAW, COOKS_WORDS[ESTIMATE]):
            assert text.count(gettext(words)) >= 3
        assert text.count(gettext("Contains: {allergens}").format(allergens=names)) == 3
        for package in Package.objects.all():
            assert gettext("Package {code}").format(code=package.code) in text

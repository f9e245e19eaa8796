"""The curves of a batch's forecast."""

from django.test import Client

from tests.web.batch_rows import a_batch, an_item, on_tray


def test_the_curves_come_as_a_page_and_as_a_part(client: Client) -> None:
    batch = a_batch()
    on_tray(an_item(batch), 1, 0.8)
    page = client.get(f"/batches/{batch.pk}/curves/").content.decode()
    part = client.get(f"/batches/{batch.pk}/curves/", headers={"HX-Request": "true"}).content.decode()
    for text in (page, part):
        assert text.count("<svg") >= 4
        assert "Water left over time" in text
    assert "<html" in page
    assert "<html" not in part


def test_without_food_the_reason_stands_in_place_of_the_curves(client: Client) -> None:
    page = client.get(f"/batches/{a_batch().pk}/curves/")
    assert page.status_code == 200
    assert "caution" in page.content.decode()


def test_the_program_fetches_the_curves_and_links_to_them(client: Client) -> None:
    batch = a_batch()
    on_tray(an_item(batch), 1, 0.8)
    page = client.get(f"/batches/{batch.pk}/program/").content.decode()
    assert page.count(f"/batches/{batch.pk}/curves/") == 2

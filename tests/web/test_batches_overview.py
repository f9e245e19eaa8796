"""The list of batches."""

import re
from datetime import timedelta

from django.test import Client
from django.utils import timezone

from drystow.web.batches.models import Batch
from tests.web.batch_rows import a_batch, an_item

TIMES = {"total_h": {"p10": 20.0, "p50": 24.0, "p90": 30.0}}


def test_an_empty_list_says_what_to_do_in_five_steps(client: Client) -> None:
    page = client.get("/batches/").content.decode()
    assert "five steps" in page
    assert "Add your dryer" in page
    assert 'href="/batches/new/"' in page


def test_running_batches_come_first_with_their_finish(client: Client) -> None:
    now = timezone.now()
    a_batch(title="Later")
    a_batch(title="Done and kept", stage="done", started_at=now, ended_at=now, done_at=now)
    a_batch(title="In the dryer", stage="running", started_at=now - timedelta(hours=12), prediction=TIMES)
    page = client.get("/batches/").content.decode()
    assert page.index("In the dryer") < page.index("Later") < page.index("Done and kept")
    assert '<progress max="100" value="50">' in page  # 12 h of 24 h
    assert "Dry " in page


def test_a_run_without_a_prediction_is_listed_without_a_finish(client: Client) -> None:
    a_batch(title="In the dryer", stage="running", started_at=timezone.now())
    page = client.get("/batches/").content.decode()
    assert "In the dryer" in page
    assert "<progress" not in page


def test_a_search_finds_lots_and_foods_and_says_when_there_is_none(client: Client) -> None:
    berries = a_batch(title="First picking")
    an_item(berries)
    a_batch(title="Second", lot="B77")
    assert "First picking" in client.get("/batches/?q=blueb").content.decode()
    found = client.get("/batches/?q=b77").content.decode()
    assert "Second" in found
    assert "First picking" not in found
    assert "No batch has “quark”" in client.get("/batches/?q=quark").content.decode()


def test_the_number_of_queries_does_not_grow_with_the_batches(client: Client) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    an_item(a_batch())
    client.get("/batches/")
    with CaptureQueriesContext(connection) as few:
        client.get("/batches/")
    for _more in range(12):
        an_item(a_batch())
    with CaptureQueriesContext(connection) as many:
        client.get("/batches/")
    assert len(many) == len(few)


def test_a_long_list_has_pages(client: Client) -> None:
    for number in range(51):
        a_batch(title=f"Batch {number}")
    assert "page=2" in client.get("/batches/").content.decode()
    assert "Batch 0<" in client.get("/batches/?page=2").content.decode()


def test_a_batch_opens_at_its_stage(client: Client) -> None:
    batch = a_batch(stage="trays")
    assert client.get(f"/batches/{batch.pk}/").headers["Location"] == f"/batches/{batch.pk}/trays/"
    assert client.get(f"/batches/{batch.pk + 1}/").status_code == 404


def test_a_new_batch_begins_with_a_free_lot_and_a_program(client: Client) -> None:
    first = a_batch()
    page = client.get("/batches/new/").content.decode()
    lot = re.search(r'name="lot" value="([\d-]+)"', page).group(1)
    sent = {"title": "Spring stews", "dryer": first.dryer_id, "lot": lot}
    answer = client.post("/batches/new/", sent)
    made = Batch.objects.get(title="Spring stews")
    assert answer.headers["Location"] == f"/batches/{made.pk}/basket/"
    assert made.program[-1] == {"shelf_c": 40.0, "hours": None}
    again = client.post("/batches/new/", sent).content.decode()
    assert f"Lot {lot} is taken" in again
    assert "Spring stews" in again


def test_without_a_dryer_there_is_no_batch_yet(client: Client) -> None:
    assert "A batch needs a dryer" in client.get("/batches/new/").content.decode()


def test_two_people_who_rename_a_batch_are_told(client: Client) -> None:
    batch = a_batch()
    sent = {"dryer": batch.dryer_id, "lot": batch.lot, "version": 1}
    client.post(f"/batches/{batch.pk}/about/", sent | {"title": "Plums"})
    page = client.post(f"/batches/{batch.pk}/about/", sent | {"title": "Pears"}).content.decode()
    assert "Plums" in page
    assert 'value="Pears"' in page
    assert Batch.objects.get().title == "Plums"
    client.post(f"/batches/{batch.pk}/about/", sent | {"title": "Pears", "version": 2})
    assert Batch.objects.get().title == "Pears"


def test_a_batch_goes_to_the_bin_and_leaves_the_list(client: Client) -> None:
    batch = a_batch()
    page = client.post(f"/batches/{batch.pk}/bin/", follow=True).content.decode()
    assert "is in the trash" in page
    assert client.get(f"/batches/{batch.pk}/basket/").status_code == 404


def test_the_next_stage_is_one_button_away_but_a_run_is_not_skipped(client: Client) -> None:
    batch = a_batch()
    client.post(f"/batches/{batch.pk}/move/", {"stage": "trays"})
    assert Batch.objects.get().stage == "trays"
    client.post(f"/batches/{batch.pk}/move/", {"stage": "packing"})
    assert Batch.objects.get().stage == "trays"
    assert client.post(f"/batches/{batch.pk}/move/", {"stage": "moon"}).status_code == 400

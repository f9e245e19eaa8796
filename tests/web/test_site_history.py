"""History, undo, bin."""

from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from drystow.web.batches.models import Batch
from drystow.web.dryers.models import Dryer, Service
from drystow.web.kit import records
from drystow.web.kit.models import Change

PROGRAM = [{"shelf_c": 40.0, "hours": None}]


@pytest.fixture
def bench() -> Dryer:
    return records.create(Dryer(name="Bench", profile="bench-4"), who="Ana", words="new dryer")


def test_the_history_shows_before_and_after_in_words(client: Client, bench: Dryer) -> None:
    other = records.create(Dryer(name="Cellar", profile="bench-4"))
    batch = records.create(Batch(lot="L1", title="Peas", dryer=bench, program=PROGRAM))
    records.change(batch, {"dryer": other, "stage": "trays"}, expected=1, who="Ben")
    html = client.get("/history/").content.decode()
    assert "<del>Bench</del> → Cellar" in html
    assert "<del>Basket</del> → Trays" in html
    assert html.index("Ben") < html.index("Ana")


def test_records_without_a_name_are_called_by_their_kind(client: Client, bench: Dryer) -> None:
    entry = records.create(Service(dryer=bench, kind="oil", on=date(2026, 3, 1)))
    assert "<h2>pump oil changed</h2>" in client.get("/history/").content.decode()
    records.put_in_bin(entry)
    assert "<h2>pump oil changed</h2>" in client.get("/bin/").content.decode()


def test_the_history_can_be_narrowed_to_one_kind(client: Client, bench: Dryer) -> None:
    records.create(Batch(lot="L1", title="Peas", dryer=bench, program=PROGRAM))
    html = client.get("/history/?kind=dryers.dryer").content.decode()
    assert "<h2>Bench</h2>" in html
    assert "<h2>Peas</h2>" not in html


def test_the_history_has_pages_and_few_queries(client: Client, bench: Dryer) -> None:
    client.get("/history/")
    with CaptureQueriesContext(
        connection,
    ) as few:
        client.get("/history/")
    for number in range(60):
        records.create(Batch(lot=f"L{number}", title=f"Peas {number}", dryer=bench, program=PROGRAM))
    with CaptureQueriesContext(connection) as many:
        html = client.get("/history/").content.decode()
    assert html.count("<h2>") == 50
    assert 'href="?page=2"' in html
    assert len(many) <= len(few) + 1  # the name of the dryer, once


def test_undo_takes_a_new_record_to_the_bin_and_the_bin_gives_it_back(client: Client, bench: Dryer) -> None:
    change = records.history(bench).first()
    assert client.get(f"/undo/{change.pk}/").status_code == 405
    assert client.post(f"/undo/{change.pk}/")["Location"] == "/history/"
    assert Dryer.objects.kept().count() == 0
    assert "<h2>Bench</h2>" in client.get("/bin/").content.decode()
    client.post("/bin/restore/", {"kind": "dryers.dryer", "number": str(bench.pk)})
    assert Dryer.objects.kept().count() == 1
    assert "The trash is empty" in client.get("/bin/").content.decode()


def test_undo_returns_only_to_this_site(client: Client, bench: Dryer) -> None:
    change = records.history(bench).first()
    for bad in ("https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)"):
        assert client.post(f"/undo/{change.pk}/", {"next": bad})["Location"] == "/history/"


def test_what_was_changed_again_is_not_undone_over_it(client: Client, bench: Dryer) -> None:
    records.change(bench, {"notes": "one"}, expected=1)
    records.change(bench, {"notes": "two"}, expected=2)
    first = Change.objects.get(version=2)
    html = client.post(f"/undo/{first.pk}/", follow=True).content.decode()
    assert "changed again since" in html
    assert Dryer.objects.get().notes == "two"


def test_a_record_that_is_gone_is_said_to_be_gone(client: Client, bench: Dryer) -> None:
    change = records.history(bench).first()
    Dryer.objects.all().delete()
    assert "no longer exists" in client.post(f"/undo/{change.pk}/", follow=True).content.decode()


def test_restore_takes_no_other_kind(client: Client) -> None:
    assert client.post("/bin/restore/", {"kind": "site.change", "number": "1"}).status_code == 404
    assert client.post("/bin/restore/", {"kind": "dryers.dryer", "number": "x"}).status_code == 404

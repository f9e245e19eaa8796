"""The run of a batch."""

import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client, override_settings
from django.utils import timezone

from drystow.web.batches import judging
from drystow.web.batches.models import Batch, Happening, Weighing
from drystow.web.batches.runforms import LARGEST, picture_kind
from tests.web.batch_rows import a_batch, an_item, on_tray

TIMES = {"total_h": {"p10": 20.0, "p50": 24.0, "p90": 30.0}}
PNG = b"\x89PNG\r\n\x1a\n" + b"\0" * 40  # signature of ISO/IEC 15948, section 5.2
WEIGHED = {"tray": "1", "gross": "650 g", "tare": "500 g", "resolution": "1 g"}


@pytest.fixture(autouse=True)
def media(tmp_path: Path) -> Iterator[Path]:
    with override_settings(MEDIA_ROOT=tmp_path):
        yield tmp_path


def running(**values: Any) -> Batch:
    usual = {"stage": "running", "started_at": timezone.now() - timedelta(hours=6), "prediction": TIMES}
    batch = a_batch(**(usual | values))
    on_tray(an_item(batch), 1, 0.8)
    return batch


def test_the_page_shows_the_expected_clock_and_now_in_the_course(client: Client) -> None:
    batch = running()
    page = client.get(f"/batches/{batch.pk}/running/").content.decode()
    early = (batch.started_at + timedelta(hours=20)).strftime("%I:%M %p").lstrip("0").lower()
    assert early in page.replace("\N{NO-BREAK SPACE}", " ")
    assert page.count("now-mark") == 1
    assert page.index("Food in") < page.index("now-mark") < page.index("dry to")


@pytest.mark.parametrize(
    ("gross", "step"), [("1.43 lb", 4.5359), ("650 g", 1.0), ("650.0 g", 0.1), ("1 lb 7 oz", 28.3495), ("22.9", 2.835)]
)
def test_the_step_of_the_scale_follows_from_what_was_typed(client: Client, gross: str, step: float) -> None:
    """1 lb is 453.59237 g and 16 oz by definition; a bare number counts in ounces here."""
    batch = running()
    address = f"/batches/{batch.pk}/running/weighing/"
    typed = {"tray": "1", "gross": gross, "tare": "500 g", "resolution": ""}
    assert client.post(address, typed).status_code == 302
    row = Weighing.objects.get()
    assert row.resolution_g == pytest.approx(step, abs=1e-3)
    assert not row.step_written
    page = client.get(f"/batches/{batch.pk}/running/").content.decode()
    assert not re.search(r'name="resolution"[^>]* value=', page)
    client.post(address, typed | {"resolution": "2 g"})
    assert Weighing.objects.latest("pk").resolution_g == 2.0
    page = client.get(f"/batches/{batch.pk}/running/").content.decode()
    assert re.search(r'name="resolution"[^>]* value=', page)  # the same scale the next time


def test_a_weighing_is_noted_and_corrected_without_losing_the_first(client: Client) -> None:
    batch = running()
    address = f"/batches/{batch.pk}/running/weighing/"
    assert client.post(address, WEIGHED).status_code == 302
    first = Weighing.objects.get()
    assert (first.gross_g, first.tare_g, first.resolution_g) == (650.0, 500.0, 1.0)
    filled = client.get(f"{address}?correct={first.pk}").content.decode()
    assert f'name="corrects" value="{first.pk}"' in filled
    client.post(address, WEIGHED | {"gross": "640 g", "corrects": first.pk})
    assert Weighing.objects.count() == 2
    assert Weighing.objects.get(corrects=first).gross_g == 640.0
    page = client.get(f"/batches/{batch.pk}/running/").content.decode()
    assert "<del>" in page
    again = client.post(address, WEIGHED | {"corrects": first.pk}).content.decode()
    assert "already corrected" in again


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"gross": "400 g"}, "must weigh more than the empty one"),
        ({"tray": "3"}, "Tray 3 has no food; choose one of 1"),
        ({"at": "2999-01-01T00:00"}, "in the future"),
        ({"gross": "heavy"}, "heavy"),
    ],
)
def test_an_impossible_weighing_comes_back_with_the_reason(client: Client, changed: dict[str, str], words: str) -> None:
    page = client.post(f"/batches/{running().pk}/running/weighing/", WEIGHED | changed).content.decode()
    assert words in page
    assert Weighing.objects.count() == 0


def test_another_batchs_weighing_cannot_be_corrected_here(client: Client) -> None:
    batch, other = running(), running()
    client.post(f"/batches/{batch.pk}/running/weighing/", WEIGHED)
    sent = WEIGHED | {"corrects": Weighing.objects.get().pk}
    assert client.post(f"/batches/{other.pk}/running/weighing/", sent).status_code == 404


def test_a_power_outage_needs_its_beginning_and_ends_before_now(client: Client) -> None:
    address = f"/batches/{running().pk}/running/note/"
    page = client.post(address, {"kind": "power", "minutes": "40"}).content.decode()
    assert "Enter when the power went out." in page
    at = timezone.localtime(timezone.now() - timedelta(hours=24)).strftime("%Y-%m-%dT%H:%M")
    page = client.post(address, {"kind": "power", "at": at, "minutes": "9000"}).content.decode()
    assert "That ends in the future" in page
    assert Happening.objects.count() == 0


def test_notes_doors_and_power_cuts_are_kept_and_removed(client: Client) -> None:
    batch = running()
    at = timezone.localtime(timezone.now() - timedelta(hours=1)).strftime("%Y-%m-%dT%H:%M")
    client.post(f"/batches/{batch.pk}/running/note/", {"kind": "power", "at": at, "minutes": "40", "text": "storm"})
    row = Happening.objects.get()
    assert (row.kind, row.minutes, row.text) == ("power", 40.0, "storm")
    assert "power outage, 40 min" in client.get(f"/batches/{batch.pk}/running/").content.decode()
    client.post(f"/batches/{batch.pk}/running/note/{row.pk}/remove/")
    assert Happening.objects.kept().count() == 0
    empty = client.post(f"/batches/{batch.pk}/running/note/", {"kind": "note"}).content.decode()
    assert "Enter a note or add a photo" in empty


def test_a_photo_gets_a_random_name_and_its_own_type(client: Client, media: Path) -> None:
    batch = running()
    photo = SimpleUploadedFile("../../<script>.html", PNG, content_type="text/html")
    client.post(f"/batches/{batch.pk}/running/note/", {"kind": "note", "photo": photo})
    row = Happening.objects.get()
    assert row.kind == "photo"
    assert "script" not in row.photo.name
    assert (media / row.photo.name).read_bytes() == PNG
    answer = client.get(f"/batches/photos/{row.pk}/")
    assert answer.headers["Content-Type"] == "image/png"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert b"".join(answer.streaming_content) == PNG
    (media / row.photo.name).unlink()
    assert client.get(f"/batches/photos/{row.pk}/").status_code == 404


def test_what_is_no_picture_or_too_large_is_refused(client: Client, media: Path) -> None:
    batch = running()
    web = SimpleUploadedFile("cat.png", b"<svg onload=alert(1)>", content_type="image/png")
    page = client.post(f"/batches/{batch.pk}/running/note/", {"kind": "note", "photo": web}).content.decode()
    assert "This photo can’t be shown" in page
    large = SimpleUploadedFile("cat.png", PNG + b"\0" * LARGEST, content_type="image/png")
    page = client.post(f"/batches/{batch.pk}/running/note/", {"kind": "note", "photo": large}).content.decode()
    assert "up to 8 MB" in page
    assert list(media.rglob("*.*")) == []


def test_pictures_are_known_by_their_first_bytes() -> None:
    # signatures: ISO/IEC 10918-1 SOI marker, ISO/IEC 15948 5.2, RFC 9649 section 2.4
    assert picture_kind(b"\xff\xd8\xff\xe0" + b"\0" * 12) == "jpg"
    assert picture_kind(PNG[:16]) == "png"
    assert picture_kind(b"RIFF\x10\0\0\0WEBPVP8 ") == "webp"
    assert picture_kind(b"GIF89a" + b"\0" * 10) is None
    assert picture_kind(b"RIFF\x10\0\0\0WAVEfmt ") is None


def test_the_end_leads_to_the_proof(client: Client) -> None:
    batch = running()
    early = (batch.started_at - timedelta(hours=1)).strftime("%Y-%m-%dT%H:%M")
    page = client.post(f"/batches/{batch.pk}/running/end/", {"version": 1, "at": early}).content.decode()
    assert "before the run started" in page
    answer = client.post(f"/batches/{batch.pk}/running/end/", {"version": 1, "energy": "12.5 kWh"})
    assert answer.headers["Location"] == f"/batches/{batch.pk}/proof/"
    ended = Batch.objects.get()
    assert (ended.stage, ended.energy_kwh) == ("proof", 12.5)
    assert ended.ended_at is not None


def test_a_batch_that_has_not_begun_says_where_to_start(client: Client) -> None:
    assert "Not started yet" in client.get(f"/batches/{a_batch().pk}/running/").content.decode()


def test_the_part_that_changes_comes_alone_and_asks_again_each_minute(client: Client) -> None:
    batch = running()
    part = client.get(f"/batches/{batch.pk}/running/", headers={"HX-Request": "true"}).content.decode()
    assert part.startswith('<div id="outlook"')
    assert 'hx-trigger="every 60s"' in part
    assert "<form" not in part
    assert part.count("now-mark") == 1


def test_with_weighings_the_page_says_when_to_come_back_and_what_to_weigh(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(judging, "MEMBERS", 40)
    batch = running(started_at=timezone.now() - timedelta(hours=20))
    for hours, net in ((6, 330), (4, 260)):
        at = timezone.now() - timedelta(hours=hours)
        Weighing.objects.create(batch=batch, tray=1, at=at, gross_g=500 + net, tare_g=500, resolution_g=1)
    page = client.get(f"/batches/{batch.pk}/running/").content.decode()
    assert "Calculating from the weighings" in page
    judging.DRYNESS.work_out(batch.pk)
    page = client.get(f"/batches/{batch.pk}/running/").content.decode()
    assert "Check back at about (going by what was seen so far)" in page
    assert "Slowest: tray 1 (Blueberries, raw)." in page
    assert "helps most" in page
    assert "Dry " in client.get("/batches/").content.decode()


def test_the_minutes_outside_are_kept_and_four_where_nobody_says(client: Client) -> None:
    batch = running()
    client.post(f"/batches/{batch.pk}/running/weighing/", WEIGHED | {"outside": "7"})
    client.post(f"/batches/{batch.pk}/running/weighing/", WEIGHED | {"outside": ""})
    assert [row.outside_min for row in Weighing.objects.order_by("pk")] == [7.0, 4.0]
    assert 'value="4' in client.get(f"/batches/{batch.pk}/running/").content.decode()


def test_later_than_nearly_every_run_it_says_weigh(client: Client) -> None:
    batch = running(started_at=timezone.now() - timedelta(hours=40))
    assert "the scale decides, not the clock" in client.get(f"/batches/{batch.pk}/running/").content.decode()


def test_a_weighing_is_crossed_out_stays_in_sight_and_is_counted_again(client: Client) -> None:
    batch = running()
    address = f"/batches/{batch.pk}/running/weighing/"
    client.post(address, WEIGHED | {"gross": "999 g"})
    row = Weighing.objects.get()
    strike = f"/batches/{batch.pk}/seen/weighing/{row.pk}/strike/"
    page = client.post(strike, follow=True).content.decode()
    assert "<del>" in page
    assert "crossed out" in page
    assert "Count it again" in page
    assert not Weighing.objects.standing().exists()
    assert Weighing.objects.count() == 1
    assert "Crossed out. It stays in the list" in client.get("/history/").content.decode()
    undo = re.search(r'action="(/undo/\d+/)"', page)
    assert undo is not None
    client.post(undo[1])
    assert Weighing.objects.standing().get() == row
    client.post(strike)
    refused = client.post(address, WEIGHED | {"corrects": row.pk}).content.decode()
    assert "tap “Count it again” first" in refused
    client.post(strike.replace("/strike/", "/count/"))
    assert "<del>" not in client.get(f"/batches/{batch.pk}/running/").content.decode()
    assert client.post(f"/batches/{batch.pk}/seen/batch/{row.pk}/strike/").status_code == 404
    assert client.get(strike).status_code == 405
    assert client.post(f"/batches/{a_batch().pk}/seen/weighing/{row.pk}/strike/").status_code == 404

"""The data page, tables without formulas, load files out and in, backups that come back as they went."""

import csv
import io
import json
import tomllib
import zipfile
from datetime import UTC, datetime
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import connection
from django.db.migrations import RenameModel
from django.db.migrations.loader import MigrationLoader
from django.test import Client, override_settings
from django.test.utils import CaptureQueriesContext
from openpyxl import load_workbook

from drystow.errors import InputError
from drystow.machine.loadfile import parse_load
from drystow.web.batches.adapters import load_of
from drystow.web.batches.models import Batch, Happening, Load, Weighing
from drystow.web.data.backup import APPS, kitchen_models, write_backup
from drystow.web.data.exchange import aside, settle
from drystow.web.data.health import checks
from drystow.web.data.loads import batch_from_text, load_text
from drystow.web.data.restore import RENAMED, restore_backup
from drystow.web.data.tables import TABLES
from drystow.web.demo.fill import fill
from drystow.web.dryers.models import Dryer
from drystow.web.foods.models import OwnFood
from drystow.web.kit import records
from drystow.web.kit.models import Answer, Change, Typed
from drystow.web.pantry.models import Package, PlaceReading
from drystow.web.plans.found import BEST_LOAD
from drystow.web.plans.models import Booked
from drystow.web.site.demo import demo_text
from tests.web.batch_rows import a_batch
from tests.web.made_rows import a_plan
from tests.web.waiting import waits

DANGEROUS = ("=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx")


@pytest.fixture
def media(tmp_path: Path) -> Any:
    folder = tmp_path / "data"
    folder.mkdir()
    with override_settings(MEDIA_ROOT=folder / "media", DATA_FOLDER=folder):
        yield folder / "media"


def content(response: Any) -> bytes:
    return b"".join(response.streaming_content)


def backup_bytes() -> bytes:
    file = BytesIO()
    write_backup(file)
    return file.getvalue()


def parts(backup: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(BytesIO(backup)) as archive:
        return {name: archive.read(name) for name in archive.namelist() if name != "manifest.json"}


def changed(backup: bytes, **exchange: bytes) -> BytesIO:
    """The same zip with some parts exchanged; the names have _ for the dots."""
    file = BytesIO()
    with zipfile.ZipFile(BytesIO(backup)) as old, zipfile.ZipFile(file, "w") as new:
        for name in old.namelist():
            new.writestr(name, exchange.get(name.replace(".", "_"), old.read(name)))
    file.seek(0)
    return file


def test_the_page_shows_every_table_and_an_empty_kitchen_what_to_do(client: Client) -> None:
    page = client.get("/data/").content.decode()
    assert all(f"/data/tables/{table.name}.csv" in page for table in TABLES)
    assert "No batch has food on its trays yet" in page


def test_the_page_asks_as_often_however_much_there_is(client: Client) -> None:
    fill(batches=7, now=datetime(2026, 6, 14, 10, tzinfo=UTC))
    with CaptureQueriesContext(connection) as few:
        client.get("/data/")
    for _ in range(5):
        batch_from_text(demo_text())
    with CaptureQueriesContext(connection) as many:
        client.get("/data/")
    assert len(many) == len(few) <= len(TABLES) + 4


@pytest.mark.parametrize("text", DANGEROUS)
def test_no_spreadsheet_takes_text_for_a_formula(client: Client, text: str) -> None:
    records.create(Dryer(name=f"x{text}", profile="bench-4", notes="fine"))
    Dryer.objects.update(notes=text)
    answer = content(client.get("/data/tables/dryers.csv")).decode()
    row = next(csv.DictReader(io.StringIO(answer, newline="")))
    assert row["Notes"] == f"'{text}"
    sheet = load_workbook(BytesIO(content(client.get("/data/tables/dryers.xlsx")))).active
    assert sheet is not None
    titles = [cell.value for cell in sheet[1]]
    cell = sheet[2][titles.index("Notes")]
    assert (cell.data_type, str(cell.value)[:1]) == ("s", "'")


def test_numbers_stay_numbers_also_below_zero(client: Client) -> None:
    fill(batches=7, now=datetime(2026, 6, 14, 10, tzinfo=UTC))
    PlaceReading.objects.all()[:1].get()
    lines = csv.DictReader(io.StringIO(content(client.get("/data/tables/readings.csv")).decode()))
    cold = [row["Temperature (°C)"] for row in lines if row["Place"] == "Freezer room"]
    assert float(cold[0]) < -15


def test_the_sign_of_utf8_comes_when_it_is_asked_for(client: Client) -> None:
    assert content(client.get("/data/tables/places.csv?bom=1")).startswith(b"\xef\xbb\xbfNumber,")
    assert content(client.get("/data/tables/places.csv")).startswith(b"Number,")
    assert client.get("/data/tables/people.csv").status_code == 404


def test_every_table_has_all_rows_in_both_formats(client: Client) -> None:
    fill(batches=7, now=datetime(2026, 6, 14, 10, tzinfo=UTC))
    book = load_workbook(BytesIO(content(client.get("/data/tables/all.xlsx"))), read_only=True)
    for table in TABLES:
        count = table.count()
        rows = list(csv.reader(io.StringIO(content(client.get(f"/data/tables/{table.name}.csv")).decode())))
        assert len(rows) == count + 1
        assert sum(1 for _ in book[table.words[:31]].iter_rows()) == count + 1


def test_a_load_file_becomes_a_batch_and_comes_back_the_same(client: Client) -> None:
    file = SimpleUploadedFile("load.toml", demo_text().encode())
    answer = client.post("/data/load/", {"load_file": file})
    assert answer.status_code == 302
    batch = Batch.objects.get()
    written, again = parse_load(tomllib.loads(demo_text())), load_of(batch)
    assert [(row.food.id, row.shape, row.mass) for row in again.items] == [
        (row.food.id, row.shape, row.mass) for row in written.items
    ]
    assert [step.shelf for step in again.rig.program] == pytest.approx([step.shelf for step in written.rig.program])
    text = client.get(f"/data/batches/{batch.pk}.toml").content.decode()
    assert parse_load(tomllib.loads(text)).items == again.items


def test_an_own_food_and_a_shared_tray_travel_in_a_load_file() -> None:
    text = """
title = "Half and \\"half\\""
[dryer]
profile = "bench-4"
leak = "0.02 mbar*L/s"
[program]
shelf = ["-5 degC for 3 h", "40 degC until dry"]
[[tray]]
name = "Pot of beans"
class = "dish"
mass = "300 g"
size = "8 mm"
area = "0.05 m^2"
[tray.composition]
water = 0.75
protein = 0.08
carbohydrate = 0.15
ash = 0.02
[[tray]]
food = "Carrots, raw"
mass = "300 g"
size = "5 mm"
area = "0.05 m^2"
"""
    batch, notes = batch_from_text(text)
    assert "more than the forms ask for (area)" in notes[0]  # the two leave a part of the tray free
    assert OwnFood.objects.get().composition["water"] == 0.75
    assert set(Load.objects.values_list("tray", flat=True)) == {1}
    assert batch.dryer.numbers == pytest.approx({"leak": 2e-3})
    again, _ = batch_from_text(load_text(batch))
    assert again.dryer == batch.dryer
    assert OwnFood.objects.count() == 1
    assert load_text(again) == load_text(batch)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"\xff\xfe", "not a text file in UTF-8"),
        (b"x = ", "this is not TOML"),
        (b"[dryer]\nprofile = 'kitchen-5'", "there is no food"),
        (b"#" * 300_000, "over 200 kB"),
    ],
)
def test_a_bad_load_file_is_told_beside_the_field_and_nothing_is_made(client: Client, text: bytes, words: str) -> None:
    answer = client.post("/data/load/", {"load_file": SimpleUploadedFile("load.toml", text)})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not Batch.objects.exists()


def test_a_backup_comes_back_exactly_as_it_went(media: Path) -> None:
    fill(batches=9, now=datetime(2026, 6, 14, 10, 0, 0, 0, tzinfo=UTC))
    batch = Batch.objects.earliest("pk")
    records.change(batch, {"notes": "naïve “notes” \u2028 =1"}, expected=1)
    records.create(Happening(batch=batch, kind="photo", at=batch.created_at, photo="photos/2026/06/a.jpg"))
    (media / "photos/2026/06").mkdir(parents=True)
    (media / "photos/2026/06/a.jpg").write_bytes(b"\xff\xd8picture")
    first = backup_bytes()
    fresh = Dryer.objects.count()
    done = restore_backup(BytesIO(first), replace=True)
    assert parts(backup_bytes()) == parts(first)
    assert (media / "photos/2026/06/a.jpg").read_bytes() == b"\xff\xd8picture"
    assert (done.counts["dryers.dryer"], done.media) == (fresh, 1)
    assert done.kept is not None
    assert parts(done.kept.read_bytes()) == parts(first)
    records.create(Dryer(name="After the restore", profile="bench-4"))


def test_a_backup_from_before_answers_were_of_one_kind_keeps_wishes_and_booked_times(media: Path) -> None:
    batch, plan = a_batch(), a_plan()
    at, dry = datetime(2026, 4, 1, 8, tzinfo=UTC), datetime(2026, 4, 2, 7, 30, tzinfo=UTC)
    records.create(Booked(plan=plan, batch=batch, start=at, end=dry, lots=[{"lot": 1, "item": 1, "trays": 1}]))
    asked = {"time_h": 30.0, "share": 1, "apart": ["smells"], "foods": {}}
    old = {
        "dryers.learned": {"dryer_id": batch.dryer_id, "machine": "m", "state": {}, "factor": [], "steps": []},
        "batches.judgement": {"batch_id": batch.pk, "fingerprint": "f", "result": {"trays": []}},
        "plans.made": {"plan_id": plan.pk, "fingerprint": "f", "result": {"batches": [
            {"batch": batch.pk, "start": at.isoformat(), "dry": dry.isoformat()}]}},
        "plans.search": {"id": 3, "batch_id": batch.pk, "kind": "load", "asked": asked, "result": {"mass_kg": 1.0}},
        "plans.tried": {"season_id": 7, "fingerprint": "f", "result": {"form": 1}},
    }  # fmt: skip
    file = BytesIO()
    with zipfile.ZipFile(BytesIO(backup_bytes())) as now, zipfile.ZipFile(file, "w") as before:
        manifest = json.loads(now.read("manifest.json"))
        for name in now.namelist():
            if name not in ("manifest.json", "site.answer.jsonl"):
                before.writestr(name, now.read(name).replace(b'"dry": null, ', b""))
        del manifest["records"]["site.answer"]
        for label, row in old.items():
            before.writestr(f"{label}.jsonl", json.dumps(row | {"at": at.isoformat()}) + "\n")
            manifest["records"][label] = 1
        before.writestr("manifest.json", json.dumps(manifest))
    restore_backup(file, replace=True)
    assert Booked.objects.get().dry == dry
    assert Answer.objects.count() == 5
    kept = BEST_LOAD.kept(batch.pk)
    assert kept is not None
    assert (kept.asked, kept.result) == (asked, None)
    assert waits(BEST_LOAD.task) == [batch.pk]


def test_the_page_sends_everything_as_one_file(client: Client) -> None:
    records.create(Dryer(name="Bench", profile="bench-4"))
    answer = client.get("/data/everything.zip")
    assert answer.headers["Content-Disposition"].startswith('attachment; filename="drystow-backup-')
    sent = parts(content(answer))
    assert sent == parts(backup_bytes())
    assert json.loads(sent["dryers.dryer.jsonl"])["name"] == "Bench"


def test_every_kind_that_got_another_name_is_read_by_its_former_one() -> None:
    now = {model._meta.label_lower for model in kitchen_models()}
    renamed = {
        (f"{app}.{step.old_name_lower}", f"{app}.{step.new_name_lower}")
        for (app, _name), migration in MigrationLoader(None).disk_migrations.items()
        for step in migration.operations
        if isinstance(step, RenameModel) and app in APPS
    }
    assert renamed
    assert renamed == set(RENAMED.items())
    assert set(RENAMED.values()) <= now
    assert not set(RENAMED) & now


def test_a_backup_with_former_names_of_kinds_comes_back_and_is_undone_as_ever(client: Client, media: Path) -> None:
    first = records.change(records.kitchen(), {"name": "Alder Lane Kitchen"}, expected=1)
    second = records.change(first, {"people": 3}, expected=first.version)
    Typed.objects.create(kind=records.kind_of(second), object_id=second.pk, texts={"altitude_m": "5,000 ft"})
    former = {new: old for old, new in RENAMED.items()}
    older = BytesIO()
    with zipfile.ZipFile(BytesIO(backup_bytes())) as now, zipfile.ZipFile(older, "w") as archive:
        for name in now.namelist():
            part = name.removesuffix(".jsonl")
            text = now.read(name)
            for new, old in former.items():
                text = text.replace(f'"{new}"'.encode(), f'"{old}"'.encode())
            archive.writestr(f"{former[part]}.jsonl" if part in former else name, text)
    records.change(second, {"people": 5, "name": "Meanwhile"}, expected=second.version)
    done = restore_backup(BytesIO(older.getvalue()), replace=True)
    assert done.counts["site.kitchen"] == 1
    kitchen = records.kitchen()
    assert (kitchen.name, kitchen.people) == ("Alder Lane Kitchen", 3)
    assert {change.kind for change in records.history(kitchen)} == {"site.kitchen"}
    assert Typed.objects.get().kind == "site.kitchen"
    assert client.post(f"/undo/{records.history(kitchen).first().pk}/").status_code == 302
    assert (records.kitchen().name, records.kitchen().people) == ("Alder Lane Kitchen", 2)


def test_a_full_kitchen_is_not_replaced_without_saying_so(client: Client, media: Path) -> None:
    records.create(Dryer(name="Here before", profile="bench-4"))
    backup = backup_bytes()
    with pytest.raises(InputError, match="there are records here already"):
        restore_backup(BytesIO(backup))
    answer = client.post("/data/restore/", {"backup": SimpleUploadedFile("b.zip", backup)})
    assert answer.status_code == 422
    assert "there are records here already" in answer.content.decode()
    answer = client.post("/data/restore/", {"backup": SimpleUploadedFile("b.zip", backup), "replace": "on"})
    assert answer.status_code == 302


@pytest.mark.parametrize(
    ("part", "text", "words"),
    [
        ("dryers_dryer_jsonl", b"{broken\n", "line 1 of 'dryers.dryer' is not a record"),
        ("dryers_dryer_jsonl", b"", "does not hold as many records"),
        ("dryers_dryer_jsonl", b'{"id": 1, "name": null, "profile": "bench-4"}\n', "it can’t be restored"),
        ("dryers_dryer_jsonl", b'{"id": 1, "colour": "red"}\n', "is not a record"),
        ("manifest_json", b"{}", "has no manifest.json from Drystow"),
    ],
)
def test_a_damaged_backup_changes_nothing(media: Path, part: str, text: bytes, words: str) -> None:
    records.create(Dryer(name="Here before", profile="bench-4"))
    media.mkdir()
    (media / "photo.jpg").write_bytes(b"x")
    backup = backup_bytes()
    with pytest.raises(InputError, match=words):
        restore_backup(changed(backup, **{part: text}), replace=True)
    assert parts(backup_bytes()) == parts(backup)
    assert sorted(path.name for path in media.parent.iterdir() if not path.name.startswith("before")) == ["media"]


def test_a_row_that_points_nowhere_is_refused(media: Path) -> None:
    backup = backup_bytes()
    line = json.dumps(
        {"id": 1, "batch_id": 99, "tray": 1, "at": "2026-06-01T00:00:00+00:00", "gross_g": 2, "tare_g": 1}
    )
    manifest = json.loads(zipfile.ZipFile(BytesIO(backup)).read("manifest.json"))
    manifest["records"]["batches.weighing"] = 1
    exchange = {"batches_weighing_jsonl": line.encode() + b"\n", "manifest_json": json.dumps(manifest).encode()}
    with pytest.raises(InputError, match="it can’t be restored"):
        restore_backup(changed(backup, **exchange))
    assert not Weighing.objects.exists()


def test_a_newer_backup_and_a_photo_outside_its_folder_are_refused(media: Path) -> None:
    backup = backup_bytes()
    manifest = json.loads(zipfile.ZipFile(BytesIO(backup)).read("manifest.json"))
    manifest["schema"]["site"] = "9999_future"
    with pytest.raises(InputError, match="newer Drystow"):
        restore_backup(changed(backup, manifest_json=json.dumps(manifest).encode()))
    file = BytesIO(backup)
    with zipfile.ZipFile(file, "a") as archive:
        archive.writestr("media/../../evil", b"x")
    with pytest.raises(InputError, match="outside its folder"):
        restore_backup(file)
    assert not (media.parent.parent / "evil").exists()
    with pytest.raises(InputError, match="not a Drystow backup"):
        restore_backup(BytesIO(b"hello"))


def test_every_kind_of_record_is_in_the_backup() -> None:
    names = {model._meta.label_lower for model in kitchen_models()}
    assert {"site.kitchen", "site.change", "batches.weighing", "pantry.movement", "foods.recipeline"} <= names
    assert not any(name.startswith(("auth.", "data.", "sessions.")) for name in names)


def test_the_doctor_finds_a_healthy_kitchen_healthy_and_a_lost_photo_lost(media: Path) -> None:
    media.parent.chmod(0o700)
    assert [check for check in checks() if not check.ok] == []
    media.parent.chmod(0o755)
    batch, _ = batch_from_text(demo_text())
    records.create(Happening(batch=batch, kind="photo", at=batch.created_at, photo="photos/gone.jpg"))
    found = {check.name: check.words for check in checks() if not check.ok}
    assert set(found) == {"data folder", "photos"}
    assert "photos/gone.jpg" in found["photos"]
    assert f"chmod 700 '{settings.DATA_FOLDER}'" in found["data folder"]


def a_photo(name: str, *, kind: str = "photo") -> Happening:
    batch, _notes = batch_from_text(demo_text())
    return records.create(Happening(batch=batch, kind=kind, at=batch.created_at, text="look", photo=name))


def problems() -> dict[str, str]:
    return {check.name: check.words for check in checks() if not check.ok}


def mended() -> list[str]:
    return [check.mend() for check in checks() if not check.ok and check.mend is not None]


def test_the_doctor_fetches_a_missing_photo_from_a_backup_beside(media: Path) -> None:
    media.parent.chmod(0o700)
    row = a_photo("photos/2026/06/a.jpg")
    place = media / "photos/2026/06/a.jpg"
    place.parent.mkdir(parents=True)
    place.write_bytes(b"picture")
    (media.parent / "mine.zip").write_bytes(backup_bytes())
    (media.parent / "zz-broken.zip").write_bytes(b"no zip")
    place.unlink()
    assert "1 is missing: photos/2026/06/a.jpg" in problems()["photos"]
    assert mended() == ["1 photo fetched from a backup"]
    assert place.read_bytes() == b"picture"
    assert problems() == {}
    assert records.history(row).count() == 1


@pytest.mark.parametrize(("kind", "binned"), [("photo", True), ("door", False)])
def test_the_doctor_takes_a_lost_photo_out_of_its_entry_and_that_can_be_undone(
    media: Path, kind: str, binned: bool
) -> None:
    media.parent.chmod(0o700)
    row = a_photo("photos/gone.jpg", kind=kind)
    assert "photos/gone.jpg" in problems()["photos"]
    mended()
    now = Happening.objects.get(pk=row.pk)
    assert (now.binned_at is not None, now.photo.name) == (binned, "photos/gone.jpg" if binned else "")
    assert records.history(row).first().words == "its photo is missing"
    assert problems() == {}
    records.undo(records.history(row).first())
    assert Happening.objects.kept().get(pk=row.pk).photo.name == "photos/gone.jpg"
    assert "photos" in problems()


def test_the_doctor_sets_aside_what_nobody_names_and_deletes_nothing(media: Path) -> None:
    media.parent.chmod(0o700)
    (media / "photos").mkdir(parents=True)
    for name in ("named", "binned", "left over"):
        (media / "photos" / f"{name}.jpg").write_text(name)
    a_photo("photos/named.jpg")
    records.put_in_bin(a_photo("photos/binned.jpg"))
    assert "1 file belongs to nothing" in problems()["photos"]
    mended()
    assert sorted(path.name for path in (media / "photos").iterdir()) == ["binned.jpg", "named.jpg"]
    aside = media.parent / "photos-nobody-names/photos/left over.jpg"
    assert aside.read_text() == "left over"
    assert problems() == {}
    a_photo("photos/left over.jpg")  # such as from a change that was taken back
    mended()
    assert (media / "photos/left over.jpg").read_text() == "left over"
    assert not aside.exists()


def test_the_doctor_finds_and_settles_a_restore_that_was_cut_off(media: Path) -> None:
    media.parent.chmod(0o700)
    a_photo("photos/before.jpg")
    folder = media.parent / ".restore-abc"  # killed when its photos were in place and its rows were not
    for where, name in ((media, "after"), (folder / "old", "before")):
        (where / "photos").mkdir(parents=True)
        (where / "photos" / f"{name}.jpg").write_text(name)
    (media.parent / "restore-journal.json").write_text(json.dumps({"folder": folder.name}))
    (media / "photos" / "added-since.jpg").write_text("mine")
    a_photo("photos/added-since.jpg")
    assert "one was cut off" in problems()["restore"]
    mended()
    assert problems() == {}
    assert sorted(path.name for path in (media / "photos").iterdir()) == ["added-since.jpg", "before.jpg"]
    assert sorted(path.name for path in media.parent.iterdir()) == ["media"]


def test_only_one_restore_is_at_work_at_a_time(media: Path) -> None:
    backup = backup_bytes()
    with aside() as folder:
        with pytest.raises(InputError, match="another restore is running"):
            restore_backup(BytesIO(backup), replace=True)
        settle()
        assert folder.is_dir()
    assert not folder.exists()
    restore_backup(BytesIO(backup), replace=True)


def test_the_large_filling_makes_what_was_asked_for() -> None:
    call_command("fill_large", batches=6, packages=40, readings=100, stdout=StringIO())
    assert (Batch.objects.count(), Package.objects.count(), PlaceReading.objects.count()) == (6, 40, 100)
    assert Weighing.objects.count() == 60
    reading = PlaceReading.objects.latest("at")
    assert (reading.at.tzinfo, 15.0 <= reading.temperature_c <= 23.0) == (UTC, True)
    package = Package.objects.latest("pk")
    assert Change.objects.get(kind="pantry.package", object_id=package.pk).after == records.snapshot(package)

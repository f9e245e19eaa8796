"""Plan files on the pages: out and in, what is wrong beside the field; roles; plans in tables, backups and history."""

import io
import json
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client, override_settings

from drystow.web.accounts.people import add
from drystow.web.data.backup import write_backup
from drystow.web.data.restore import restore_backup
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.plans.models import Lot, Plan, PlanDryer
from tests.web.lan import LAN, PASSWORD, device, sign_in
from tests.web.plan_entry_rows import a_dryer, a_lot, a_plan

WEEK = Path(__file__).parents[2] / "examples" / "planning" / "harvest-week.toml"


def sent(text: str) -> dict[str, SimpleUploadedFile]:
    return {"lots_file": SimpleUploadedFile("plan.toml", text.encode())}


def test_a_plan_file_makes_a_plan_and_comes_out_again(client: Client) -> None:
    answer = client.post("/plans/file/", sent(WEEK.read_text(encoding="utf-8")))
    plan = Plan.objects.get()
    assert answer.headers["Location"] == f"/plans/{plan.pk}/lots/"
    out = client.get(f"/plans/{plan.pk}/lots.toml")
    assert 'filename="plan-alder-lane-kitchen-harvest-week.toml"' in out.headers["Content-Disposition"]
    assert client.post("/plans/file/", sent(out.content.decode())).status_code == 302
    assert [lot.name for lot in plan.lots.all()] == [lot.name for lot in Plan.objects.latest("pk").lots.all()]


def test_a_plan_file_with_old_names_makes_the_same_plan_and_the_new_names_are_told(client: Client) -> None:
    text = WEEK.read_text(encoding="utf-8").replace("must = true", "must = true\nneeded_by = 2026-09-13T20:00:00")
    old = text.replace("[[arrival]]", "[[lot]]").replace("needed_by", "ready_by")
    page = client.post("/plans/file/", sent(old), follow=True).content.decode()
    for before, now in (("lot", "arrival"), ("ready_by", "needed_by")):
        assert f"The field &#x27;{before}&#x27; is now called &#x27;{now}&#x27;." in page
    client.post("/plans/file/", sent(text))
    first, second = Plan.objects.order_by("pk")
    given = ("name", "food", "mass_kg", "arrives", "ready_by", "extra")
    assert list(first.lots.values(*given)) == list(second.lots.values(*given))
    written = client.get(f"/plans/{first.pk}/lots.toml").content.decode()
    assert "needed_by = 2026-09-13T20:00:00" in written
    assert "[[lot]]" not in written
    assert "ready_by" not in written


def test_every_problem_of_a_file_is_told_and_nothing_made(client: Client) -> None:
    wrong = WEEK.read_text(encoding="utf-8").replace('"9 lb"', '"9 feet"').replace("days = 7", "days = 99")
    page = client.post("/plans/file/", sent(wrong)).content.decode()
    assert 'id="id_lots_file_error"' in page
    assert "days" in page
    assert not Plan.objects.exists()
    assert not Dryer.objects.exists()


def test_making_a_plan_of_a_file_is_undone_as_a_whole(client: Client) -> None:
    client.post("/plans/file/", sent(WEEK.read_text(encoding="utf-8")))
    client.post(f"/undo/{records.history(Plan.objects.get()).first().pk}/")
    assert not any(kind.objects.kept().exists() for kind in (Plan, PlanDryer, Lot))


def test_a_plan_without_food_or_dryer_comes_out_too(client: Client) -> None:
    assert client.get(f"/plans/{a_plan().pk}/lots.toml").status_code == 200


def test_a_dryer_in_the_bin_is_not_in_the_file(client: Client) -> None:
    kept, gone = a_dryer("Kept"), a_dryer("Gone")
    plan = a_plan(kept, gone)
    records.put_in_bin(gone)
    text = client.get(f"/plans/{plan.pk}/lots.toml").content.decode()
    assert 'name = "Kept"' in text
    assert "Gone" not in text


def test_plans_stand_in_the_tables_of_the_data_page(client: Client) -> None:
    plan = a_plan(a_dryer())
    a_lot(plan, name="Corn of Monday")
    rows = b"".join(client.get("/data/tables/lots.csv").streaming_content).decode()
    assert "Corn of Monday" in rows
    assert plan.title in rows
    for name in ("plans", "plan-dryers", "seasons", "crops"):
        assert client.get(f"/data/tables/{name}.csv").status_code == 200


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    with override_settings(MEDIA_ROOT=tmp_path / "media", DATA_FOLDER=tmp_path):
        yield tmp_path


def backup() -> bytes:
    file = BytesIO()
    write_backup(file)
    return file.getvalue()


def test_plans_come_back_from_a_backup(folder: Path) -> None:
    plan = a_plan(a_dryer(), home={"weekdays": ["17-22"]}, extra={"step": 3600.0})
    a_lot(plan, ready_by=datetime(2026, 9, 12, tzinfo=UTC), extra={"faces": 2})
    before = [records.snapshot(row) for kind in (Plan, PlanDryer, Lot) for row in kind.objects.all()]
    data = backup()
    records.put_in_bin(plan)
    restore_backup(io.BytesIO(data), replace=True)
    assert [records.snapshot(row) for kind in (Plan, PlanDryer, Lot) for row in kind.objects.all()] == before


def test_a_backup_from_before_there_were_plans_is_still_restored(folder: Path) -> None:
    a_dryer("Old bench")
    old = BytesIO()
    with zipfile.ZipFile(io.BytesIO(backup())) as now, zipfile.ZipFile(old, "w") as then:
        for name in now.namelist():
            if name.startswith("plans."):
                continue
            content = now.read(name)
            if name == "manifest.json":
                manifest = json.loads(content)
                del manifest["schema"]["plans"]
                manifest["records"] = {k: n for k, n in manifest["records"].items() if not k.startswith("plans.")}
                content = json.dumps(manifest).encode()
            then.writestr(name, content)
    a_plan(a_dryer("New bench"))
    restored = restore_backup(io.BytesIO(old.getvalue()), replace=True)
    assert restored.kept is not None
    assert [dryer.name for dryer in Dryer.objects.all()] == ["Old bench"]
    assert not Plan.objects.exists()


def test_the_history_tells_of_plans_in_words(client: Client) -> None:
    plan = a_plan(a_dryer())
    client.post(f"/plans/{plan.pk}/lots/{a_lot(plan, name='Corn of Monday').pk}/remove/")
    page = client.get("/history/").content.decode()
    assert "Corn of Monday removed from the plan." in page
    assert "Dryer in the plan" in page
    assert "Corn of Monday" in client.get("/bin/").content.decode()


@LAN
def test_a_viewer_looks_and_sees_no_forms() -> None:
    add("Ada", "viewer", PASSWORD)
    plan = a_plan(a_dryer())
    lot = a_lot(plan)
    tablet = device()
    sign_in(tablet, "Ada")
    addresses = ("", "new/", "file/", f"{plan.pk}/lots/", f"{plan.pk}/lots/?food={lot.food}", f"{plan.pk}/about/")
    more = (f"{plan.pk}/lots/{lot.pk}/", f"{plan.pk}/dryers/", f"{plan.pk}/dryers/{plan.dryers.get().pk}/")
    for address in (*addresses, *more):
        page = tablet.get(f"/plans/{address}")
        assert page.status_code == 200, address
        assert 'method="post"' not in page.content.decode(), address
    assert tablet.post(f"/plans/{plan.pk}/lots/{lot.pk}/remove/").status_code == 403
    assert Lot.objects.kept().exists()


@LAN
def test_a_helper_writes_plans_and_takes_back() -> None:
    add("Ben", "helper", PASSWORD)
    plan = a_plan(a_dryer())
    lot = a_lot(plan)
    tablet = device()
    sign_in(tablet, "Ben")
    assert tablet.post(f"/plans/{plan.pk}/lots/{lot.pk}/remove/").status_code == 302
    last = records.history(lot).first()
    assert last.who == "Ben"
    tablet.post(f"/undo/{last.pk}/")
    assert Lot.objects.kept().count() == 1

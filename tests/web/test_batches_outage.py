"""A power cut during a run: what it did to each tray, where the decision is made."""

import re
from datetime import datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.evidence_adapters import question_of
from drystow.web.batches.models import Batch, Happening
from drystow.web.batches.outage_adapters import began_at, power_cuts
from drystow.web.batches.outlook import course, forecast_finish
from drystow.web.kit import records
from tests.web.batch_rows import CHICKEN, a_batch, an_item, on_tray

TIMES = {"total_h": {"p10": 20.0, "p50": 24.0, "p90": 30.0}}


def running(hours: float = 20.0) -> Batch:
    batch = a_batch(stage="running", started_at=timezone.now() - timedelta(hours=hours), prediction=TIMES)
    on_tray(an_item(batch), 1, 0.8)
    on_tray(an_item(batch, CHICKEN, shape="slab", size_m=0.01), 2, 0.8)
    return batch


def a_cut(batch: Batch, hours_ago: float = 3.0, minutes: float | None = 60.0, **values: object) -> Happening:
    at = timezone.now() - timedelta(hours=hours_ago)
    return records.create(Happening(batch=batch, kind="power", at=at, minutes=minutes, **values))


def test_a_power_cut_is_noted_with_room_and_door_and_leads_to_its_page(client: Client) -> None:
    batch = running()
    at = timezone.localtime(timezone.now() - timedelta(hours=4)).strftime("%Y-%m-%dT%H:%M")
    sent = {"kind": "power", "at": at, "minutes": "180", "opened": "on", "room": "86 °F"}
    answer = client.post(f"/batches/{batch.pk}/running/note/", sent)
    row = Happening.objects.get()
    assert (row.opened, row.room_c) == (True, pytest.approx(30.0))
    assert answer["Location"] == f"/batches/{batch.pk}/running/power/{row.pk}/"
    page = client.get(answer["Location"]).content.decode()
    assert "The chamber was opened." in page
    assert "Never taste food" in page
    assert "health authority" in page
    assert page.count("Ice when the power went out") == 2


def clock(at: datetime) -> str:
    """Return a time of day as the page writes it."""
    return at.strftime("%I:%M %p").lstrip("0").lower()


def test_the_run_shows_the_advice_and_ends_later(client: Client) -> None:
    batch = running()
    early = batch.started_at + timedelta(hours=20)
    a_cut(batch, 4.0, 120.0)
    page = client.get(f"/batches/{batch.pk}/running/").content.decode()
    assert re.search(r"The run ends \d[^<]{2,30} later\.", page)
    assert f"{clock(early)} to" not in page.replace("\N{NO-BREAK SPACE}", " ")
    assert "What it did to each tray" in page


def test_a_day_in_a_warm_room_says_throw_away_for_raw_chicken(client: Client) -> None:
    batch = running(30.0)
    row = a_cut(batch, 22.0, 1200.0, opened=True, room_c=30.0)
    page = client.get(f"/batches/{batch.pk}/running/power/{row.pk}/").content.decode()
    assert "Throw it out" in page
    assert "longer than the 2 h" in page


def test_a_cut_before_the_vacuum_says_that_nothing_can_be_calculated(client: Client) -> None:
    batch = running(20.0)
    row = a_cut(batch, 19.9)
    page = client.get(f"/batches/{batch.pk}/running/power/{row.pk}/").content.decode()
    assert "may not have been frozen yet" in page


def test_without_minutes_the_form_asks_and_an_old_row_says_what_is_missing(client: Client) -> None:
    batch = running()
    page = client.post(f"/batches/{batch.pk}/running/note/", {"kind": "power"}).content.decode()
    assert "Enter for how many minutes the power was off." in page
    assert Happening.objects.count() == 0
    row = a_cut(batch, minutes=None)
    page = client.get(f"/batches/{batch.pk}/running/power/{row.pk}/").content.decode()
    assert "Enter how many minutes the power was off" in page


def test_other_notes_and_other_batches_have_no_such_page(client: Client) -> None:
    batch, other = running(), running()
    row = a_cut(batch)
    note = records.create(Happening(batch=batch, kind="note", at=timezone.now(), text="hum"))
    assert client.get(f"/batches/{other.pk}/running/power/{row.pk}/").status_code == 404
    assert client.get(f"/batches/{batch.pk}/running/power/{note.pk}/").status_code == 404


def test_forecast_course_and_what_was_seen_count_a_cut_with_the_same_time(client: Client) -> None:
    batch = running()
    before = forecast_finish(batch)
    first = a_cut(batch, 5.0, 120.0)
    a_cut(batch, 1.0, 30.0)
    loads = tray_loads(batch)
    cuts = power_cuts(batch, loads, Happening.objects.filter(batch=batch))
    after, asked = forecast_finish(batch, cuts), question_of(batch, loads)
    assert before is not None
    assert after is not None
    assert asked is not None
    lost = sum((cut.took for cut in cuts if cut.took is not None), timedelta())
    assert lost > timedelta(hours=2.2)  # most of the 2.5 h without power
    assert after.middle - before.middle == lost
    at = timezone.now() + timedelta(hours=9)
    whole = (at - asked.clock.began).total_seconds()
    assert asked.clock.dried_until(at) == pytest.approx(whole - lost.total_seconds())
    rows, usual = ([row for row in course(batch, loads, "si", some) if "now" not in row] for some in (cuts, ()))
    assert [row["what"] for row in rows].count("power outage") == 2
    assert rows[-1]["at"] - usual[-1]["at"] in (cuts[0].took, lost)  # the end lies before the second cut or after it
    assert [row["at"] for row in rows if row["at"] < first.at] == [row["at"] for row in usual if row["at"] < first.at]


def test_a_second_cut_begins_where_the_first_let_the_food_come() -> None:
    batch = running()
    a_cut(batch, 6.0, 180.0)
    second = a_cut(batch, 2.0, 30.0)
    loads = tray_loads(batch)
    (alone,) = power_cuts(batch, loads, [second])
    both = power_cuts(batch, loads, Happening.objects.filter(batch=batch))
    assert alone.result is not None
    assert both[1].result is not None
    for one, other in zip(alone.result.trays, both[1].result.trays, strict=True):
        assert other.ice_before.middle >= one.ice_before.middle  # less time to dry, so no less ice


def test_the_run_says_what_its_later_end_assumes(client: Client) -> None:
    batch = running()
    a_cut(batch, 12.0, 600.0, opened=True, room_c=30.0)
    page = client.get(f"/batches/{batch.pk}/running/").content.decode()
    assert "Refreezing takes" in page
    assert "the program picks up where it stopped" in page


def test_the_list_of_batches_shows_the_later_end_as_the_run_does(client: Client) -> None:
    batch = running()
    a_cut(batch, 4.0, 120.0)
    cuts = power_cuts(batch, tray_loads(batch), Happening.objects.filter(batch=batch))
    shown, before = forecast_finish(batch, cuts), forecast_finish(batch)
    assert shown is not None
    assert before is not None
    page = client.get("/batches/").content.decode()
    assert shown.late is not None
    assert before.late is not None
    day = {0: "today", 1: "tomorrow"}
    early, late = (f"{day[(at.date() - timezone.now().date()).days]} {clock(at)}" for at in (shown.early, shown.late))
    assert f"Dry {early} to {late.removeprefix(early.split()[0] + ' ')}" in page.replace("\N{NO-BREAK SPACE}", " ")
    assert shown.late - before.late > timedelta(hours=1.5)  # most of the 2 h without power


def test_a_cut_before_the_vacuum_holds_up_the_predicted_start_and_the_end() -> None:
    """The definition: no power, no freezing; what it warms meanwhile is not counted."""
    batch = running(3.0)
    loads = tray_loads(batch)
    start, end, usual = began_at(batch, loads), forecast_finish(batch), course(batch, loads, "si")
    a_cut(batch, 2.9, 50.0)
    cuts = power_cuts(batch, loads, Happening.objects.filter(batch=batch))
    later, after = began_at(batch, loads), forecast_finish(batch, cuts)
    assert start is not None
    assert later is not None
    assert end is not None
    assert after is not None
    assert later - start == after.middle - end.middle == timedelta(minutes=50)
    rows = course(batch, loads, "si", cuts)
    assert rows[-1]["at"] - usual[-1]["at"] == timedelta(minutes=50)
    batch.drying_began_at = start + timedelta(minutes=70)  # somebody wrote when it began: then that counts
    written = course(batch, loads, "si", power_cuts(batch, loads, Happening.objects.filter(batch=batch)))
    assert written[-1]["at"] - usual[-1]["at"] == timedelta(minutes=70)

"""One question, one answer: every page tells the same end of a run, whatever it rests on."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from drystow.days import day_text
from drystow.messages import Reader, told
from drystow.shown import show
from drystow.web.batches import adapters
from drystow.web.batches.judged import Judged
from drystow.web.batches.models import Batch
from drystow.web.batches.outage_adapters import cuts_of
from drystow.web.batches.outlook import course, finish_of, forecast_finish
from drystow.web.kit import records
from drystow.web.plans.running import other_batches
from tests.web.batch_rows import CARROTS, a_batch, an_item, on_tray
from tests.web.judged_rows import a_tray, judged_trays
from tests.web.plan_entry_rows import a_plan


def several_trays() -> Batch:
    """Trays that are dry at much the same time: the last of them is later than each one's central forecast."""
    batch = a_batch(title="Four trays of carrots")
    item = an_item(batch, CARROTS, mass_kg=4.0, shape="cube", size_m=0.01)
    for tray in (1, 2, 3, 4):
        on_tray(item, tray, 0.8)
    return batch


def begun(batch: Batch, hours: float, **values: object) -> Batch:
    loads = adapters.tray_loads(batch)
    kept = adapters.prediction_json(loads, *adapters.predict(batch, loads))
    started = timezone.now() - timedelta(hours=hours)
    changes = {"started_at": started, "stage": "running", "prediction": kept, **values}
    return records.change(batch, changes, expected=batch.version)


def seen(more_h: list[float], finish_h: list[float], verdicts: list[str]) -> Judged:
    at = timezone.now()
    trays = [
        a_tray(at, (more, more + 1.0), number=number, verdict=verdict)
        for number, (more, verdict) in enumerate(zip(more_h, verdicts, strict=True), start=1)
    ]
    return judged_trays(at, trays, finish_h)


def test_trays_program_and_run_tell_the_middle_of_the_same_simulated_runs(client: Client) -> None:
    batch = several_trays()
    middle = adapters.predict(batch)[1].total[1] / 3600.0
    central = adapters.predict_overload(batch).total_time / 3600.0
    right, wrong = (told(show(hours * 3600.0, "time"), Reader(units="us")) for hours in (middle, central))
    assert right != wrong  # else this test would prove nothing
    for page in ("trays", "program"):
        text = client.get(f"/batches/{batch.pk}/{page}/").content.decode()
        values = re.findall(r"class=\"value\">\s*([^<]*?)\s*<", text)
        assert right in values, page
        assert wrong not in values, page
    running = begun(batch, 3.0)
    finish = forecast_finish(running)
    assert finish is not None
    assert running.started_at is not None
    assert (finish.middle - running.started_at).total_seconds() / 3600.0 == pytest.approx(middle, abs=1e-3)
    rows = course(running, adapters.tray_loads(running), "si", (), finish)
    assert rows[-1]["at"] == finish.middle


@pytest.mark.parametrize("later", [-3.0, 0.0, 9.0])
def test_the_course_ends_when_the_run_is_expected_to_and_trays_are_dry_as_their_proof_says(later: float) -> None:
    batch = begun(several_trays(), 8.0)
    forecast = forecast_finish(batch)
    assert forecast is not None
    left = (forecast.middle - timezone.now()).total_seconds() / 3600.0 + later
    found = seen([left - 1.5, left - 1.0, left - 0.5, 0.0], [left - 2, left, left + 2], [*["not_dry"] * 3, "dry"])
    finish = finish_of(batch, found, cuts_of(batch))
    assert finish is not None
    assert finish.seen
    rows = course(batch, adapters.tray_loads(batch), "si", (), finish, found)
    assert max(row["at"] for row in rows) == finish.middle
    for tray in found.trays:
        (dry,) = (row for row in rows if row["what"].startswith(f"Tray {tray.number},") and "dry to" in row["what"])
        assert dry["at"] <= found.at if tray.verdict == "dry" else dry["at"] == tray.ready[0]
    assert [row["at"] for row in rows] == sorted(row["at"] for row in rows)


def test_an_ended_run_has_nothing_still_to_come(client: Client) -> None:
    batch = begun(several_trays(), 12.0, ended_at=timezone.now() - timedelta(hours=2))
    rows = course(batch, adapters.tray_loads(batch), "si")
    assert rows[-1]["what"] == "Run ended."
    assert all(row["at"] <= batch.ended_at for row in rows)
    page = client.get(f"/batches/{batch.pk}/running/").content.decode()
    after = page.partition("now-mark")[2].partition("</ol>")[0]
    assert "<li" not in after


def test_a_written_start_of_drying_moves_the_end_on_every_page_alike(client: Client) -> None:
    batch = begun(several_trays(), 8.0)
    usual = forecast_finish(batch)
    began = batch.started_at + timedelta(hours=batch.prediction["drying_start_h"] + 2.0)
    batch = records.change(batch, {"drying_began_at": began}, expected=batch.version)
    finish = forecast_finish(batch)
    assert usual is not None
    assert finish is not None
    assert finish.middle - usual.middle == pytest.approx(timedelta(hours=2), abs=timedelta(seconds=1))
    running = client.get(f"/batches/{batch.pk}/running/").content.decode()
    batches = client.get("/batches/").content.decode()
    for moment in (finish.early, finish.late):
        assert moment is not None
        words = told(day_text(moment, "clock"), Reader(units="us"))
        assert words in running
        assert words in batches
    plan = a_plan()
    (other,) = other_batches(plan, [batch.dryer_id], timezone.now(), timezone.now() + timedelta(days=9))
    assert finish.middle < other.end < (finish.late or finish.middle)


def test_a_weighing_long_before_the_end_says_why() -> None:
    from drystow.evidence.dryness.words import verdict_words

    words = verdict_words("not_dry", 0.1, (0.05, 0.1, 0.2), 0.03, 15 * 3600.0, 4 * 3600.0)
    assert "15 hours more" in words
    assert "Weigh again in 4 hours; that weighing tells you most about how long" in words

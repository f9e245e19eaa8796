"""What the finished batches of a dryer taught: worked out, shown, used in forecasts or not."""

from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from drystow.web.batches import teaching
from drystow.web.batches.adapters import predict
from drystow.web.batches.models import Batch
from drystow.web.dryers.lessons import calibration_for
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from tests.web.batch_rows import CARROTS, a_batch, an_item, on_tray
from tests.web.waiting import waits, work_off

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


def a_run(slower: float, day: int = 0) -> Batch:
    """A finished batch of carrots that took longer than predicted, by a factor."""
    batch = a_batch(freezer="household freezer")
    item = an_item(batch, CARROTS, mass_kg=1.0, shape="slab", size_m=0.009, frozen=True, start_c=-25.0)
    on_tray(item, 1, 1.0)
    result, _spread = predict(batch)
    began = NOON + timedelta(days=day)
    hours = {"total_h": {"p10": 5.0, "p50": result.total_time / 3600.0, "p90": 50.0}, "drying_start_h": 0.1}
    took = timedelta(seconds=slower * (result.total_time - result.drying_start))
    values = {
        "started_at": began, "drying_began_at": began, "ended_at": began + took, "done_at": began + took,
        "stage": "done", "prediction": hours,
    }  # fmt: skip
    return records.change(batch, values, expected=batch.version)


def test_three_slow_batches_make_forecasts_longer_until_it_is_switched_off(client: Client) -> None:
    for day in range(3):
        a_run(1.2, day)
    dryer = Dryer.objects.get()
    new = a_batch(freezer="household freezer")
    on_tray(an_item(new, CARROTS, mass_kg=1.0, shape="slab", size_m=0.009, frozen=True, start_c=-25.0), 1, 1.0)
    before = predict(new)[0].total_time

    row = teaching.LESSONS.work_out(dryer.pk)

    assert row is not None
    assert [step.out_of_line for step in row.result.steps] == [False, False, False]
    new = Batch.objects.get(pk=new.pk)
    result, spread = predict(new)
    assert 1.05 * before < result.total_time < 1.25 * before
    assert spread.total[0] < result.total_time < spread.total[2]
    page = client.get(reverse("dryer", args=[dryer.pk])).content.decode()
    assert "slower than expected" in page or "runs about as expected" in page
    assert "from 3 batches" in page
    assert "Forecasts use it." in page
    client.post(reverse("dryer-leave-taught", args=[dryer.pk]))
    dryer = Dryer.objects.get()
    assert calibration_for(dryer) == {}
    assert predict(Batch.objects.get(pk=new.pk))[0].total_time == before
    assert records.history(dryer).first().words == "Forecasts use the dryer’s own numbers."
    assert "Forecasts don’t use it." in client.get(reverse("dryer", args=[dryer.pk])).content.decode()


def test_two_batches_do_not_change_forecasts_yet_and_a_further_one_does_not_redo_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    a_run(1.1, 0)
    a_run(1.1, 1)
    dryer = Dryer.objects.get()
    first = teaching.LESSONS.work_out(dryer.pk)
    assert first is not None
    assert len(first.result.steps) == 2
    assert calibration_for(Dryer.objects.get()) == {}
    a_run(1.1, 2)
    learned: list[str] = []
    learn = teaching.learn
    monkeypatch.setattr(teaching, "learn", lambda *a, **k: learned.append(a[1].key) or learn(*a, **k))
    again = teaching.LESSONS.work_out(dryer.pk)
    assert again is not None
    assert len(learned) == 1
    assert again.result.steps[:2] == first.result.steps
    assert set(calibration_for(Dryer.objects.get())) >= {("contact", ""), ("desorption", "vegetable")}


def test_other_numbers_of_the_dryer_make_what_was_learned_unfit_until_it_is_worked_out_again(client: Client) -> None:
    for day in range(3):
        a_run(1.1, day)
    dryer = Dryer.objects.get()
    teaching.LESSONS.work_out(dryer.pk)
    records.change(dryer, {"numbers": {"refrigeration": 900.0}}, expected=dryer.version)
    assert calibration_for(Dryer.objects.get()) == {}
    page = client.get(reverse("dryer", args=[dryer.pk])).content.decode()
    assert "Calculate again from the batches" in page
    client.post(reverse("dryer-learn", args=[dryer.pk]))
    assert waits(teaching.LESSONS.task) == [dryer.pk]
    assert "Calculating: 0% done" in client.get(reverse("dryer", args=[dryer.pk])).content.decode()


def test_the_first_look_at_a_dryer_with_finished_runs_has_them_worked_out_and_says_so(client: Client) -> None:
    address = reverse("dryer", args=[a_run(1.1).dryer_id])
    assert "Calculating: 0% done" in client.get(address).content.decode()
    dryer = Dryer.objects.get()
    assert waits(teaching.LESSONS.task) == [dryer.pk]
    work_off()
    assert "Calculating:" not in client.get(address).content.decode()
    assert len(teaching.LESSONS.kept(dryer.pk).result.steps) == 1
    assert not waits(teaching.LESSONS.task)


def test_a_dryer_without_runs_has_nothing_worked_out(client: Client) -> None:
    dryer = records.create(Dryer(name="Bench", profile="bench-4"))
    assert "No finished run" in client.get(reverse("dryer", args=[dryer.pk])).content.decode()
    assert not waits(teaching.LESSONS.task)


def test_a_batch_far_off_is_flagged_on_its_page_with_what_to_check(client: Client) -> None:
    batch = a_run(3.5)
    out = StringIO()
    call_command("learn", stdout=out)
    assert out.getvalue() == "Bench: 1 batch\n"
    step = teaching.LESSONS.kept(batch.dryer_id).result.steps[0]
    assert step.out_of_line
    page = client.get(reverse("batch-done", args=[batch.pk])).content.decode()
    assert "This batch was unusual for this dryer" in page
    for suspect in step.suspects:
        assert suspect.check in page
    assert "unusual</span>" in client.get(reverse("dryer", args=[batch.dryer_id])).content.decode()


def test_batches_of_which_nothing_was_seen_teach_nothing() -> None:
    batch = a_run(1.0)
    records.change(batch, {"program": [{"shelf_c": 30.0, "hours": 20.0}]}, expected=batch.version)
    row = teaching.LESSONS.work_out(batch.dryer_id)
    assert row is not None
    assert row.result.steps == ()
    assert row.result.factor is None

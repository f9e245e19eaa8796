"""Planned batches become batches of the kitchen, and what that changes."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client, TestCase

from drystow.web.batches.adapters import load_of, tray_loads
from drystow.web.batches.models import Batch, Item, Load
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.models import Change
from drystow.web.plans import making
from drystow.web.plans.adapters import basis_of, lots_of
from drystow.web.plans.booking import shown_of
from drystow.web.plans.models import Booked, Plan
from tests.web.made_rows import (  # noqa: F401
    BEANS,
    BLUEBERRIES,
    CHICKEN,
    a_lot,
    a_plan,
    at,
    booked,
    clock,
    made,
    short_search,
)
from tests.web.waiting import work_off


@pytest.fixture
def plan() -> Plan:
    """Berries, beans and chicken for one dryer, planned on Monday at midnight."""
    plan = a_plan()
    a_lot(plan, mass_kg=1.6)
    a_lot(plan, BEANS, mass_kg=1.5, shape="stick")
    a_lot(plan, CHICKEN, mass_kg=1.2, shape="cube", size_m=0.012, arrives=at(1, 9))
    with clock(at(0, 0)):
        made(plan)
    return plan


def press(client: Client, plan: Plan, **sent: Any) -> str:
    """The page after a button that makes batches was pressed, as read at that moment."""
    row = making.PLAN.kept(plan.pk)
    with clock(at(0, 1)):
        answer = client.post(f"/plans/{plan.pk}/batches/", {"at": row.at.isoformat()} | sent, follow=True)
    return answer.content.decode()


def test_one_button_makes_all_batches_with_food_on_their_trays(client: Client, plan: Plan) -> None:
    shown = shown_of(plan, making.PLAN.kept(plan.pk).result)
    assert shown is not None
    page = press(client, plan)
    rows = booked(plan)
    assert len(rows) == len(shown.batches) == Batch.objects.count()
    for row, one in zip(rows, shown.batches, strict=True):
        assert (row.start, row.end) == (one.start, one.end)
        assert row.batch.lot in page
        assert row.batch.stage == "trays"
        assert row.batch.program == plan.dryers.get().program
        assert {item.name for item in Item.objects.filter(batch=row.batch)} == set(one.names)
        loads = tray_loads(row.batch)
        assert len({load.tray for load in loads}) == one.trays
        assert sum(load.mass_kg for load in loads) == pytest.approx(sum(lot.mass for lot in one.lots))
        assert load_of(row.batch, loads).items  # the engine takes it as it lies
    assert {row.batch.lot.split("-")[1] for row in rows} == {str(number + 1) for number in range(len(rows))}
    assert "What has changed since this plan" not in page
    assert "Make th" not in page


def test_food_that_stains_lies_below_other_food(client: Client) -> None:
    plan = a_plan()
    a_lot(plan, BLUEBERRIES, name="Blueberries", mass_kg=0.8, shape="sphere", size_m=0.012)
    a_lot(plan, BEANS, name="Beans", mass_kg=0.8, shape="stick")
    with clock(at(0, 0)):
        made(plan)
    press(client, plan)
    assert Batch.objects.count() == 1
    # common practice: what drips and stains goes below
    lowest = {load.item.name: load.tray for load in tray_loads(Batch.objects.get())}
    assert lowest["Beans"] < lowest["Blueberries"]


def test_a_batch_leads_back_to_its_plan_while_that_is_there(client: Client, plan: Plan) -> None:
    press(client, plan)
    where = f"/batches/{booked(plan)[0].batch_id}/trays/"
    assert f'<a href="/plans/{plan.pk}/">' in client.get(where).content.decode()
    records.put_in_bin(plan)
    assert f'<a href="/plans/{plan.pk}/">' not in client.get(where).content.decode()


def test_only_the_next_batch_is_made_when_that_is_asked_for(client: Client, plan: Plan) -> None:
    shown = shown_of(plan, making.PLAN.kept(plan.pk).result)
    assert shown is not None
    page = press(client, plan, batch=shown.to_book[0].key)
    (row,) = booked(plan)
    assert row.start == shown.batches[0].start
    assert "1 batch made, with food on its trays." in page
    assert "What has changed since this plan" not in page
    press(client, plan)
    assert len(booked(plan)) == len(shown.batches)


def test_pressing_twice_makes_them_once(client: Client, plan: Plan) -> None:
    press(client, plan)
    count = Batch.objects.count()
    assert "These batches already exist." in press(client, plan)
    assert Batch.objects.count() == count


def test_a_plan_that_was_made_anew_is_looked_at_first(client: Client, plan: Plan) -> None:
    page = press(client, plan, at="2026-01-01T00:00:00+00:00")
    assert "The plan has been updated meanwhile" in page
    assert not Batch.objects.exists()


def test_while_it_is_worked_out_no_batches_are_made(client: Client, plan: Plan) -> None:
    making.PLAN.ask(plan.pk)
    assert "make its batches when it is done" in press(client, plan)
    assert not Batch.objects.exists()


def test_one_undo_takes_all_of_it_back(client: Client, plan: Plan) -> None:
    press(client, plan)
    change = records.history(Batch.objects.latest("pk")).first()
    assert change.together
    client.post(f"/undo/{change.pk}/")
    assert not Batch.objects.kept().exists()
    assert not Booked.objects.kept().exists()
    assert not Load.objects.kept().exists()
    with clock(at(0, 1)):
        page = client.get(f"/plans/{plan.pk}/").content.decode()
    assert "is in the trash; its food is waiting again" in page
    shown = shown_of(plan, making.PLAN.kept(plan.pk).result)
    assert shown is not None
    assert shown.to_book == shown.batches


def test_a_batch_in_the_bin_is_not_booked_any_more(client: Client, plan: Plan) -> None:
    press(client, plan)
    first = booked(plan)[0].batch
    records.put_in_bin(first)
    assert first.pk not in [one.pk for one in basis_of(plan).booked]
    with clock(at(0, 1)):
        page = client.get(f"/plans/{plan.pk}/").content.decode()
        assert f"batch {first.lot} is in the trash" in page
        made(plan)
        again = client.get(f"/plans/{plan.pk}/").content.decode()
    assert "What has changed since this plan" not in again
    records.take_back(first)
    with clock(at(0, 1)):
        assert f"batch {first.lot}: new" in client.get(f"/plans/{plan.pk}/").content.decode()


def test_booked_batches_stay_with_their_real_masses(client: Client, plan: Plan) -> None:
    press(client, plan)
    first = booked(plan)[0]
    load = Load.objects.filter(item__batch=first.batch).first()
    assert load is not None
    records.change(load, {"mass_kg": load.mass_kg - 0.2}, expected=load.version)
    basis = basis_of(plan)
    fixed = lots_of(basis, at(0, 1)).fixed
    assert len(fixed) == len(booked(plan))
    real = sum(one.mass_kg for one in Load.objects.filter(item__batch=first.batch))
    assert sum(mass for _name, mass in fixed[0].masses) == pytest.approx(real)
    assert not fixed[0].begun
    with clock(at(0, 1)):
        assert f"batch {first.batch.lot} holds different amounts" in client.get(f"/plans/{plan.pk}/").content.decode()


def start(batch: Batch, begun: Any) -> Batch:
    return records.change(batch, {"started_at": begun, "stage": "running"}, expected=batch.version)


def test_a_batch_that_begins_in_time_is_as_planned_and_one_that_begins_late_is_told(client: Client, plan: Plan) -> None:
    press(client, plan)
    first = booked(plan)[0]
    start(first.batch, first.start + timedelta(minutes=30))
    with clock(first.start + timedelta(hours=1)):
        page = client.get(f"/plans/{plan.pk}/").content.decode()
    assert "What has changed since this plan" not in page
    assert "Unload Bench: tomorrow 07:00" in page
    late = start(Batch.objects.get(pk=first.batch.pk), first.start + timedelta(hours=5))
    with clock(first.start + timedelta(hours=6)):
        assert f"batch {late.lot} started on" in client.get(f"/plans/{plan.pk}/").content.decode()


def test_a_batch_that_nobody_loaded_is_told_and_moved(client: Client, plan: Plan) -> None:
    press(client, plan)
    first = booked(plan)[0]
    with clock(first.start + timedelta(hours=4)):
        page = client.get(f"/plans/{plan.pk}/").content.decode()
        assert f"batch {first.batch.lot} was due to load on" in page
        made(plan)
        shown = shown_of(plan, making.PLAN.kept(plan.pk).result)
    assert shown is not None
    moved = next(one for one in shown.batches if one.batch is not None and one.batch.pk == first.batch.pk)
    assert moved.start >= first.start + timedelta(hours=4)


def test_when_a_batch_ends_the_rest_is_planned_again_by_itself(client: Client, plan: Plan) -> None:
    press(client, plan)
    first = booked(plan)[0]
    running = start(first.batch, first.start)
    assert making.PLAN.task.percent(plan.pk) is None
    with TestCase.captureOnCommitCallbacks(execute=True):
        records.change(running, {"ended_at": first.end, "stage": "proof"}, expected=running.version)
    assert making.PLAN.task.percent(plan.pk) == 0
    old = making.PLAN.kept(plan.pk).result
    with clock(first.end + timedelta(minutes=5)):
        page = client.get(f"/plans/{plan.pk}/").content.decode()
        assert "Updating; meanwhile, the last plan" in page
        assert making.PLAN.kept(plan.pk).result == old
        work_off()
        page = client.get(f"/plans/{plan.pk}/").content.decode()
    shown = shown_of(plan, making.PLAN.kept(plan.pk).result)
    assert shown is not None
    over = [one for one in shown.batches if one.over]
    assert [(one.batch.pk, one.start, one.end) for one in over if one.batch] == [
        (first.batch.pk, first.start, first.end)
    ]
    assert "What has changed since this plan" not in page
    assert "Compared with the plan before: nothing changed." in page  # what ran did not move, and the rest is booked


def test_another_batch_that_ends_does_not_plan_anything(plan: Plan) -> None:
    from tests.web.batch_rows import a_batch

    batch = a_batch(started_at=at(-2, 8), stage="running")
    with TestCase.captureOnCommitCallbacks(execute=True):
        records.change(batch, {"ended_at": at(-1, 8)}, expected=batch.version)
    assert making.PLAN.task.percent(plan.pk) is None
    assert Change.objects.filter(kind="batches.batch").exists()


def test_lot_numbers_are_free_ones(client: Client, plan: Plan) -> None:
    from drystow.web.batches.forms import next_lot
    from tests.web.batch_rows import a_batch

    with clock(at(0, 1)):
        taken = a_batch(lot=next_lot())
    press(client, plan)
    lots = [row.batch.lot for row in booked(plan)]
    assert taken.lot not in lots
    assert len(set(lots)) == len(lots)


def test_a_batch_that_moved_to_a_dryer_outside_of_the_plan_is_told(client: Client, plan: Plan) -> None:
    press(client, plan)
    first = booked(plan)[0].batch
    other = records.create(Dryer(name="Borrowed", profile="bench-4"))
    records.change(first, {"dryer": other}, expected=first.version)
    with clock(at(0, 1)):
        assert f"batch {first.lot} is in Borrowed now" in client.get(f"/plans/{plan.pk}/").content.decode()
        made(plan)
        page = client.get(f"/plans/{plan.pk}/").content.decode()
    assert "which is not part of this plan" in page
    assert f'<a href="/plans/{plan.pk}/dryers/">Change it</a>' in page

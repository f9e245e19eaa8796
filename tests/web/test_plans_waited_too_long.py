"""Food that waited too long is in no batch, on no page and no paper of a plan without its verdict."""

import io
from datetime import datetime

import pytest
import vobject
from django.test import Client, TestCase
from pypdf import PdfReader

from drystow.foods import table
from drystow.web.batches.models import Batch
from drystow.web.kit import records
from drystow.web.plans import making
from drystow.web.plans.booking import shown_of
from drystow.web.plans.models import Plan
from tests.web.made_rows import (  # noqa: F401
    BERRIES,
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

# FoodSafety.gov, cold food storage chart (read): raw poultry 1 to 2 days in the refrigerator; USDA: berries 2
PAST = at(-4, 9)
CUBES = {"shape": "cube", "size_m": 0.012}
NO_USE = "waited too long: do not use it"
OUT = "do not use it. It waited too long; it had to be dried or frozen by"
LOOK_OUT = "look at it and decide. It waited too long; it had to be dried or frozen by"


def page_of(client: Client, plan: Plan, when: datetime, what: str = "") -> str:
    with clock(when):
        return client.get(f"/plans/{plan.pk}/{what}").content.decode()


def paper_of(client: Client, plan: Plan, when: datetime) -> str:
    with clock(when):
        answer = client.get(f"/plans/{plan.pk}/plan.pdf")
    return " ".join("\n".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages).split())


def calendar_of(client: Client, plan: Plan, when: datetime) -> list[tuple[str, str]]:
    """Titles and words of the calendar."""
    with clock(when):
        text = client.get(f"/plans/{plan.pk}/calendar.ics").content.decode()
    return [(event.summary.value, event.description.value) for event in vobject.readOne(text).vevent_list]


def inside(plan: Plan) -> set[str]:
    """The names of the food that is planned and in time."""
    shown = shown_of(plan, making.PLAN.kept(plan.pk).result)
    assert shown is not None
    return {lot.name for batch in shown.batches for lot in batch.lots if not lot.verdict}


def press(client: Client, plan: Plan, when: datetime) -> str:
    row = making.PLAN.kept(plan.pk)
    with clock(when):
        answer = client.post(f"/plans/{plan.pk}/batches/", {"at": row.at.isoformat()}, follow=True)
        return answer.content.decode()


def test_what_came_days_before_and_was_never_frozen_is_out_with_its_verdict(client: Client) -> None:
    plan = a_plan(freezer_m3=0.0)
    a_lot(plan, CHICKEN, name="Old breast", arrives=PAST, **CUBES)
    a_lot(plan, BERRIES, name="Old berries", arrives=PAST)
    a_lot(plan, BLUEBERRIES, name="Blueberries", shape="sphere", size_m=0.012)
    with clock(at(0, 0)):
        made(plan)
        assert inside(plan) == {"Blueberries"}
    for text in (page_of(client, plan, at(0, 0)), paper_of(client, plan, at(0, 0))):
        assert f"Old breast: {OUT} Fri 4 Dec, 09:00" in text
        assert f"Old berries: {LOOK_OUT} Sat 5 Dec, 09:00" in text
    lots = page_of(client, plan, at(0, 0), "lots/")
    assert "If it was not frozen by then, it waited too long. Do not use it." in lots
    assert "If it was not frozen by then, it waited too long. Look at it and decide." in lots


def test_what_lies_in_the_freezer_since_it_came_is_planned_and_that_is_told(client: Client) -> None:
    plan = a_plan(freezer_m3=0.06)
    a_lot(plan, CHICKEN, name="Old breast", arrives=PAST, **CUBES)
    with clock(at(0, 0)):
        made(plan)
        assert inside(plan) == {"Old breast"}
    words = "Old breast: the plan counts on it having been in the freezer since "
    for text in (page_of(client, plan, at(0, 0)), paper_of(client, plan, at(0, 0))):
        assert words in text
        assert "if it was not, do not use it" in text


def test_what_is_not_stated_to_be_raw_or_not_is_judged_as_raw(monkeypatch: pytest.MonkeyPatch) -> None:
    from dataclasses import replace

    from drystow.planning.schedule.cold_storage import DAY, judged_by_eye, storage_window

    chicken = table.get("Chicken, breast, boneless, skinless, raw")
    unknown = replace(chicken, raw_animal=None)  # type: ignore[arg-type]
    assert storage_window(unknown).fridge == DAY
    assert storage_window(unknown).freezer <= storage_window(chicken).freezer
    assert not judged_by_eye(replace(BERRIES, raw_animal=None))  # type: ignore[arg-type]


def test_planning_again_after_a_batch_ended_late_leaves_out_what_spoiled_meanwhile(client: Client) -> None:
    plan = a_plan(freezer_m3=0.0, days=7)
    a_lot(plan, BLUEBERRIES, name="Blueberries", shape="sphere", size_m=0.012, mass_kg=3.6, must=True)
    a_lot(plan, CHICKEN, name="Breast", mass_kg=1.0, arrives=at(1, 9), **CUBES)
    with clock(at(0, 0)):
        made(plan)
        assert inside(plan) == {"Blueberries", "Breast"}
    row = making.PLAN.kept(plan.pk)
    shown = shown_of(plan, row.result)
    assert shown is not None
    first = shown.to_book[0]
    with clock(at(0, 1)):
        client.post(f"/plans/{plan.pk}/batches/", {"at": row.at.isoformat(), "batch": first.key})
    batch = booked(plan)[0].batch
    batch = records.change(batch, {"started_at": first.start, "stage": "running"}, expected=batch.version)
    with TestCase.captureOnCommitCallbacks(execute=True):
        records.change(batch, {"ended_at": at(3, 11), "stage": "proof"}, expected=batch.version)
    with clock(at(3, 12)):
        assert making.PLAN.task.percent(plan.pk) is not None
        work_off()
        assert "Breast" not in inside(plan)
    page = page_of(client, plan, at(3, 12))
    assert f"Breast: {OUT}" in page


def test_batches_are_not_made_of_food_that_waited_too_long_since_the_plan_was_made(client: Client) -> None:
    plan = a_plan(freezer_m3=0.0)
    a_lot(plan, CHICKEN, name="Breast", mass_kg=1.0, **CUBES)
    with clock(at(0, 0)):
        made(plan)
        assert inside(plan) == {"Breast"}
    late = at(2, 12)
    assert NO_USE in page_of(client, plan, late)
    assert NO_USE in paper_of(client, plan, late)
    assert ("Load 'Bench'", f"Breast: {NO_USE}") in calendar_of(client, plan, late)
    page = press(client, plan, late)
    assert f"No batch made. Breast: {NO_USE}." in page
    assert not Batch.objects.exists()
    # nor of food that, as somebody has written meanwhile, came long before
    lot = plan.lots.get()
    records.change(lot, {"arrives": PAST}, expected=lot.version)
    assert f"No batch made. Breast: {NO_USE}." in press(client, plan, at(0, 1))
    assert not Batch.objects.exists()


def test_a_batch_that_was_made_but_waits_too_long_carries_the_verdict_on_its_food(client: Client) -> None:
    plan = a_plan(freezer_m3=0.0)
    a_lot(plan, CHICKEN, name="Breast", mass_kg=1.0, **CUBES)
    a_lot(plan, BLUEBERRIES, name="Blueberries", shape="sphere", size_m=0.012, mass_kg=0.8)
    with clock(at(0, 0)):
        made(plan)
    assert "made, with food on" in press(client, plan, at(0, 1))
    late = at(2, 12)
    with clock(late):
        row = made(plan)
        assert inside(plan) == {"Blueberries"}
    page, paper = page_of(client, plan, late), paper_of(client, plan, late)
    for text in (page, paper):
        assert NO_USE in text  # beside the food
        assert f"Breast: {OUT}" in text  # under what is left out
    assert row.result.saved == pytest.approx(0.8, abs=1e-3)  # of 1.8 kg
    told = calendar_of(client, plan, late)
    assert ("Load 'Bench'", f"Breast: {NO_USE}") in told
    assert not any("× Breast" in words for _title, words in told)

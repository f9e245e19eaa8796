"""Dryers that take part in a plan: which, their program, when they are not to be had."""

import pytest
from django.test import Client

from drystow.web.kit import records
from drystow.web.plans.models import PlanDryer
from tests.web.page_form import sent_back
from tests.web.plan_entry_rows import a_dryer, a_lot, a_plan
from tests.web.queries import queries


def test_a_dryer_of_the_kitchen_takes_part_and_is_left_out_again(client: Client) -> None:
    bench, big = a_dryer(), a_dryer("Big", "kitchen-5")
    plan = a_plan(bench)
    address = f"/plans/{plan.pk}/dryers/"
    assert "Add Big to the plan" in client.get(address).content.decode()
    client.post(address, {"dryer": big.pk})
    row = PlanDryer.objects.get(dryer=big)
    assert row.program[-1] == {"shelf_c": 40.0, "hours": None}
    client.post(f"/plans/{plan.pk}/dryers/{row.pk}/remove/")
    assert [one.dryer for one in PlanDryer.objects.kept()] == [bench]
    client.post(address, {"dryer": big.pk})
    assert PlanDryer.objects.get(dryer=big).binned_at is None


def test_a_dryer_that_was_left_out_has_its_name_in_the_bin_and_in_the_history(client: Client) -> None:
    plan = a_plan(a_dryer())
    row = plan.dryers.get()
    client.post(f"/plans/{plan.pk}/dryers/{row.pk}/remove/")
    called = f"{plan.title} · {row.dryer.name}"
    assert called in client.get("/bin/").content.decode()
    assert called in client.get("/history/").content.decode()


def test_a_plan_without_dryers_says_what_to_do(client: Client) -> None:
    page = client.get(f"/plans/{a_plan().pk}/dryers/").content.decode()
    assert "No dryer yet" in page
    assert "Add a dryer first" in page


def test_a_dryer_that_a_lot_needs_is_not_left_out(client: Client) -> None:
    bench = a_dryer()
    plan = a_plan(bench)
    a_lot(plan, name="Peas", extra={"dryers": [bench.pk]})
    row = plan.dryers.get()
    page = client.post(f"/plans/{plan.pk}/dryers/{row.pk}/remove/", follow=True).content.decode()
    assert "Peas may only go into Bench" in page
    assert PlanDryer.objects.kept().exists()


def test_the_last_dryer_of_those_that_a_lot_may_go_into_stays(client: Client) -> None:
    one, other, third = a_dryer("One"), a_dryer("Other"), a_dryer("Third")
    plan = a_plan(one, other, third)
    a_lot(plan, name="Peas", extra={"dryers": [one.pk, other.pk]})
    for row in plan.dryers.filter(dryer__in=[one, other]):
        page = client.post(f"/plans/{plan.pk}/dryers/{row.pk}/remove/", follow=True).content.decode()
    assert "Peas may only go into Other" in page
    assert {row.dryer for row in PlanDryer.objects.kept()} == {other, third}


def test_program_turnaround_and_stops_are_kept(client: Client) -> None:
    kitchen = records.kitchen()
    records.change(kitchen, {"time_zone": "America/New_York"}, expected=kitchen.version)
    plan = a_plan(a_dryer())
    address = f"/plans/{plan.pk}/dryers/{plan.dryers.get().pk}/"
    written = {
        "turnaround": "90 min",
        "step-1-shelf": "45 °C",
        "stop-0-begin": "2026-09-10T06:00",
        "stop-0-end": "2026-09-10T20:00",
    }
    assert client.post(address, sent_back(client.get(address)) | written).status_code == 302
    row = PlanDryer.objects.get()
    assert row.turnaround_h == 1.5
    assert row.program == [{"shelf_c": -10.0, "hours": 2.0}, {"shelf_c": 45.0, "hours": None}]
    assert row.stops == [{"from": "2026-09-10T06:00:00", "to": "2026-09-10T20:00:00"}]
    assert 'value="2026-09-10T06:00"' in client.get(address).content.decode()
    client.post(address, sent_back(client.get(address)) | {"stop-0-begin": "", "stop-0-end": ""})
    assert PlanDryer.objects.get().stops == []


@pytest.mark.parametrize(
    ("field", "written", "told"),
    [
        ("step-1-shelf", "300 °C", "is out of range; enter"),
        ("step-1-shelf", "80 °C", "is out of range for this shelf; write"),
        ("turnaround", "9 days", "is out of range; enter"),
        ("stop-0-begin", "2026-09-10T06:00", "Enter an end after the beginning"),
        ("step-0-hours", "", "Only the last step can run until dry"),
    ],
)
def test_what_was_typed_comes_back_with_the_message(client: Client, field: str, written: str, told: str) -> None:
    plan = a_plan(a_dryer())
    address = f"/plans/{plan.pk}/dryers/{plan.dryers.get().pk}/"
    page = client.post(address, sent_back(client.get(address)) | {field: written}).content.decode()
    assert told in page
    assert f'value="{written}"' in page or not written
    assert PlanDryer.objects.get().version == 1


def test_two_tablets_are_told_of_each_other(client: Client) -> None:
    plan = a_plan(a_dryer())
    address = f"/plans/{plan.pk}/dryers/{plan.dryers.get().pk}/"
    mine, theirs, third = (client.get(address) for _tablet in range(3))
    client.post(address, sent_back(theirs) | {"step-0-hours": "3 h"})
    told = client.post(address, sent_back(mine) | {"step-0-hours": "4 h"}).content.decode()
    assert "Someone changed this meanwhile" in told
    assert 'value="4 h"' in told
    client.post(address, sent_back(third) | {"turnaround": "4 h"})
    row = PlanDryer.objects.get()
    assert (row.program[0]["hours"], row.turnaround_h) == (3.0, 4.0)


def test_the_questions_do_not_grow_with_the_dryers(client: Client) -> None:
    plan = a_plan(*(a_dryer(f"Dryer {number}") for number in range(6)))
    client.get(f"/plans/{plan.pk}/dryers/")
    with queries(at_most=7):
        client.get(f"/plans/{plan.pk}/dryers/")

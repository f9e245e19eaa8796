"""The page of a plan: what is told while nothing is there, while it is worked out, and of the plan itself."""

import io
import re
from datetime import UTC, datetime, timedelta

import pytest
import vobject
from django.test import Client
from pypdf import PdfReader

from drystow.web.accounts import people
from drystow.web.kit import records
from drystow.web.kit.models import Answer
from drystow.web.plans import making
from drystow.web.plans.booking import shown_of
from drystow.web.plans.models import Lot, Plan
from tests.web.batch_rows import a_batch
from tests.web.lan import LAN, PASSWORD, device, sign_in
from tests.web.made_rows import (  # noqa: F401
    BEANS,
    CHICKEN,
    ZONE,
    a_lot,
    a_plan,
    at,
    booked,
    clock,
    made,
    short_search,
)
from tests.web.queries import queries
from tests.web.waiting import work_off

PART = {"HX-Request": "true"}


def look(client: Client, plan: Plan, when: datetime | None = None, **options: object) -> str:
    """The page of a plan at a moment, the midnight on which it begins when no other is said."""
    with clock(when or at(0, 0)):
        return client.get(f"/plans/{plan.pk}/", **options).content.decode()  # type: ignore[arg-type]


def some(**values: object) -> Plan:
    """A plan of berries and beans, worked out on the midnight on which it begins."""
    plan = a_plan(**values)
    a_lot(plan, mass_kg=1.6)
    a_lot(plan, BEANS, mass_kg=1.5, shape="stick")
    with clock(at(0, 0)):
        made(plan)
    return plan


def test_without_food_or_dryers_the_page_says_what_to_do_next(client: Client) -> None:
    plan = a_plan()
    page = look(client, plan)
    assert f'href="/plans/{plan.pk}/lots/"' in page
    assert "No food coming in yet" in page
    assert making.PLAN.task.percent(plan.pk) is None
    a_lot(plan)
    records.put_in_bin(plan.dryers.get())
    page = look(client, plan)
    assert "No dryer in this plan yet." in page
    assert making.PLAN.task.percent(plan.pk) is None


def test_the_first_look_has_the_plan_worked_out_and_tells_how_far_it_is(client: Client) -> None:
    plan = a_plan()
    a_lot(plan)
    page = look(client, plan)
    assert 'hx-trigger="every 2s"' in page
    assert ">Check again</a>" in page  # without JavaScript
    making.PLAN.task.tell(plan.pk, 0.42)
    part = look(client, plan, headers=PART)
    assert "<html" not in part
    assert 'value="42"' in part
    with clock(at(0, 0)):
        work_off()
    done = look(client, plan, headers=PART)
    assert "hx-trigger" not in done
    assert "100%" in done


def test_all_of_the_food_is_all_of_its_worth_whatever_a_pound_is_worth(client: Client) -> None:
    plan = a_plan()
    pound = 0.45359237  # international pound
    a_lot(plan, mass_kg=3 * pound, value_per_kg=4 / pound)
    a_lot(plan, BEANS, mass_kg=2 * pound, value_per_kg=1 / pound, shape="stick")
    with clock(at(0, 0)):
        made(plan)
    shown = shown_of(plan, making.PLAN.kept(plan.pk).result)
    assert shown is not None
    assert shown.made.valued
    assert shown.share == 100
    assert f"{shown.made.saved_worth:.2f}" == "14.00"
    assert "$14.00" in look(client, plan)


def test_answers_come_first_and_the_next_thing_is_named(client: Client) -> None:
    plan = some()
    page = look(client, plan)
    shown = shown_of(plan, making.PLAN.kept(plan.pk).result)
    assert shown is not None
    first = shown.batches[0]
    when = first.start.astimezone(ZONE)
    assert f"Load Bench: today {when:%H:%M}" in page
    assert "3.10 kg of 3.10 kg of fresh food" in page
    assert page.index("3.10 kg of 3.10 kg") < page.index("When each dryer is loaded") < page.index("The batches")
    assert "No other plan saves more food (proven)." in page
    assert "To buy" in page
    assert 'class="chart wide"' in page
    assert 'class="chart narrow upright"' in page
    for lot in Lot.objects.all():
        assert lot.name in page
    later = look(client, plan, at(20, 0))
    assert "This plan’s days are over." in later
    assert "Make th" not in later


def test_worth_is_told_only_where_lots_differ_in_it(client: Client) -> None:
    plan = some()
    assert "by its worth" not in look(client, plan)
    lot = Lot.objects.first()
    assert lot is not None
    records.change(lot, {"value_per_kg": 9.0}, expected=lot.version)
    with clock(at(0, 0)):
        made(plan)
    page = look(client, plan)
    assert "by its worth" in page
    assert f"${9.0 * lot.mass_kg + (3.1 - lot.mass_kg):.2f}" in page


def test_what_is_left_out_is_told_with_its_reason_and_what_was_wished(client: Client) -> None:
    plan = a_plan(days=3, freezer_m3=0.0)
    a_lot(plan, name="Too much", mass_kg=60.0, must=True)
    with clock(at(0, 0)):
        made(plan)
    page = look(client, plan)
    assert "Left out, and why" in page
    assert "all of it had to be dried" in page
    assert "Not everything that had to be dried can be" in page
    assert not re.search(r"\d{4}-\d\d-\d\d \d\d:", page.split("<main")[1].split("How good")[0])  # days as everywhere
    lot = Lot.objects.get()
    assert f'href="/plans/{plan.pk}/lots/{lot.pk}/"' in page


def test_food_that_is_frozen_first_is_named_with_its_day(client: Client) -> None:
    plan = a_plan(home={"daily": [], "friday": ["7-22"], "saturday": ["7-22"]}, days=7)
    a_lot(plan, CHICKEN, name="Breast", shape="cube", size_m=0.012, arrives=at(1, 9))
    with clock(at(0, 0)):
        made(plan)
    page = look(client, plan)
    # raw poultry keeps one or two days in a refrigerator (FoodSafety.gov), and nobody loads before Friday
    assert "Freeze on arrival" in page
    assert f"{at(1, 9):%a} {at(1, 9).day} {at(1, 9):%b}, 09:00: 2.00 kg Breast" in page
    assert "from the freezer" in page


def test_what_differs_is_told_and_one_button_plans_again(client: Client) -> None:
    plan = some()
    assert "What has changed since this plan" not in look(client, plan)
    lot = Lot.objects.get(name="Strawberries")
    records.change(lot, {"mass_kg": 1.9}, expected=lot.version)
    a_lot(plan, name="Late beans", arrives=at(2, 9), mass_kg=1.0)
    page = look(client, plan)
    assert "Strawberries: changed" in page
    assert "Late beans: new" in page
    assert "Make th" not in page
    old = making.PLAN.kept(plan.pk).result
    assert client.post(f"/plans/{plan.pk}/again/").status_code == 302
    waiting = look(client, plan)
    assert "meanwhile, the last plan" in waiting
    assert "3.10 kg of 3.10 kg of fresh food" in waiting
    assert making.PLAN.kept(plan.pk).result == old
    with clock(at(0, 0)):
        work_off()
    again = look(client, plan)
    assert "What has changed since this plan" not in again
    assert "Compared with the plan before:" in again
    assert "1.30 kg more saved" in again


def test_an_hour_changed_a_dryer_changed_and_a_foreign_batch_are_told(client: Client) -> None:
    plan = some()
    records.change(plan, {"home": {"daily": ["8-20"]}}, expected=plan.version)
    row = plan.dryers.get()
    records.change(row, {"turnaround_h": 5.0}, expected=row.version)
    other = a_batch(started_at=at(0, 7), stage="running")
    page = look(client, plan, at(0, 8))
    assert "Days, hours, prices, freezer, altitude or what is dried apart" in page
    assert "Bench: changed" in page
    assert f"batch {other.lot}, from outside this plan, needs Bench until" in page


def test_what_the_engine_refuses_is_told_with_the_way_to_mend_it_and_the_old_plan_stays(client: Client) -> None:
    plan = some()
    lot = Lot.objects.get(name="Strawberries")
    records.change(lot, {"size_m": 0.19}, expected=lot.version)
    with clock(at(0, 0)):
        made(plan)
    page = look(client, plan)
    assert "below is the last plan that did" in page
    assert f'<a href="/plans/{plan.pk}/lots/{lot.pk}/">Change it</a>' in page
    assert "3.10 kg of 3.10 kg of fresh food" in page
    assert "Make th" not in page


def test_a_food_that_is_gone_is_told(client: Client) -> None:
    plan = a_plan()
    a_lot(plan, food="own:77")
    look(client, plan)
    with clock(at(0, 0)):
        work_off()
    assert "have no food number 77; choose another food" in look(client, plan)


def test_without_the_solver_the_page_says_what_to_install(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "ortools.sat.python", None)
    plan = some()
    page = look(client, plan)
    assert "pip install" in page
    assert "drystow[plan]" in page
    assert "Plan again" in page


def test_the_calendar_is_read_by_another_library_at_the_same_moments(client: Client) -> None:
    plan = some()
    shown = shown_of(plan, making.PLAN.kept(plan.pk).result)
    assert shown is not None
    answer = client.get(f"/plans/{plan.pk}/calendar.ics")
    assert answer.headers["Content-Type"].startswith("text/calendar")
    events = vobject.readOne(answer.content.decode()).vevent_list
    found = {(event.summary.value.split()[0], event.dtstart.value.astimezone(UTC)) for event in events}
    for batch in shown.batches:
        assert ("Load", batch.start.astimezone(UTC)) in found
        assert ("Unload", batch.end.astimezone(UTC)) in found
    assert len({event.uid.value for event in events}) == len(events) == 3 * len(shown.batches)


def test_the_calendar_speaks_the_language_of_the_kitchen(client: Client) -> None:
    plan = some()
    kitchen = records.kitchen()
    records.change(kitchen, {"language": "es"}, expected=kitchen.version)
    text = client.get(f"/plans/{plan.pk}/calendar.ics").content.decode()
    assert "SUMMARY:Load" not in text


def test_the_sheet_has_every_batch_and_what_to_buy(client: Client) -> None:
    plan = some()
    shown = shown_of(plan, making.PLAN.kept(plan.pk).result)
    assert shown is not None
    answer = client.get(f"/plans/{plan.pk}/plan.pdf")
    pages = PdfReader(io.BytesIO(answer.content)).pages
    text = " ".join("\n".join(page.extract_text() for page in pages).split())
    assert "Harvest week" in text
    for batch in shown.batches:
        start = batch.start.astimezone(ZONE)
        assert f"{start:%a} {start.day} {start:%b}, {start:%H:%M}" in text
        for lot in batch.lots:
            assert lot.name in text
    for one in shown.made.shopping:
        assert f"{one.count} × {one.name}" in text


def test_files_of_a_plan_that_was_never_made_are_not_there(client: Client) -> None:
    plan = a_plan()
    assert client.get(f"/plans/{plan.pk}/plan.pdf").status_code == 404
    assert client.get(f"/plans/{plan.pk}/calendar.ics").status_code == 404
    assert client.get("/plans/4711/").status_code == 404


def test_a_page_asks_the_database_as_often_for_many_lots_as_for_few(client: Client) -> None:
    plan = some()
    row = making.PLAN.kept(plan.pk)
    with clock(at(0, 1)):
        client.post(f"/plans/{plan.pk}/batches/", {"at": row.at.isoformat()})
    assert booked(plan)
    with queries(at_most=16):
        look(client, plan)
    for number in range(12):
        a_lot(plan, name=f"Lot {number}", arrives=at(0, 10) + timedelta(hours=number))
    with queries(at_most=16):
        look(client, plan)


def test_a_viewer_looks_and_a_helper_makes() -> None:
    plan = some()
    with LAN:
        for name, role in (("ana", people.OWNER), ("ben", people.HELPER), ("cleo", people.VIEWER)):
            people.add(name, role, PASSWORD)
        viewer, helper = device(), device()
        sign_in(viewer, "cleo")
        sign_in(helper, "ben")
        page = look(viewer, plan)
        assert "3.10 kg of 3.10 kg of fresh food" in page
        assert "<form" not in re.sub(r"<form[^>]*sign-out.*?</form>", "", page, flags=re.S).split("<main")[1]
        assert viewer.post(f"/plans/{plan.pk}/batches/").status_code == 403
        assert viewer.post(f"/plans/{plan.pk}/again/").status_code == 403
        row = making.PLAN.kept(plan.pk)
        with clock(at(0, 1)):
            assert helper.post(f"/plans/{plan.pk}/batches/", {"at": row.at.isoformat()}).status_code == 302
        assert booked(plan)


def test_the_picture_is_drawn_once_for_a_quarter_of_an_hour(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from drystow.web.plans.views import made as view

    plan, drawn = some(), []
    real = view.drawings_of
    monkeypatch.setattr(view, "drawings_of", lambda days: drawn.append(days) or real(days))
    for minute in (1, 7, 14, 16):
        look(client, plan, at(0, 5, minute))
    assert len(drawn) == 2


def test_a_plan_that_an_earlier_program_kept_is_worked_out_again(client: Client) -> None:
    plan = some()
    assert Answer.objects.filter(kind="plan", subject=plan.pk).update(form="of another program") == 1
    assert "Making the plan." in look(client, plan)
    with clock(at(0, 0)):
        work_off()
    assert "3.10 kg of 3.10 kg of fresh food" in look(client, plan)


def test_a_problem_that_was_mended_is_not_told_any_more(client: Client) -> None:
    plan = a_plan()
    lot = a_lot(plan, size_m=0.19)
    with clock(at(0, 0)):
        made(plan)
    assert "These entries don’t work yet." in look(client, plan)
    records.change(lot, {"size_m": 0.008}, expected=lot.version)
    page = look(client, plan)
    assert "Making the plan." in page
    assert "These entries don’t work" not in page


def test_what_changes_while_it_is_worked_out_counts_too(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    plan = a_plan()
    lot = a_lot(plan, mass_kg=1.0)
    real = making.schedule

    def meanwhile(*arguments: object, **options: object) -> object:
        if Lot.objects.get().mass_kg == 1.0:
            records.change(lot, {"mass_kg": 1.5}, expected=lot.version)
        return real(*arguments, **options)  # type: ignore[arg-type]

    monkeypatch.setattr(making, "schedule", meanwhile)
    with clock(at(0, 0)):
        made(plan)
    page = look(client, plan)
    assert "1.50 kg of 1.50 kg of fresh food" in page
    assert "What has changed since this plan" not in page


def test_a_plan_whose_food_is_gone_keeps_its_picture(client: Client) -> None:
    plan = some()
    lot = Lot.objects.get(name="Strawberries")
    Lot.objects.filter(pk=lot.pk).update(food="own:77")
    page = look(client, plan)
    assert "have no food number 77; choose another food" in page
    assert "3.10 kg of 3.10 kg of fresh food" in page
    with clock(at(0, 0)):
        assert making.PLAN.work_out(plan.pk) is None
    assert "3.10 kg of 3.10 kg of fresh food" in look(client, plan)

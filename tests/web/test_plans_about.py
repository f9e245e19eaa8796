"""Begin a plan, its days and hours, copy it, bin it."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from drystow.web.kit import records
from drystow.web.plans.models import Lot, Plan, PlanDryer
from tests.web.page_form import sent_back
from tests.web.plan_entry_rows import a_dryer, a_lot, a_plan
from tests.web.queries import queries


def test_without_a_dryer_a_plan_leads_to_one(client: Client) -> None:
    assert "Add a dryer first" in client.get("/plans/new/").content.decode()


def test_a_new_plan_begins_with_sensible_values(client: Client) -> None:
    a_dryer(), a_dryer("Kitchen", "kitchen-5")
    answer = client.post("/plans/new/", sent_back(client.get("/plans/new/")))
    plan = Plan.objects.get()
    assert answer.headers["Location"] == f"/plans/{plan.pk}/lots/"
    assert (plan.begin, plan.days) == (timezone.localdate(), 7)
    assert {row.dryer.name for row in plan.dryers.select_related("dryer")} == {"Bench", "Kitchen"}
    assert plan.home == {"weekdays": ["7-22"], "weekend": ["7-22"]}
    assert plan.tariff == {}  # as the kitchen pays
    assert all(row.program[-1]["hours"] is None for row in PlanDryer.objects.all())


def test_beginning_a_plan_is_undone_as_a_whole(client: Client) -> None:
    a_dryer()
    client.post("/plans/new/", sent_back(client.get("/plans/new/")))
    client.post(f"/undo/{records.history(Plan.objects.get()).first().pk}/")
    assert not Plan.objects.kept().exists()
    assert not PlanDryer.objects.kept().exists()


def test_hours_are_read_as_people_write_them(client: Client) -> None:
    plan = a_plan(a_dryer())
    address = f"/plans/{plan.pk}/about/"
    written = {"weekdays": "6:30–8:30, 5 pm - 10pm", "weekend": "8-22", "friday": "–"}
    assert client.post(address, sent_back(client.get(address), **written)).status_code == 302
    plan.refresh_from_db()
    assert plan.home == {"weekdays": ["6:30-8:30", "17-22"], "weekend": ["8-22"], "friday": []}
    page = client.get(address).content.decode()
    assert 'value="6:30-8:30, 17-22"' in page
    assert 'value="–"' in page


@pytest.mark.parametrize(
    ("field", "written", "told"),
    [
        ("weekdays", "early", "is not a part of a day"),
        ("days", "60", "35"),
        ("freezer", "3 feet", "not a volume"),
        ("begin", "soon", "This is not a date; enter it like 20"),
        ("price", "dear", "number"),
    ],
)
def test_what_was_typed_comes_back_with_the_message_beside_it(
    client: Client, field: str, written: str, told: str
) -> None:
    plan = a_plan(a_dryer())
    address = f"/plans/{plan.pk}/about/"
    page = client.post(address, sent_back(client.get(address), **{field: written})).content.decode()
    beside = page.split(f'id="id_{field}_error">')[1].split("</p>")[0]
    assert told in beside
    assert f'value="{written}"' in page


def test_somebody_has_to_be_there_at_some_time(client: Client) -> None:
    plan = a_plan(a_dryer())
    address = f"/plans/{plan.pk}/about/"
    page = client.post(address, sent_back(client.get(address), weekdays="-", weekend="-")).content.decode()
    assert "Someone has to be there at some point" in page


@pytest.mark.parametrize(
    ("written", "space"),
    [
        ("45 L", 0.045),
        ("1.5 cu ft", 1.5 * 0.028316846592),  # international foot
        ("2 ft³", 2 * 0.028316846592),
        ("40 quarts", 40 * 0.946352946e-3),  # US liquid quart
        ("1.5", 1.5 * 0.028316846592),
        ("25 lb", 25 * 0.45359237 * 1.7e-3),  # plan-file.md: 1.7 L for a kilogram
        ("", 0.0),
    ],
)
def test_freezer_space_is_read_in_many_ways(client: Client, written: str, space: float) -> None:
    plan = a_plan(a_dryer())
    address = f"/plans/{plan.pk}/about/"
    client.post(address, sent_back(client.get(address), freezer=written))
    assert Plan.objects.get().freezer_m3 == pytest.approx(space)


def test_freezer_space_is_shown_in_the_units_of_the_reader(client: Client) -> None:
    plan = a_plan(a_dryer(), freezer_m3=0.045)
    assert 'value="45 L"' in client.get(f"/plans/{plan.pk}/about/?units=si").content.decode()
    assert 'value="1.59 ft³"' in client.get(f"/plans/{plan.pk}/about/?units=us").content.decode()


def test_dearer_hours_are_kept_as_a_plan_file_writes_them(client: Client) -> None:
    plan = a_plan(a_dryer())
    address = f"/plans/{plan.pk}/about/"
    dear = {"price": "0.15", "price-0-days": "weekdays", "price-0-span": "4pm-9pm", "price-0-other": "0.34"}
    client.post(address, sent_back(client.get(address)) | dear)
    plan.refresh_from_db()
    assert plan.tariff == {"price": 0.15, "hours": [{"days": "weekdays", "span": "16-21", "price": 0.34}]}
    assert 'value="16-21"' in client.get(address).content.decode()


def test_hours_without_a_price_are_told_beside_the_field(client: Client) -> None:
    plan = a_plan(a_dryer())
    address = f"/plans/{plan.pk}/about/"
    page = client.post(
        address, sent_back(client.get(address)) | {"price-0-days": "daily", "price-0-span": "16-21"}
    ).content.decode()
    assert "Enter both the hours and the price" in page


def test_two_tablets_are_told_of_each_other(client: Client) -> None:
    plan = a_plan(a_dryer())
    address = f"/plans/{plan.pk}/about/"
    mine, theirs, third = (client.get(address) for _tablet in range(3))
    client.post(address, sent_back(theirs, title="Corn week"))
    told = client.post(address, sent_back(mine, title="Bean week")).content.decode()
    assert "It now says “Corn week”" in told
    assert 'value="Bean week"' in told
    client.post(address, sent_back(third, days="9"))
    plan.refresh_from_db()
    assert (plan.title, plan.days) == ("Corn week", 9)


def test_a_plan_file_that_begins_later_in_the_day_keeps_its_hour_until_the_day_is_changed(client: Client) -> None:
    plan = a_plan(a_dryer(), extra={"begin_time": "12:00:00", "step": 3600.0})
    address = f"/plans/{plan.pk}/about/"
    client.post(address, sent_back(client.get(address), title="Noon"))
    assert Plan.objects.get().extra == {"begin_time": "12:00:00", "step": 3600.0}
    client.post(address, sent_back(client.get(address), begin="2026-09-08"))
    assert Plan.objects.get().extra == {"step": 3600.0}


def test_a_copy_moves_all_days_by_whole_weeks_on_the_clock_of_the_kitchen(client: Client) -> None:
    kitchen = records.kitchen()
    records.change(kitchen, {"time_zone": "America/New_York"}, expected=kitchen.version)
    bench = a_dryer()
    plan = a_plan(bench, begin=date(2026, 10, 26), days=10, freezer_m3=0.05)
    stopped = plan.dryers.get()
    records.change(stopped, {"stops": [{"from": "2026-10-27T08:00:00", "to": "2026-10-27T12:00:00"}]}, expected=1)
    a_lot(plan, arrives=datetime(2026, 10, 26, 22, tzinfo=UTC), extra={"dryers": [bench.pk]})  # 18:00 in New York
    client.post(f"/plans/{plan.pk}/copy/")
    copy = Plan.objects.exclude(pk=plan.pk).get()
    assert (copy.begin, copy.days, copy.freezer_m3) == (date(2026, 11, 9), 10, 0.05)
    lot = Lot.objects.get(plan=copy)
    # clocks in New York go back on 1 November 2026 (tz database): 18:00 is 23:00 UTC by then
    assert lot.arrives == datetime(2026, 11, 9, 23, tzinfo=UTC)
    assert lot.extra == {"dryers": [bench.pk]}
    assert copy.dryers.get().stops == []


def test_the_usual_title_of_a_copy_follows_its_first_day(client: Client) -> None:
    a_dryer()
    client.post("/plans/new/", sent_back(client.get("/plans/new/"), begin="2026-09-07", title="Week from Sep 7"))
    client.post(f"/plans/{Plan.objects.get().pk}/copy/")
    assert {plan.title for plan in Plan.objects.all()} == {"Week from Sep 7", "Week from Sep 14"}


def test_a_binned_plan_is_away_and_undo_brings_it_back(client: Client) -> None:
    plan = a_plan(a_dryer())
    client.post(f"/plans/{plan.pk}/bin/")
    assert client.get(f"/plans/{plan.pk}/lots/").status_code == 404
    client.post(f"/undo/{records.history(plan).first().pk}/")
    assert client.get(f"/plans/{plan.pk}/lots/").status_code == 200


def test_the_page_asks_few_questions(client: Client) -> None:
    plan = a_plan(a_dryer(), begin=timezone.localdate() + timedelta(days=1))
    client.get(f"/plans/{plan.pk}/about/")
    with queries(at_most=6):
        client.get(f"/plans/{plan.pk}/about/")

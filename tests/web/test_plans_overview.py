"""The list of plans."""

from datetime import timedelta

from django.test import Client
from django.utils import timezone

from drystow.web.kit import records
from tests.web.plan_entry_rows import a_dryer, a_lot, a_plan
from tests.web.queries import queries


def test_an_empty_kitchen_is_told_what_a_plan_is_and_what_to_do(client: Client) -> None:
    page = client.get("/plans/").content.decode()
    assert "More food coming than fits at once?" in page
    assert "Add a dryer first" in page
    a_dryer()
    assert "Start your first plan" in client.get("/plans/").content.decode()


def test_plans_are_told_with_what_comes(client: Client) -> None:
    today = timezone.localdate()
    plan = a_plan(a_dryer(), title="Corn week", begin=today)
    a_lot(plan, mass_kg=3.0)
    a_lot(plan, mass_kg=4.0)
    records.put_in_bin(a_lot(plan, mass_kg=5.0))
    a_plan(title="Spring", begin=today - timedelta(days=100))
    page = client.get("/plans/?units=si").content.decode()
    assert "2 arrivals, 7.00 kg in all" in page
    assert (
        page.index("Under way and coming up") < page.index("Corn week") < page.index("Past</h2>") < page.index("Spring")
    )


def test_a_search_finds_titles_and_notes(client: Client) -> None:
    a_plan(title="Corn week")
    a_plan(title="Beans", notes="from the lane garden")
    page = client.get("/plans/?q=garden").content.decode()
    assert "Beans" in page
    assert "Corn week" not in page
    assert "No plan has “kale”" in client.get("/plans/?q=kale").content.decode()


def test_plans_stand_in_the_navigation_between_batches_and_pantry(client: Client) -> None:
    page = client.get("/plans/").content.decode()
    batches, plans, pantry = (page.index(f'<a href="/{name}/"') for name in ("batches", "plans", "pantry"))
    assert batches < plans < pantry
    assert '<a href="/plans/" aria-current="page">' in page


def test_the_questions_do_not_grow_with_the_plans(client: Client) -> None:
    for number in range(20):
        a_lot(a_plan(title=f"Plan {number}"))
    client.get("/plans/")
    with queries(at_most=4):
        client.get("/plans/")

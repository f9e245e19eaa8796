"""The stock over time: counted by hand, of all food or one, with pictures and a table."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.utils import timezone

from drystow.web.kit import records
from drystow.web.pantry import actions, stock_course
from drystow.web.pantry.models import Movement
from tests.web.pantry_rows import package, place
from tests.web.queries import queries


def noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def test_what_came_and_went_is_counted_as_by_hand() -> None:
    today, cellar = date(2026, 11, 25), place()
    old = package(cellar, packed_on=date(2026, 8, 20), net_mass_kg=0.2)
    package(cellar, packed_on=date(2026, 9, 10), net_mass_kg=0.1)
    binned = package(cellar, packed_on=date(2026, 9, 10), net_mass_kg=5.0)
    records.put_in_bin(binned)
    part = actions.take(old, "used", 0.05, expected=old.version)
    Movement.objects.filter(package=old, kind="used").update(at=noon(date(2026, 9, 15)))
    actions.take(part, "given", 0.15, expected=part.version)
    Movement.objects.filter(package=old, kind="given").update(at=noon(date(2026, 10, 5)))
    points = {point.day: (point.packages, point.mass_kg) for point in stock_course.course(today, "months")}
    assert points == {
        date(2026, 8, 31): (1, pytest.approx(0.2)),
        date(2026, 9, 30): (2, pytest.approx(0.25)),
        date(2026, 10, 31): (1, pytest.approx(0.1)),
        today: (1, pytest.approx(0.1)),
    }


def test_what_counting_found_is_put_right_on_its_day() -> None:
    today, one = date(2026, 11, 25), package(place(), packed_on=date(2026, 9, 10), net_mass_kg=0.1)
    actions.count(one, 0.08, expected=one.version)
    Movement.objects.filter(kind="counted").update(at=noon(date(2026, 10, 10)))
    masses = [point.mass_kg for point in stock_course.course(today, "months")]
    assert masses == pytest.approx([0.1, 0.08, 0.08])


def test_weeks_end_on_sundays_and_today_is_the_last_point() -> None:
    ends = list(stock_course.ends_of(date(2026, 11, 25), "weeks"))  # a Wednesday
    assert ends[:3] == [date(2026, 11, 25), date(2026, 11, 22), date(2026, 11, 15)]
    assert len(ends) == 26


def test_the_page_shows_pictures_and_the_same_numbers_as_a_table(client: Client) -> None:
    package(place(), packed_on=timezone.localdate() - timedelta(days=70))
    with queries(at_most=13):
        html = client.get("/pantry/stock/?span=months").content.decode()
    assert html.count('role="img"') == 4  # two pictures, each for wide screens and for phones
    assert "As numbers" in html
    assert "Dried food in stock: 3.5 oz on" in html  # 100 g are 3.53 ounces
    assert "/pantry/stock/" in client.get("/pantry/").content.decode()


def test_one_food_can_be_chosen(client: Client) -> None:
    cellar = place()
    package(cellar, name="Strawberries", packed_on=timezone.localdate() - timedelta(days=70))
    package(cellar, name="Peas", packed_on=timezone.localdate() - timedelta(days=70), net_mass_kg=0.4)
    assert [point.mass_kg for point in stock_course.course(timezone.localdate(), "weeks", "Peas")][-1] == 0.4
    html = client.get("/pantry/stock/", {"food": "Peas", "span": "weeks"}).content.decode()
    assert "Stock over time: Peas" in html
    assert "<option>Strawberries</option>" in html


def test_an_empty_pantry_says_what_to_do(client: Client) -> None:
    html = client.get("/pantry/stock/?span=nonsense").content.decode()
    assert "Nothing to draw yet" in html
    assert "/pantry/add/" in html


def test_the_course_is_added_up_again_when_something_was_taken_or_packed() -> None:
    today, cellar = timezone.localdate(), place()
    one = package(cellar, packed_on=today, net_mass_kg=0.2)
    assert [point.mass_kg for point in stock_course.course(today)] == pytest.approx([0.2])
    with queries(at_most=1):
        assert [point.mass_kg for point in stock_course.course(today)] == pytest.approx([0.2])
    actions.take(one, "used", 0.05, expected=one.version)
    assert [point.mass_kg for point in stock_course.course(today)] == pytest.approx([0.15])
    package(cellar, packed_on=today, net_mass_kg=0.1)
    assert [point.mass_kg for point in stock_course.course(today)] == pytest.approx([0.25])


@pytest.mark.parametrize("zone", ["America/Los_Angeles", "UTC", "Asia/Kathmandu", "Pacific/Auckland"])
@pytest.mark.parametrize("hour", range(0, 24, 3))
def test_what_is_taken_counts_on_the_day_of_the_kitchen(monkeypatch: pytest.MonkeyPatch, zone: str, hour: int) -> None:
    """At whatever hour: the day of UTC may be the one before or after, here also in another month."""
    now = datetime(2026, 12, 1, hour, 30, tzinfo=UTC)
    monkeypatch.setattr(timezone, "now", lambda: now)
    with timezone.override(ZoneInfo(zone)):
        today = timezone.localdate()
        assert today == now.astimezone(ZoneInfo(zone)).date()
        one = package(place(), packed_on=today - timedelta(days=40), net_mass_kg=0.2)
        part = actions.take(one, "used", 0.05, expected=one.version)
        assert part.opened_on == today
        *before, last = stock_course.course(today)
        assert (last.day, last.packages, last.mass_kg) == (today, 1, pytest.approx(0.15))
        assert [point.mass_kg for point in before] == pytest.approx([0.2] * len(before))


def test_work_outside_a_request_has_the_day_of_a_kitchen_that_set_no_zone() -> None:
    assert str(timezone.get_current_timezone()) == records.kitchen().time_zone

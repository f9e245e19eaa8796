"""Plans that the tests of their page begin with: a bench dryer of Alder Lane Kitchen and what comes in some days."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone

from drystow.foods import table
from drystow.web.batches.adapters import USUAL_PROGRAM
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.answers import KeptAnswer
from drystow.web.plans import making
from drystow.web.plans.made import MadePlan
from drystow.web.plans.models import Booked, Lot, Plan, PlanDryer

ZONE = ZoneInfo("America/New_York")
BERRIES = table.get("Strawberries, raw")
BLUEBERRIES = table.get("Blueberries, raw")
BEANS = table.get("Beans, snap, green, raw")
CHICKEN = table.get("Chicken, breast, boneless, skinless, raw")


def monday() -> date:
    """A Monday that is still to come, far from a change of the clocks."""
    today = timezone.now().astimezone(ZONE).date()
    day = today + timedelta(days=7 - today.weekday())
    return day if day.month not in (3, 10, 11) else date(day.year, 12, 7)


def at(day: int, hour: int, minute: int = 0) -> datetime:
    """A moment by the clock of the kitchen, days after the Monday."""
    start = monday()
    return datetime(start.year, start.month, start.day, hour, minute, tzinfo=ZONE) + timedelta(days=day)


def a_plan(**values: Any) -> Plan:
    """A plan of five days from Monday on, with somebody there from 7 to 22, in one bench dryer."""
    kitchen = records.kitchen()
    if kitchen.time_zone != str(ZONE):
        records.change(kitchen, {"time_zone": str(ZONE), "units": "si", "currency": "$"}, expected=kitchen.version)
    usual = {"title": "Harvest week", "begin": monday(), "days": 5, "freezer_m3": 0.06, "tariff": {"price": 0.2}}
    plan = records.create(Plan(**(usual | values)))
    dryer = Dryer.objects.first() or records.create(Dryer(name="Bench", profile="bench-4"))
    records.create(PlanDryer(plan=plan, dryer=dryer, program=USUAL_PROGRAM))
    return plan


def a_lot(plan: Plan, what: Any = BERRIES, **values: Any) -> Lot:
    """Food that comes on Monday at nine; it takes twenty hours, so that nothing has to be simulated."""
    usual = {"name": what.name.split(",")[0], "food": what.id, "mass_kg": 2.0, "arrives": at(0, 9), "drying_h": 20.0}
    return records.create(Lot(plan=plan, **(usual | values)))


def made(plan: Plan) -> KeptAnswer[MadePlan]:
    """The plan as the real search makes it within two seconds."""
    row = making.PLAN.work_out(plan.pk)
    assert row is not None
    return row


@pytest.fixture(autouse=True)
def short_search(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search gets two seconds."""
    monkeypatch.setattr(making, "SECONDS", 2.0)


@contextmanager
def clock(moment: datetime) -> Iterator[None]:
    """Inside, it is another moment."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(timezone, "now", lambda: moment)
        yield


def booked(plan: Plan) -> list[Booked]:
    """The bookings of a plan, in the order of loading."""
    return list(Booked.objects.kept().filter(plan=plan).select_related("batch").order_by("start", "pk"))

"""Rows that the tests of the entry of plans begin with: a week of Alder Lane Kitchen."""

from datetime import UTC, date, datetime
from typing import Any

from drystow.foods import table
from drystow.web.batches.adapters import USUAL_PROGRAM
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.plans.models import Lot, Plan, PlanDryer

CORN = table.get("Corn, sweet, yellow, raw")
CHICKEN = table.get("Chicken, breast, boneless, skinless, raw")
MONDAY = date(2026, 9, 7)


def a_dryer(name: str = "Bench", profile: str = "bench-4", **values: Any) -> Dryer:
    return records.create(Dryer(name=name, profile=profile, **values))


def a_plan(*dryers: Dryer, **values: Any) -> Plan:
    usual = {"title": "Alder Lane, harvest week", "begin": MONDAY, "days": 7, "apart": ["smells"]}
    plan = records.create(Plan(**(usual | values)))
    for dryer in dryers:
        records.create(PlanDryer(plan=plan, dryer=dryer, program=USUAL_PROGRAM))
    return plan


def a_lot(plan: Plan, food: Any = CORN, **values: Any) -> Lot:
    usual = {
        "food": food.id,
        "name": food.name,
        "mass_kg": 7.0,
        "arrives": datetime(2026, 9, 7, 18, tzinfo=UTC),
        "shape": "sphere",
        "size_m": 0.009,
        "value_per_kg": 4.5,
    }
    return records.create(Lot(plan=plan, **(usual | values)))

"""A plan like another, some weeks later."""

import math
from datetime import date, datetime, timedelta, tzinfo
from typing import Any

from drystow.messages import msg
from drystow.web.kit import records
from drystow.web.plans.local_time import kitchen_time, moment
from drystow.web.plans.models import Lot, Plan, PlanDryer
from drystow.web.plans.planforms import usual_title
from drystow.web.plans.request import dryers_of, lots_of

WEEK = 7
WORDS = msg("copy of a plan")
OWN = ("id", "version", "created_at", "changed_at", "binned_at")


def copy_plan(plan: Plan, zone: tzinfo, who: str) -> Plan:
    """Return a new plan for the weeks after a plan: the same food on the same days of the week, no stops for service.

    plan: the one before
    zone: clock of the house
    who: makes it
    """
    shift = timedelta(days=WEEK * math.ceil(plan.days / WEEK))
    begin = plan.begin + shift
    with records.together():
        fields = _fields(plan) | {"begin": begin, "title": _title(plan, begin)}
        made = records.create(Plan(**fields), who=who, words=WORDS)
        for row in dryers_of(plan):
            records.create(PlanDryer(**_fields(row) | {"plan_id": made.pk, "stops": []}), who=who, words=WORDS)
        for lot in lots_of(plan):
            moved = {name: _later(getattr(lot, name), shift, zone) for name in ("arrives", "ready_by")}
            records.create(Lot(**_fields(lot) | moved | {"plan_id": made.pk}), who=who, words=WORDS)
    return made


def _fields(row: Plan | PlanDryer | Lot) -> dict[str, Any]:
    columns = (field.attname for field in row._meta.concrete_fields)
    return {name: getattr(row, name) for name in columns if name not in OWN}


def _title(plan: Plan, begin: date) -> str:
    """Return the title of the copy: after its own first day where that was the title, else the same."""
    return usual_title(begin) if plan.title == usual_title(plan.begin) else plan.title


def _later(at: datetime | None, shift: timedelta, zone: tzinfo) -> datetime | None:
    return None if at is None else moment(kitchen_time(at, zone) + shift, zone)

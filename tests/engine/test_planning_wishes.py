"""Wishes that cannot be met: the plan names the lot, the rule that is true of it and what would help."""

from datetime import datetime
from typing import Any

import pytest

from drystow.planning.schedule.batch_time import Reckoning
from drystow.planning.schedule.plan import Schedule, schedule
from drystow.planning.schedule.plan_file import parse_lots
from tests.engine.test_planning_lots import lots_of, one_lot

QUICK = Reckoning(members=5)
DAY = datetime(2026, 9, 7)


def wish(**changes: Any) -> dict[str, Any]:
    return one_lot(name="wish", must=True, **changes)


def dryer(**changes: Any) -> dict[str, Any]:
    return {"dryer": [{"name": "One", "profile": "bench-4", "turnaround": "2 h", **changes}]}


def planned(*lots: dict[str, Any], **changes: Any) -> Schedule:
    return schedule(parse_lots(lots_of(*lots, **changes)), seconds=1.5, workers=2, how=QUICK)


STOP = {"from": DAY, "to": datetime(2026, 9, 10)}
TWO_MORE = (one_lot(name="b", must=True), one_lot(name="c", must=True))
BERRIES = one_lot(name="berries", must=True, mass="1.8 kg", fridge="20 h", freezer="0 h")
HEN = {"food": "Chicken, breast, boneless, skinless, raw", "mass": "1.8 kg", "value": 3.0, "freezer": "0 h"}
NO_TIME = {key: value for key, value in wish().items() if key != "drying_time"}

CASES: dict[str, tuple[tuple[dict[str, Any], ...], dict[str, Any], str, tuple[str, ...]]] = {
    "more than the days hold": (
        (wish(value=1.0), *TWO_MORE), {}, "places",
        ("are full", "how long food keeps in the refrigerator", "the freezer space"),
    ),
    "a freezer that is too small": (
        (wish(value=1.0), *TWO_MORE), {"freezer": {"space": "0.5 kg"}}, "places", ("the freezer space",),
    ),
    "nobody home while it keeps": (
        (wish(),), {"home": {"daily": [], "thursday": ["8-20"]}}, "home",
        ("no one is home", "the hours when someone is home"),
    ),
    "a service stop": (
        (wish(),), dryer(service=[STOP]), "service", ("service stops and batches already fixed",),
    ),
    "too soon": (
        (wish(needed_by=datetime(2026, 9, 7, 20)),), {}, "ready_by",
        ("the earliest is Tue 8 Sep, 06:00", "the time it is needed by"),
    ),
    "foods that go apart": (
        (BERRIES, wish(**HEN)), {}, "separation",
        ("can't share the chamber with berries", "which foods are dried apart"),
    ),
    "a trap for one tray": (
        (wish(),), dryer(numbers={"trap_capacity": "1 kg"}), "trap",
        ("the cold trap is full", "what the cold trap holds"),
    ),
    "a trap that one tray fills": (
        (wish(),), dryer(numbers={"trap_capacity": "0.5 kg"}), "tray_water", ("put less on a tray",),
    ),
    "never dry": ((NO_TIME,), dryer(program={"shelf": ["-10 degC for 2 h"]}), "never_dry", ("use a warmer one",)),
    "too short a plan": ((wish(drying_time="6 day"),), {}, "plan", ("plan more days",)),
    "more than all trays and days": (
        (wish(mass="40 kg"),), {"freezer": {"space": "100 kg"}}, "places", ("takes more than one change",),
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_the_rule_is_named_with_the_lot_and_what_would_help(case: str) -> None:
    lots, changes, rule, words = CASES[case]
    made = planned(*lots, one_lot(name="other", mass="0.4 kg", value=0.5), **changes)
    assert not made.wishes_met
    left = next(one for one in made.left_out if one.name == "wish")
    assert left.rule == rule, left.reason
    assert left.wished
    assert left.reason.startswith("wish: ")
    for part in words:
        assert part in left.reason
    assert any("This plan comes closest" in note for note in made.notes)


def test_what_keeps_a_wish_from_being_met_is_told_only_when_it_does() -> None:
    made = planned(wish(), one_lot(name="b"), freezer={"space": "60 L"})
    assert made.wishes_met
    assert made.left_out == ()
    assert not any("This plan comes closest" in note for note in made.notes)


def test_food_that_arrives_frozen_and_is_loaded_at_once_needs_no_freezer() -> None:
    made = planned(wish(frozen=True))
    assert made.wishes_met
    assert not any("is frozen the day it arrives" in note for note in made.notes)

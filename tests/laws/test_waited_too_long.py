"""No plan loads food past its time: days are counted here anew, with no part of the planner but its file reader."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drystow.planning.schedule.batch_time import Reckoning
from drystow.planning.schedule.plan import PlannedBatch, PlannedLot, Schedule, schedule
from drystow.planning.schedule.plan_file import parse_lots
from drystow.planning.schedule.replan import from_now

BEGIN = datetime(2026, 9, 7)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
STEP = 2  # hours of the grid
LITRES = 1.7  # of freezer for a kilogram, as the lots are written
GRAM = 0.003 * LITRES  # what rounding to grams may come to in a lot of a few trays [L]

# FoodSafety.gov, cold food storage chart (read): raw poultry 1 to 2 days in the refrigerator, pieces 9 months in the
# freezer; raw lean fish 1 to 3 days and from 2 months on; USDA for produce. The short ends.
FOODS = {
    "Chicken, breast, boneless, skinless, raw": (1.0, 270.0, "do_not_use"),
    "Strawberries, raw": (2.0, 240.0, "look_and_decide"),
    "Blueberries, raw": (7.0, 240.0, "look_and_decide"),
    "Beans, snap, green, raw": (3.0, 240.0, "look_and_decide"),
}


@dataclass(frozen=True)
class Kitchen:
    """What is written, and the moment of planning again."""

    table: dict[str, Any]
    now: datetime | None


@st.composite
def kitchens(draw: st.DrawFn) -> Kitchen:
    lots = []
    for number in range(draw(st.integers(1, 4))):
        food = draw(st.sampled_from(sorted(FOODS)))
        lot: dict[str, Any] = {
            "name": f"lot {number}",
            "food": food,
            "mass": f"{draw(st.sampled_from((0.5, 1.0, 1.8, 3.6)))} kg",
            "size": "9 mm",
            "tray_mass": "0.9 kg",
            "drying_time": "20 h",
            "volume": LITRES,
            "arrives": BEGIN + draw(st.integers(-90, 50)) * STEP * HOUR,
            "frozen": draw(st.sampled_from((False, False, True))),
        }
        if draw(st.booleans()):
            lot["freezer"] = f"{draw(st.sampled_from((0, 2, 5, 30)))} day"
        if food.startswith("Blue") and draw(st.booleans()):
            lot["fridge"] = f"{draw(st.sampled_from((1, 4)))} day"
        lots.append(lot)
    fixed, start = [], draw(st.integers(-30, 20))
    for _number in range(draw(st.integers(0, 3))):
        inside = draw(st.lists(st.sampled_from([lot["name"] for lot in lots]), min_size=1, max_size=2, unique=True))
        begun = draw(st.booleans())
        fixed.append(
            {
                "dryer": "One",
                "start": BEGIN + start * STEP * HOUR,
                "end": BEGIN + (start + 10) * STEP * HOUR,
                "trays": dict.fromkeys(inside, 1),
                "begun": begun,
            }
        )
        start += 10 + draw(st.integers(2, 12))
    table = {
        "begin": BEGIN,
        "days": 6,
        "step": f"{STEP} h",
        "home": {"daily": ["6-22"]},
        "freezer": {"space": f"{draw(st.sampled_from((0, 1, 2, 4, 60)))} L"},
        "rules": {"apart": []},
        "dryer": [{"name": "One", "profile": "bench-4", "turnaround": "2 h"}],
        "arrival": lots,
        "fixed": fixed,
    }
    now = BEGIN + draw(st.integers(0, 40)) * STEP * HOUR if draw(st.booleans()) else None
    return Kitchen(table, now)


def planned(kitchen: Kitchen) -> Schedule:
    lots = parse_lots(kitchen.table)
    lots = lots if kitchen.now is None else from_now(lots, kitchen.now)
    return schedule(lots, seconds=0.3, workers=1, how=Reckoning(members=5))


class Days:
    """Counts days and litres by hand."""

    def __init__(self, kitchen: Kitchen) -> None:
        self.lots = {lot["name"]: lot for lot in kitchen.table["arrival"]}
        self.litres = float(kitchen.table["freezer"]["space"].split()[0])

    def may_wait(self, name: str, key: str) -> float:
        lot = self.lots[name]
        usual = FOODS[lot["food"]][0 if key == "fridge" else 1]
        return float(lot[key].split()[0]) if key in lot else usual

    def waited(self, name: str, batch: PlannedBatch) -> float:
        return (batch.start - self.lots[name]["arrives"]) / DAY

    def full(self, rows: list[tuple[PlannedBatch, PlannedLot]]) -> list[str]:
        """Return when the freezer is too full, of food that is loaded from there after the plan began."""
        found = []
        come = {max(self.lots[lot.name]["arrives"], BEGIN) for _batch, lot in rows}
        for moment in come:
            there = [
                LITRES * lot.mass
                for batch, lot in rows
                if self.lots[lot.name]["arrives"] <= moment < batch.start
                or (self.lots[lot.name]["arrives"] < BEGIN == moment <= batch.start)
            ]
            if sum(there) > self.litres + GRAM * len(there):
                found.append(f"{sum(there):.2f} of {self.litres} L on {moment}")
        return found


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(kitchens())
def test_no_batch_that_is_planned_holds_food_past_its_time(kitchen: Kitchen) -> None:
    made, days = planned(kitchen), Days(kitchen)
    frozen = []
    for batch in made.batches:
        assert batch.fixed or batch.start >= max(BEGIN, kitchen.now or BEGIN)
        for lot in batch.lots:
            waited, name = days.waited(lot.name, batch), lot.name
            assert batch.fixed or waited >= 0.0
            past = waited > days.may_wait(name, "fridge") + 1e-9
            verdict = FOODS[days.lots[name]["food"]][2]
            if lot.verdict:
                assert batch.fixed
                assert past
                assert lot.verdict == verdict
                assert not (batch.begun and verdict == "look_and_decide"), "a person has looked at it"
                assert any(one.name == name and one.verdict == verdict for one in made.left_out)
                continue
            if batch.begun and verdict == "look_and_decide":
                continue
            if past or (days.lots[name]["frozen"] and not batch.fixed):
                assert waited <= days.may_wait(name, "freezer") + 1e-9, "past both its times"
                assert days.may_wait(name, "freezer") > 0.0
                assert lot.frozen
                if batch.start >= BEGIN:
                    frozen.append((batch, lot))
                else:
                    assert LITRES * lot.mass <= days.litres + GRAM
    assert days.full(frozen) == []
    saved = sum(lot.mass for batch in made.batches for lot in batch.lots if not lot.verdict)
    left, total = (
        sum(one.mass for one in made.left_out),
        sum(float(lot["mass"].split()[0]) for lot in kitchen.table["arrival"]),
    )
    if not kitchen.table["fixed"]:
        assert saved + left == pytest.approx(total, abs=0.002)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(kitchens(), st.booleans())
def test_food_that_nothing_kept_from_spoiling_is_left_out_with_its_verdict(kitchen: Kitchen, stopped: bool) -> None:
    """Without a freezer, food past its days in the refrigerator when the plan begins is out, and says what to do."""
    stop = [{"from": BEGIN, "to": BEGIN + 30 * DAY}] if stopped else []
    dryer = kitchen.table["dryer"][0] | {"service": stop}
    table = kitchen.table | {"freezer": {"space": "0 L"}, "fixed": [], "dryer": [dryer]}
    made, days = planned(replace(kitchen, table=table)), Days(kitchen)
    first = max(BEGIN, kitchen.now or BEGIN)
    for name, lot in days.lots.items():
        if (first - lot["arrives"]) / DAY <= days.may_wait(name, "fridge"):
            continue
        assert all(inside.name != name for batch in made.batches for inside in batch.lots)
        (left,) = (one for one in made.left_out if one.name == name)
        assert (left.rule, left.verdict) == ("too_old", FOODS[lot["food"]][2])
        words = "do not use it" if left.verdict == "do_not_use" else "look at it and decide"
        assert f"{name}: {words}. It waited too long" in left.reason
        assert "could be dried" not in left.reason

"""A plan file becomes a plan of the kitchen and a plan a plan file; "the same" is the engine's reading of both."""

import tomllib
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from drystow.errors import InputError, InputErrors
from drystow.planning.schedule.arrivals import Lots
from drystow.planning.schedule.cold_storage import storage_window
from drystow.planning.schedule.plan_file import parse_lots
from drystow.web.dryers.models import Dryer
from drystow.web.foods.models import OwnFood
from drystow.web.foods.spec import foods_of
from drystow.web.kit import records
from drystow.web.plans.lots_file import plan_from_text, plan_text
from drystow.web.plans.models import Lot, Plan, PlanDryer

EXAMPLES = Path(__file__).parents[2] / "examples" / "planning"
WEEK = (EXAMPLES / "harvest-week.toml").read_text(encoding="utf-8")
UNDER_WAY = (EXAMPLES / "under-way.toml").read_text(encoding="utf-8")

EVERYTHING = """
title = "Every field"
begin = 2026-09-08T12:00:00
days = 5
step = "1 h"
[home]
daily = ["7-9", "16-22"]
sunday = []
[tariff]
price = 0.2
[freezer]
space = "25 lb"
[rules]
apart = ["allergens"]
[[dryer]]
name = "Small"
profile = "bench-4"
turnaround = "90 min"
program = { shelf = ["-10 degC for 2 h", "41.5 degC until dry"], freeze = "household freezer", freeze_to = "-12 degC" }
[dryer.numbers]
room = "18 degC"
[[dryer.service]]
from = 2026-09-09
to = 2026-09-09T12:00:00
[[dryer]]
name = "Big"
[[arrival]]
name = "Mash"
food = "Pumpkin mash of the house"
composition = { water = "88%", protein = 0.01, fat = 0.002, sugars = 0.05 }
like = "vegetable"
mass = "3 kg"
size = "9 mm"
faces = 2
final_moisture = "2.5%"
start_temperature = "8 degC"
arrives = 2026-09-08T18:00:00
needed_by = 2026-09-11T20:00:00
drying_time = "30 h"
fridge = "36 h"
freezer = "20 day"
dryers = ["Big"]
[[arrival]]
food = "Blueberries, raw"
like = "fruit"
mass = "8 lb"
shape = "sphere"
size = "11 mm"
skin_state = "pricked"
tray_mass = "2.2 lb"
arrives = 2026-09-09
value = 8.5
frozen = true
must = true
"""


def read(text: str) -> Lots:
    return parse_lots(tomllib.loads(text))


def differences(one: Any, other: Any, where: str = "") -> list[str]:
    """Every number to a millionth; words and dates to the letter."""
    if isinstance(one, bool | str | None):
        return [] if one == other else [f"{where}: {one!r} {other!r}"]
    if isinstance(one, int | float):
        return [] if one == pytest.approx(other, rel=1e-6, abs=1e-9) else [f"{where}: {one!r} {other!r}"]
    if isinstance(one, tuple):
        if len(one) != len(other):
            return [f"{where}: {len(one)} {len(other)}"]
        return [
            told for n, pair in enumerate(zip(one, other, strict=True)) for told in differences(*pair, f"{where}[{n}]")
        ]
    if hasattr(one, "__dataclass_fields__"):
        names = [field.name for field in fields(one)]
        return [
            told for name in names for told in differences(getattr(one, name), getattr(other, name), f"{where}.{name}")
        ]
    return [] if one == other else [f"{where}: {one!r} {other!r}"]


def assert_same(again: Lots, written: Lots) -> None:
    assert differences(again, written) == []


def test_the_harvest_week_comes_back_the_same() -> None:
    plan = plan_from_text(WEEK)[0]
    assert [row.dryer.name for row in PlanDryer.objects.filter(plan=plan).select_related("dryer")] == [
        "Bench",
        "Kitchen",
    ]
    assert_same(read(plan_text(plan)), read(WEEK))


def test_a_file_that_came_back_once_stays_as_it_is() -> None:
    text = plan_text(plan_from_text(WEEK)[0])
    assert plan_text(plan_from_text(text)[0]) == text


def test_what_no_form_asks_for_is_kept() -> None:
    plan = plan_from_text(EVERYTHING)[0]
    written, again = read(EVERYTHING), read(plan_text(plan))
    told = differences(again, written)
    # the freezer's mass becomes the space that it takes by plan-file.md, 1.7 L for a kilogram
    assert [line.split(":")[0] for line in told] == [".freezer", ".freezer_by_mass"]
    assert again.freezer == pytest.approx(25 * 0.45359237 * 1.7e-3)
    assert Lot.objects.get(name="Mash").extra["final_moisture"] == 0.025
    assert OwnFood.objects.get().name == "Pumpkin mash of the house"


def test_dryers_of_the_kitchen_are_used_and_not_made_twice() -> None:
    bench = records.create(Dryer(name="The old one", profile="bench-4"))
    plan_from_text(WEEK)
    plan_from_text(WEEK)
    assert Dryer.objects.count() == 2
    assert PlanDryer.objects.filter(dryer=bench).count() == 2


def test_two_dryers_of_one_kind_stay_two() -> None:
    two = EVERYTHING.replace('profile = "bench-4"', 'profile = "kitchen-5"').replace(
        '[dryer.numbers]\nroom = "18 degC"', ""
    )
    plan_from_text(two)
    assert {row.dryer.name for row in PlanDryer.objects.all()} == {"Small", "Big"}


def test_running_batches_of_a_file_are_refused_in_words() -> None:
    with pytest.raises(InputError, match="takes its running batches from your kitchen"):
        plan_from_text(UNDER_WAY)
    assert not Plan.objects.exists()


def test_a_wrong_file_makes_nothing() -> None:
    with pytest.raises(InputErrors):
        plan_from_text(WEEK.replace('mass = "9 lb"', 'mass = "9 feet"'))
    assert not Dryer.objects.exists()


def test_raw_food_of_ones_own_comes_back_raw_where_it_is_unknown() -> None:
    plan = plan_from_text(WEEK)[0]
    parts = {"water": 0.7, "protein": 0.2, "fat": 0.08, "ash": 0.02}
    own = records.create(OwnFood(name="Minced venison", composition=parts, food_class="meat", raw_animal=True))
    lot = Lot.objects.filter(plan=plan).first()
    assert lot is not None
    records.change(lot, {"food": f"own:{own.pk}"}, expected=lot.version)
    text = plan_text(plan)
    Lot.objects.all().delete()
    own.delete()
    came = Lot.objects.filter(plan=plan_from_text(text)[0]).first()
    assert came is not None
    food = foods_of([came.food])[came.food]
    assert (food.name, food.raw_animal, food.allergens) == ("Minced venison", True, ("not stated",))
    # cold-storage-chart: minced meat waits one day in the refrigerator
    assert storage_window(food).fridge == 24 * 3600.0

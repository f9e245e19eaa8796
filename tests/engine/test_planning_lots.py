"""Lots as the app gives them: tables, foods of one's own, batches that are kept with what was weighed."""

import tomllib
from datetime import date, datetime
from typing import Any

import pytest

from drystow.errors import InputErrors
from drystow.foods.model import Composition
from drystow.machine.loadfile import parse_load
from drystow.planning.schedule.arrivals import Lots
from drystow.planning.schedule.batch_time import Reckoning
from drystow.planning.schedule.cold_storage import DAY
from drystow.planning.schedule.grid import fixed_mass, to_grid
from drystow.planning.schedule.plan import schedule
from drystow.planning.schedule.plan_file import parse_lots

QUICK = Reckoning(members=5)
SOUP = Composition(water=0.86, protein=0.05, fat=0.03, carbohydrate=0.05, ash=0.01)
SOUP_TABLE = {"water": 0.86, "protein": 0.05, "fat": 0.03, "carbohydrate": 0.05, "ash": 0.01}


def one_lot(**changes: Any) -> dict[str, Any]:
    return {
        "name": "Monday", "food": "Strawberries, raw", "mass": "3.6 kg", "size": "9 mm", "tray_mass": "0.9 kg",
        "arrives": datetime(2026, 9, 7, 6), "value": 5.0, "drying_time": "20 h", **changes,
    }  # fmt: skip


def own_lot(**changes: Any) -> dict[str, Any]:
    table = one_lot(**{"composition": SOUP_TABLE, "like": "dish"} | changes)
    del table["food"]
    return table


def lots_of(*lots: dict[str, Any], **changes: Any) -> dict[str, Any]:
    return {
        "begin": datetime(2026, 9, 7), "days": 4, "step": "2 h", "home": {"daily": ["6-22"]},
        "dryer": [{"name": "One", "profile": "bench-4", "turnaround": "2 h"}],
        "arrival": list(lots), **changes,
    }  # fmt: skip


def test_a_table_gives_the_same_lots_as_the_text_of_a_file() -> None:
    text = """
begin = 2026-09-07
days = 4
[[dryer]]
name = "One"
profile = "bench-4"
[[arrival]]
food = "Strawberries, raw"
mass = "3.6 kg"
size = "9 mm"
arrives = 2026-09-07T06:00:00
"""
    lot = {"food": "Strawberries, raw", "mass": "3.6 kg", "size": "9 mm", "arrives": datetime(2026, 9, 7, 6)}
    raw = {
        "begin": datetime(2026, 9, 7), "days": 4, "dryer": [{"name": "One", "profile": "bench-4"}], "arrival": [lot],
    }  # fmt: skip
    assert parse_lots(tomllib.loads(text)) == parse_lots(raw)


def test_a_food_of_ones_own_is_called_like_its_lot_and_is_what_its_marks_say() -> None:
    raw = parse_lots(lots_of(own_lot(name="Tiras de pollo", like="meat", raw_animal=True))).lots[0]
    assert raw.item.food.name == "Tiras de pollo"
    assert raw.item.food.raw_animal is True
    assert raw.window.fridge == 3 * DAY  # FoodSafety.gov, cold food storage chart (read): raw whole cuts 3 to 5 days
    soup = parse_lots(lots_of(own_lot(name="Squash soup", raw_animal=False))).lots[0]
    assert soup.item.food.raw_animal is False
    assert soup.window.fridge == 3 * DAY  # soups and stews 3 to 4 days


@pytest.mark.parametrize("like", ["dish", "dairy", "egg", "fish", "meat"])
def test_food_that_may_be_raw_waits_as_long_as_the_stricter_guidance_allows(like: str) -> None:
    windows = [
        parse_lots(lots_of(own_lot(name="Pollo", like=like, **marks))).lots[0].window
        for marks in ({"raw_animal": True}, {"raw_animal": False}, {})
    ]
    raw, ready, open_question = windows
    assert open_question.fridge == min(raw.fridge, ready.fridge)
    assert open_question.freezer == min(raw.freezer, ready.freezer)


def test_marks_bring_cautions_and_what_a_lot_goes_apart_from() -> None:
    def apart(**marks: Any) -> frozenset[int]:
        lots = parse_lots(lots_of(own_lot(name="Sunday pot", **marks), one_lot(name="Berries")))
        cut = lots.lots[0].cuts[0]
        assert cut is not None
        raw = marks.get("raw_animal") is not False
        assert any("COOK BEFORE EATING" in note for note in cut.fresh.notes) == raw
        assert any("COOK BEFORE EATING" in note for note in cut.frozen.notes) == raw
        return to_grid(lots, QUICK).jobs[0].apart

    assert apart(raw_animal=True) == {1}
    assert apart() == {1}
    assert apart(raw_animal=False) == frozenset()


@pytest.mark.parametrize("marks", [{"raw_animal": True}, {}])
def test_food_that_is_or_may_be_raw_may_not_wait_longer_either(marks: dict[str, bool]) -> None:
    with pytest.raises(InputErrors, match=r"raw may wait|raw animal food may wait") as caught:
        parse_lots(lots_of(own_lot(name="pot", like="meat", fridge="4 day", **marks)))
    assert caught.value.problems[0].field == "arrival[1].fridge"


FIXED = {"dryer": "One", "start": datetime(2026, 9, 7, 6), "end": datetime(2026, 9, 8, 6), "trays": {"Monday": 2}}


def test_what_was_weighed_is_taken_off_the_lot() -> None:
    even = parse_lots(lots_of(one_lot(), fixed=[FIXED]))
    weighed = parse_lots(lots_of(one_lot(), fixed=[FIXED | {"mass": {"Monday": "2.4 kg"}}]))
    assert fixed_mass(even, even.fixed[0], "Monday") == pytest.approx(1.8)
    assert fixed_mass(weighed, weighed.fixed[0], "Monday") == pytest.approx(2.4)
    assert [to_grid(lots, QUICK).jobs[0].mass for lots in (even, weighed)] == [1800, 1200]
    made = schedule(weighed, seconds=2, workers=1, how=QUICK)
    assert sum(lot.mass for batch in made.batches for lot in batch.lots) == pytest.approx(3.6)
    assert made.saved_value == pytest.approx(made.total_value) == pytest.approx(18.0)


def test_more_than_the_lot_was_thought_to_hold_saves_no_more_than_the_lot() -> None:
    lots = parse_lots(lots_of(one_lot(), fixed=[FIXED | {"mass": {"Monday": "5 kg"}}]))
    made = schedule(lots, seconds=1, workers=1, how=QUICK)
    assert made.saved_value == pytest.approx(made.total_value)
    assert [batch.fixed for batch in made.batches] == [True]
    assert made.batches[0].lots[0].mass == pytest.approx(5.0)
    assert made.left_out == ()


def frozen_space(mass: str | None) -> int:
    late = {"dryer": "One", "start": datetime(2026, 9, 9, 18), "end": datetime(2026, 9, 10, 12)}
    fixed = late | {"trays": {"Monday": 2}, "begun": False} | ({"mass": {"Monday": mass}} if mass else {})
    raw = lots_of(one_lot(fridge="1 day"), fixed=[fixed], freezer={"space": "3 kg"})
    return to_grid(parse_lots(raw), QUICK).freezer[20]


def test_the_freezer_holds_what_was_weighed_until_it_is_loaded() -> None:
    assert frozen_space(None) == 3000 - 1800
    assert frozen_space("2.5 kg") == 500


def under_way(start: datetime, end: datetime) -> Lots:
    return parse_lots(lots_of(one_lot(), fixed=[FIXED | {"start": start, "end": end}]))


@pytest.mark.parametrize(
    ("start", "end"),
    [
        (datetime(2026, 9, 1, 6), datetime(2026, 9, 2, 6)),  # finished before the plan
        (datetime(2026, 9, 6, 6), datetime(2026, 9, 7, 20)),  # running when it begins
        (datetime(2026, 9, 10, 18), datetime(2026, 9, 13, 8)),  # ends after its last day
    ],
)
def test_a_kept_batch_may_reach_outside_the_plan(start: datetime, end: datetime) -> None:
    made = schedule(under_way(start, end), seconds=1, workers=1, how=QUICK)
    kept = next(batch for batch in made.batches if batch.fixed)
    assert (kept.start, kept.end) == (start, end)
    assert made.saved_value == pytest.approx(made.total_value)
    for batch in made.batches:
        assert batch is kept or batch.start >= kept.free or batch.free <= kept.start


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"mass": {"Tuesday": "1 kg"}}, "fixed[1].mass.Tuesday", "Tuesday"),
        ({"mass": {"Monday": "1 h"}}, "fixed[1].mass.Monday", "1 h"),
        ({"mass": {"Monday": "0 kg"}}, "fixed[1].mass.Monday", "1 g to 2000 kg"),
        ({"mass": 3}, "fixed[1].mass", "names of arrivals with weights"),
        ({"trays": {"Monday": 1.5}}, "fixed[1].trays", "whole trays"),
        ({"trays": {"Tuesday": 1}}, "fixed[1].trays", '{ "Monday" = 2 }'),
        ({"trays": 3}, "fixed[1].trays", "whole trays"),
        ({"begun": "no"}, "fixed[1].begun", "neither true nor false"),
    ],
)
def test_what_is_wrong_with_a_kept_batch_is_named(change: dict[str, Any], field: str, words: str) -> None:
    with pytest.raises(InputErrors) as caught:
        parse_lots(lots_of(one_lot(), fixed=[FIXED | change]))
    assert any(one.field == field and words in one.message for one in caught.value.problems), str(caught.value)


@pytest.mark.parametrize(
    ("change", "fields"),
    [
        ({"title": 5}, {"title"}),
        ({"begin": None, "colour": 3, "days": 90}, {"begin", "colour", "days"}),
        ({"freezer": {"space": "9000 kg"}}, {"freezer.space"}),
        ({"freezer": {"space": "-5 kg"}}, {"freezer.space"}),
        ({"dryer": [{"profile": "bench-4", "numbers": {"trays": -1}}]}, {"dryer[1].numbers.trays"}),
        ({"dryer": [{"profile": "bench-4", "numbers": 4}]}, {"dryer[1].numbers"}),
        ({"arrival": [{"food": "Strawberries, raw", "size": "9 mm"}]}, {"arrival[1].mass", "arrival[1].arrives"}),
        ({"arrival": [3]}, {"arrival[1]"}),
        ({"fixed": [3]}, {"fixed[1]"}),
    ],
)
def test_every_problem_of_a_file_is_told_under_the_name_that_was_written(
    change: dict[str, Any], fields: set[str]
) -> None:
    raw = {key: value for key, value in lots_of(one_lot(), **change).items() if value is not None}
    with pytest.raises(InputErrors) as caught:
        parse_lots(raw)
    assert {problem.field for problem in caught.value.problems} == fields


def test_a_date_that_cannot_be_is_told_as_it_was_written() -> None:
    with pytest.raises(InputErrors, match=r"^begin: 1000-01-01 is not a date"):
        parse_lots(lots_of(one_lot(), begin=date(1000, 1, 1)))


def test_a_lot_that_was_all_dried_before_takes_no_simulation() -> None:
    lots = parse_lots(lots_of(one_lot(), fixed=[FIXED | {"mass": {"Monday": "3.6 kg"}}]))
    job = to_grid(lots, QUICK).jobs[0]
    assert (job.mass, job.trays, job.fresh) == (0, (0,), (0,))


def test_the_mass_of_a_full_tray_is_that_of_a_load() -> None:
    lot = parse_lots(lots_of(one_lot())).lots[0]
    tray = {"food": "Strawberries, raw", "mass": "0.9 kg", "size": "9 mm"}
    area = lot.item.areas.above
    load = parse_load({"dryer": {"profile": "bench-4"}, "program": {"shelf": ["-10 degC for 2 h", "40 degC until dry"]},
                       "tray": [tray | {"area": f"{area:.6g} m^2"}]})  # fmt: skip
    assert lot.item.mass == pytest.approx(load.items[0].mass)
    assert lot.item.areas.outer == pytest.approx(load.items[0].areas.outer, rel=1e-4)


def test_prices_and_worth_may_be_written_as_money() -> None:
    raw = lots_of(one_lot(value="$5.00"), tariff={"price": "14 cents"})
    lots = parse_lots(raw)
    assert lots.lots[0].value == 5.0
    assert lots.price[0][0] == pytest.approx(0.14)
    assert raw["tariff"]["price"] == pytest.approx(0.14)  # what the pages keep is a number

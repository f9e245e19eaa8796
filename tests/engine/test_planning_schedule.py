"""Plan files, their schedules, what is left out, planning again, calendar and shopping list."""

import tomllib
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import vobject

from drystow.errors import DrystowError, InputErrors
from drystow.foods.table import get
from drystow.packing.shopping import packs_of, shopping_list
from drystow.planning import hours
from drystow.planning.schedule import plan_file as fixedfile
from drystow.planning.schedule import plan_file as lotsfile
from drystow.planning.schedule import value_search
from drystow.planning.schedule.arrivals import Lots
from drystow.planning.schedule.batch_time import Reckoning, drying_time
from drystow.planning.schedule.calendar import calendar_bytes
from drystow.planning.schedule.cold_storage import DAY, storage_window
from drystow.planning.schedule.grid import grid_step, to_grid
from drystow.planning.schedule.plan import Schedule, schedule
from drystow.planning.schedule.plan_file import parse_lots, read_lots
from drystow.planning.schedule.replan import with_fixed
from drystow.planning.separation import clash

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples" / "planning").glob("*.toml"))
PLAN_EXAMPLES = [path for path in EXAMPLES if "[[arrival]]" in path.read_text(encoding="utf-8")]
QUICK = Reckoning(members=5)
HEAD = """
title = "Alder Lane Kitchen"
begin = 2026-09-07
days = 4
step = "2 h"
[home]
daily = ["6-22"]
[[dryer]]
name = "One"
profile = "bench-4"
turnaround = "2 h"
"""


def lot(name: str, food: str = "Strawberries, raw", **changes: str) -> str:
    fields = {
        "name": f'"{name}"', "food": f'"{food}"', "mass": '"3.6 kg"', "size": '"9 mm"', "tray_mass": '"0.9 kg"',
        "arrives": "2026-09-07T06:00:00", "value": "5", "drying_time": '"20 h"',
    } | changes  # fmt: skip
    return "\n[[arrival]]\n" + "\n".join(f"{key} = {value}" for key, value in fields.items())


def parse(text: str) -> Lots:
    return parse_lots(tomllib.loads(text))


def planned(text: str) -> tuple[Lots, Schedule]:
    lots = parse(text)
    return lots, schedule(lots, seconds=4, workers=1, how=QUICK)


def broken(lots: Lots, made: Schedule) -> list[str]:
    """Return what a plan breaks, in moments and kilograms, from the plan file alone."""
    found = []
    for batch in made.batches:
        if batch.fixed:
            continue
        for moment in (batch.start, batch.end):
            hour = moment.hour + moment.minute / 60
            if not any(begin <= hour < end for begin, end in lots.home[moment.weekday()]):
                found.append(f"{batch.dryer} {moment}: no one is home")
        dryer = next(one for one in lots.dryers if one.name == batch.dryer)
        for begin, end in dryer.service:
            if batch.start < end and begin < batch.free:
                found.append(f"{batch.dryer} {batch.start}: service")
        if sum(one.trays for one in batch.lots) > dryer.rig.dryer.trays:
            found.append(f"{batch.dryer} {batch.start}: too many trays")
        foods = []
        for one in batch.lots:
            whole = next(known for known in lots.lots if known.name == one.name)
            foods.append(get(one.food))
            waits = whole.window.freezer if one.frozen else whole.window.fridge
            if not whole.arrival <= batch.start <= whole.arrival + timedelta(seconds=waits):
                found.append(f"{one.name}: not there or spoiled at {batch.start}")
        if any(clash(one, other, lots.rules) for one in foods for other in foods):
            found.append(f"{batch.dryer} {batch.start}: foods that go apart")
        others = [one for one in made.batches if one is not batch and one.dryer == batch.dryer]
        if any(batch.start < one.free and one.start < batch.free for one in others):
            found.append(f"{batch.dryer} {batch.start}: two batches at once")
    for known in lots.lots:
        dried = sum(one.mass for batch in made.batches for one in batch.lots if one.name == known.name)
        left = sum(one.mass for one in made.left_out if one.name == known.name)
        if known.mass > dried + left + 0.01 or left > known.mass + 1e-3:
            found.append(f"{known.name}: {dried} kg dried and {left} kg left out are not {known.mass} kg")
    return found


@pytest.mark.parametrize("path", PLAN_EXAMPLES, ids=lambda path: path.stem)
def test_an_example_is_planned_without_breaking_a_rule(path: Path) -> None:
    lots = read_lots(path)
    made = schedule(lots, seconds=1, workers=1, how=QUICK)
    assert broken(lots, made) == []
    assert made.batches
    assert max(made.compared.values()) <= made.saved_value + 1e-9 <= made.bound + 2e-9 <= made.total_value + 0.05
    assert all(one.reason for one in made.left_out)
    assert made.cautions


def test_there_are_two_examples() -> None:
    assert len(PLAN_EXAMPLES) >= 2


def test_the_guide_names_every_field() -> None:
    text = (ROOT / "docs" / "plan-file.md").read_text(encoding="utf-8")
    names = [*lotsfile.FILE, *lotsfile.FREEZER, *lotsfile.RULE, *lotsfile.DRYER, *lotsfile.SERVICE, *lotsfile.LOT,
             *fixedfile.FIXED, *hours.TARIFF_KEYS, *hours.HOURS_KEYS, "daily", "weekdays", "weekend"]  # fmt: skip
    assert [name for name in names if f"`{name}`" not in text and f"{name}]" not in text] == []


@pytest.mark.parametrize(
    ("name", "fridge", "freezer"),
    [
        # FoodSafety.gov, cold food storage chart, as reprinted (read): the short end of each range
        ("Chicken, breast, boneless, skinless, raw", 1, 270),  # pieces 1 to 2 days, 9 months
        ("Beef, ground, raw", 1, 90),  # 1 to 2 days, 3 to 4 months
        ("Stew, beef", 3, 60),  # soups and stews 3 to 4 days, 2 to 3 months
        ("Chicken breast, stewed, skin not eaten", 3, 60),  # cooked meat or poultry 3 to 4 days, 2 to 6 months
        ("Egg, whole, raw", 2, 365),  # out of the shell 2 to 4 days, 1 year (older reprint)
        # USDA FoodKeeper as reprinted (read)
        ("Strawberries, raw", 2, 240),  # 2 to 3 days, 8 to 12 months
        ("Corn, sweet, yellow, raw", 1, 240),  # 1 to 2 days
    ],
)
def test_food_waits_no_longer_than_public_guidance_allows(name: str, fridge: int, freezer: int) -> None:
    window = storage_window(get(name))
    assert (window.fridge / DAY, window.freezer / DAY) == (fridge, freezer)


def test_raw_animal_food_may_not_be_given_longer_in_the_refrigerator() -> None:
    raw = lot("hen", "Chicken, breast, boneless, skinless, raw", fridge='"4 day"')
    with pytest.raises(InputErrors, match="raw animal food may wait 1 day in"):
        parse(HEAD + raw)


def test_every_problem_of_a_file_is_told_at_once() -> None:
    with pytest.raises(InputErrors) as caught:
        parse(HEAD.replace('"6-22"', '"22-6"').replace("bench-4", "bench-9") + lot("a"))
    fields = {problem.field for problem in caught.value.problems}
    assert {"home.daily", "dryer[1].profile"} <= fields


def test_the_time_of_a_tray_is_within_the_ensemble_and_remembered() -> None:
    lots = read_lots(ROOT / "examples" / "planning" / "harvest-week.toml")
    cut = lots.lots[0].cuts[0]
    assert cut is not None
    rig = lots.dryers[0].rig
    time = drying_time(rig, cut.fresh, QUICK)
    assert drying_time(rig, cut.fresh, QUICK) == time
    # household-day (common practice): a load takes between half a day and two days
    assert 10 * 3600 < time < 50 * 3600
    assert drying_time(rig, cut.frozen, QUICK) < time  # freezing is already done


def test_raw_meat_and_fruit_get_batches_of_their_own() -> None:
    hen = lot("hen", "Chicken, breast, boneless, skinless, raw", mass='"2 kg"')
    _lots, made = planned(HEAD + '\n[freezer]\nspace = "50 L"' + lot("berries", mass='"2 kg"') + hen)
    assert [len(batch.lots) for batch in made.batches] == [1, 1]
    assert made.left_out == ()


def test_without_a_freezer_what_spoils_is_left_out_with_the_reason() -> None:
    lots, made = planned(HEAD + lot("a", value="9") + lot("b") + lot("c", value="7"))
    assert broken(lots, made) == []
    assert [one.name for one in made.left_out] == ["b"]
    assert made.left_out[0].rule in ("spoils", "places", "freezer")
    assert "b: " in made.left_out[0].reason
    with_freezer = planned(HEAD + '\n[freezer]\nspace = "50 L"' + lot("a", value="9") + lot("b") + lot("c"))[1]
    assert with_freezer.left_out == ()


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"needed_by": "2026-09-07T12:00:00"}, "ready_by"),
        ({"drying_time": '"19 day"'}, "plan"),
        ({"arrives": "2026-09-20T12:00:00"}, "plan"),
    ],
)
def test_a_wish_against_a_rule_names_the_rule_and_the_rest_is_planned(changes: dict[str, str], rule: str) -> None:
    _lots, made = planned(HEAD + lot("wish", must="true", **changes) + lot("other"))
    assert not made.wishes_met
    left = next(one for one in made.left_out if one.name == "wish")
    assert left.rule == rule
    assert left.wished
    assert ("if one of these changed" in left.reason) == (rule == "ready_by")
    assert any("other" in [one.name for one in batch.lots] for batch in made.batches)


def test_a_service_stop_is_the_reason_when_it_covers_the_time() -> None:
    stop = "[[dryer.service]]\nfrom = 2026-09-07T00:00:00\nto = 2026-09-11T00:00:00\n"
    _lots, made = planned(HEAD + stop + lot("a", must="true"))
    assert made.batches == ()
    assert made.left_out[0].rule == "service"


def test_planning_again_keeps_what_is_loaded_and_loads_nothing_in_the_past() -> None:
    text = HEAD + '\n[freezer]\nspace = "60 L"' + lot("a", mass='"8 kg"') + lot("b", value="3")
    lots, first = planned(text)
    now = datetime(2026, 9, 8, 12)
    again = schedule(with_fixed(lots, first, now), seconds=3, workers=1, how=QUICK)
    fixed = [batch for batch in again.batches if batch.fixed]
    assert [(batch.start, batch.trays) for batch in fixed] == [
        (batch.start, batch.trays) for batch in first.batches if batch.start < now
    ]
    assert fixed
    assert all(batch.start >= now for batch in again.batches if not batch.fixed)
    assert again.saved_value == pytest.approx(first.saved_value)


def test_the_grid_becomes_coarser_for_a_large_plan() -> None:
    small = parse(HEAD.replace('step = "2 h"\n', "") + lot("a"))
    large = parse(HEAD.replace('step = "2 h"\n', "").replace("days = 4", "days = 14")
                       + "".join(lot(f"lot {n}") for n in range(40)))  # fmt: skip
    assert grid_step(small) == 3600
    assert grid_step(large) > 3600


def test_a_tray_is_evenly_loaded_and_no_gram_is_lost() -> None:
    job = to_grid(parse(HEAD + lot("a", mass='"3.3 kg"')), QUICK).jobs[0]
    assert (job.trays, job.mass) == ((4,), 3300)
    assert job.loads == (825,)


def test_the_calendar_is_read_by_another_library_with_the_same_times() -> None:
    _lots, made = planned(HEAD + '\n[freezer]\nspace = "50 L"' + lot('a, "best"; x'.replace('"', "'")) + lot("b"))
    written = calendar_bytes(made, datetime(2026, 9, 1, tzinfo=UTC))
    lines = written.decode().split("\r\n")
    assert lines[-1] == ""
    assert max(len(line.encode()) for line in lines) <= 75  # RFC 5545, 3.1
    read = vobject.readOne(written.decode())
    events = read.vevent_list
    assert len(events) == 3 * len(made.batches)
    loads = sorted(event.dtstart.value for event in events if event.summary.value.startswith("Load"))
    assert loads == sorted(batch.start for batch in made.batches)
    assert len({event.uid.value for event in events}) == len(events)
    assert all(event.valarm.action.value == "DISPLAY" for event in events)
    words = [event.description.value for event in events]
    assert any("a, 'best'; x" in text for text in words)


def test_the_shopping_list_holds_all_that_is_dried() -> None:
    lots, made = planned(HEAD + lot("a"))
    packs = packs_of(lots, made)
    # strawberries hold about 91% water (USDA): 3.6 kg leave about 0.33 kg with 2 or 3% moisture
    assert sum(pack.dry_mass for pack in packs) == pytest.approx(0.33, abs=0.03)
    wanted = {one.kind: one.count for one in shopping_list(packs).wanted}
    assert any(kind.startswith(("pouch", "mylar", "foil", "jar")) for kind in wanted)
    assert wanted["absorber"] >= sum(count for kind, count in wanted.items() if kind != "absorber")


def test_a_missing_package_is_named_with_the_way_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "ortools.sat.python", None)
    with pytest.raises(DrystowError, match=r"pip install 'drystow\[plan\]'"):
        value_search.load_solver()

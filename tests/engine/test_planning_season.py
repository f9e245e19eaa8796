"""A garden season: reading the file, drawing seasons, drying them day by day, and what it comes to."""

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from drystow.errors import InputErrors
from drystow.fields import read_toml
from drystow.planning.schedule.batch_time import Reckoning
from drystow.planning.schedule.greedy import all_ends
from drystow.planning.schedule.grid import end_of, saved_value
from drystow.planning.schedule.value_search import solve
from drystow.planning.season.answer import ENOUGH, lost_share, try_seasons
from drystow.planning.season.days import careful_plan, draw_season, equipment_of, season_problem, try_one
from drystow.planning.season.garden import Garden
from drystow.planning.season.garden_file import CHOICE, CROP, FILE, parse_garden, read_garden
from drystow.reports.plain_data import season_dict
from tests.engine.plan_rules import best_by_trying_all, broken_rules, small_problem

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "examples" / "planning" / "garden.toml"
QUICK = Reckoning(members=5)


def table(**changes: Any) -> dict[str, Any]:
    """Return a small garden; times are given, so that nothing has to be simulated."""
    crop = {
        "food": "Strawberries, raw", "size": "9 mm", "first": date(2026, 6, 1), "peak": date(2026, 6, 12),
        "last": date(2026, 6, 25), "mass": "40 kg", "per_week": 3, "value": 9, "drying_time": "24 h",
        "tray_mass": "1 kg",
    }  # fmt: skip
    beans = {**crop, "food": "Beans, snap, green, raw", "shape": "stick", "value": 4}
    one = {"name": "now", "dryer": [{"profile": "bench-4"}]}
    two = {"name": "two", "price": 2000, "dryer": [{"profile": "bench-4"}, {"profile": "bench-4"}]}
    whole = {"title": "Small", "begin": date(2026, 5, 25), "weeks": 6, "rounds": 6, "tariff": {"price": 0.2},
             "crop": [crop, beans], "choice": [one, two]}  # fmt: skip
    return whole | changes


def problems(**changes: Any) -> dict[str, str]:
    with pytest.raises(InputErrors) as caught:
        parse_garden(table(**changes))
    return {problem.field: problem.message for problem in caught.value.problems}  # type: ignore[attr-defined]


@pytest.fixture(scope="module")
def garden() -> Garden:
    return parse_garden(table())


def test_the_example_garden_has_ten_crops_and_three_choices() -> None:
    read = read_garden(EXAMPLE)
    assert len(read.crops) == 10
    assert read.choices[0].price == 0
    assert len(read.choices) == 3
    assert all(len(choice.frame.lots) == 10 for choice in read.choices)


def test_every_field_of_the_garden_file_is_documented() -> None:
    page = (ROOT / "docs" / "garden-file.md").read_text(encoding="utf-8")
    assert [name for name in (*FILE, *CROP, *CHOICE) if f"`{name}`" not in page and f"`[{name}]`" not in page
            and f"`[[{name}]]`" not in page and f"`[[choice.{name}]]`" not in page] == []  # fmt: skip


def test_each_wrong_field_is_named_with_what_is_allowed() -> None:
    crop, choice = table()["crop"][0], table()["choice"][0]
    assert "1 to 40" in problems(weeks=0)["weeks"]
    assert "1 to 200" in problems(rounds=1000)["rounds"]
    assert "0 to 30 days" in problems(early_or_late="90 days")["early_or_late"]
    assert "[[crop]]" in problems(crop=[])["crop"]
    assert "[[choice]]" in problems(choice=[])["choice"]
    assert "closest" in problems(wekks=3)["wekks"]
    found = problems(
        crop=[{**crop, "mass": "5 g", "uncertain": 3, "per_week": 0, "first": date(2025, 1, 1)}, {"food": "Kale, raw"}],
        choice=[{**choice, "price": -1, "years": 0}],
    )
    assert "500 g to 5000 kg" in found["crop[1].mass"]
    assert "0 to 1" in found["crop[1].uncertain"]
    assert "0.25 to 7" in found["crop[1].per_week"]
    assert "is not in the season; write a day from" in found["crop[1].first"]
    assert {f"crop[2].{key}" for key in ("first", "peak", "last", "mass")} <= found.keys()
    assert "0 to 1,000,000" in found["choice[1].price"]
    assert "1 to 50" in found["choice[1].years"]
    assert "not between" in problems(crop=[{**crop, "peak": date(2026, 6, 28)}])["crop[1].peak"]


def test_what_the_plan_file_refuses_is_named_by_crop_and_choice_and_only_once() -> None:
    crop = table()["crop"][0]
    both = table()["choice"]
    assert list(problems(crop=[crop, {**crop, "food": "Xyzzy", "name": "odd"}], choice=both)) == ["crop[2].food"]
    assert "home.daily" in problems(home={"daily": ["25-26"]})
    assert "apart" in next(iter(problems(rules={"apart": ["colour"]})))
    assert "closest" in problems(choice=[{**both[0], "dryer": [{"profile": "x"}]}])["choice[1].dryer[1].profile"]
    assert "[[choice.dryer]]" in problems(choice=[{"name": "none"}])["choice[1].dryer"]
    assert "there twice" in problems(crop=[crop, crop])["crop[2].name"]


def test_the_same_seed_gives_the_same_season_and_more_rounds_keep_the_first_ones(garden: Garden) -> None:
    assert draw_season(garden, 3) == draw_season(garden, 3)
    assert draw_season(garden, 3) == draw_season(replace(garden, rounds=50), 3)
    assert draw_season(garden, 3) != draw_season(garden, 4)
    assert draw_season(garden, 3) != draw_season(replace(garden, seed=2), 3)


def test_a_crop_more_does_not_change_the_others(garden: Garden) -> None:
    fewer = replace(garden, crops=garden.crops[:1])
    assert [one for one in draw_season(garden, 0) if one.crop == 0] == list(draw_season(fewer, 0))


def test_two_tries_give_the_same_answer_and_tell_how_far_they_are(garden: Garden) -> None:
    shares: list[float] = []
    first = try_seasons(garden, shares.append, QUICK)
    assert first == try_seasons(garden, how=QUICK)
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)


def test_more_dryers_lose_less_and_the_answer_counts_the_seasons_by_hand(garden: Garden) -> None:
    answer = try_seasons(garden, how=QUICK)
    now, two = answer.choices
    assert two.lost.mean < now.lost.mean
    assert two.enough >= now.enough
    equipment = equipment_of(garden.choices[0].frame, QUICK)
    outcomes = [try_one(garden, equipment, draw_season(garden, number), QUICK) for number in range(garden.rounds)]
    assert now.enough == sum(one.value_lost <= ENOUGH * one.value_came for one in outcomes)
    assert now.lost.mean == pytest.approx(sum(sum(one.lost) for one in outcomes) / len(outcomes))
    assert all(0.0 <= lost_share(one) <= 1.0 for one in outcomes)
    assert now.pay is None
    assert two.pay is not None
    # by hand: yearly price 2000 / 10, and the electricity that both use more
    assert two.pay.cost.mean == pytest.approx(200.0 + two.cost.mean - now.cost.mean)


def test_electricity_is_power_times_hours_at_the_tariff(garden: Garden) -> None:
    answer = try_seasons(garden, how=QUICK)
    for one in answer.choices:
        assert one.cost.mean == pytest.approx(0.2 * one.energy.mean / 3.6e6, rel=1e-9)


def test_a_dryer_that_changes_nothing_dries_nothing_more(garden: Garden) -> None:
    same = replace(garden, choices=(garden.choices[0], replace(garden.choices[0], name="again", price=900.0)))
    pay = try_seasons(same, how=QUICK).choices[1].pay
    assert pay is not None
    assert (pay.price, pay.value, pay.years, pay.pays) == (None, None, None, False)
    assert pay.cost.mean == pytest.approx(90.0)


def test_the_answer_becomes_plain_json_without_infinities(garden: Garden) -> None:
    import json

    text = json.dumps(season_dict(try_seasons(garden, how=QUICK)), allow_nan=False)
    assert '"price_per_more_kg"' in text


def test_a_careful_season_keeps_every_rule() -> None:
    """The rules are those of tests/engine/plan_rules.py, written without the planner's functions."""
    for changes in ({}, {"freezer": {"space": "20 L"}, "home": {"weekdays": ["17-21"]}}):
        garden = parse_garden(table(**changes))
        for choice in garden.choices:
            equipment = equipment_of(choice.frame, QUICK)
            problem = season_problem(equipment, draw_season(garden, 0), QUICK)
            assert broken_rules(problem, careful_plan(problem)) == []


@pytest.mark.parametrize("seed", range(60))
def test_a_careful_plan_is_never_above_the_best_of_all_plans(seed: int) -> None:
    """Outside check: enumeration of all plans by a separate function."""
    problem = small_problem(seed)
    plan = careful_plan(problem)
    assert broken_rules(problem, plan) == []
    assert saved_value(problem, plan) <= best_by_trying_all(problem)[0]


def test_a_careful_week_is_never_above_the_proven_bound(garden: Garden) -> None:
    equipment = equipment_of(replace(garden.choices[0].frame, days=14), QUICK)
    pickings = [replace(one, day=one.day - 14) for one in draw_season(garden, 0) if 14 <= one.day < 21]
    problem = season_problem(equipment, pickings, QUICK)
    assert 0 < saved_value(problem, careful_plan(problem)) <= solve(problem, 3, 1, 1).bound


@pytest.mark.parametrize("seed", range(40))
def test_ends_of_all_jobs_are_those_asked_for_one_by_one(seed: int) -> None:
    problem = small_problem(seed)
    slow = {
        job: end
        for start in range(problem.steps)
        for job in range(len(problem.jobs))
        if (end := end_of(problem, job, 0, start)) is not None
    }
    fast = {job: end for ends in all_ends(problem)[0] for job, end in ends.items()}
    assert fast == slow


def test_the_example_is_read_as_it_is_written() -> None:
    raw = read_toml(EXAMPLE, "")
    read = parse_garden(raw)
    assert read.weeks == raw["weeks"] == 22
    assert read.crops[0].first == raw["crop"][0]["first"]

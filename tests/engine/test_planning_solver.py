"""The search for a schedule against trying everything, against simple rules and against the rules written once more."""

import random
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from benchmarks.schedule import kitchen
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drystow.planning.schedule.bounds import Market, market, offer
from drystow.planning.schedule.greedy import ORDERS, RULES, greedy
from drystow.planning.schedule.grid import GridDryer, Job, Run, ScheduleProblem, idle_steps, plan_cost, saved_value
from drystow.planning.schedule.model import Effort, Model
from drystow.planning.schedule.structure import (
    Slot,
    canonical,
    cliques,
    equal_machines,
    largest_sets,
    measures,
    moved_up,
    normal_starts,
    slots_of,
)
from drystow.planning.schedule.value_search import Tree, solve
from tests.engine.plan_rules import best_by_trying_all, broken_rules, small_problem

TINY = 200


def _job(name: str, **changes: object) -> Job:
    usual: dict[str, object] = {
        "name": name, "mass": 1000, "price": 100, "loads": (1000,), "trays": (1,), "arrival": 0, "came": 0,
        "fresh_until": 9, "frozen_until": -1, "fresh": (2,), "frozen": (2,), "room": 1000, "water": (800,),
        "ready_by": 12, "must": False, "apart": frozenset(),
    }  # fmt: skip
    return Job(**{**usual, **changes})  # type: ignore[arg-type]


def _problem(*jobs: Job, trays: int = 2, steps: int = 12, freezer: int = 0) -> ScheduleProblem:
    machine = GridDryer("dryer", trays, 10_000, 1, (), (10,) * steps)
    return ScheduleProblem(steps, (True,) * steps, jobs, (machine,), (freezer,) * steps)


@pytest.mark.parametrize("block", range(10))
def test_value_cost_and_idle_time_are_those_of_trying_every_plan(block: int) -> None:
    """Outside check: enumeration of all plans by a separate function, with the same three aims in the same order."""
    for seed in range(block * TINY // 10, (block + 1) * TINY // 10):
        problem = small_problem(seed)
        solved = solve(problem, seconds=20, workers=1)
        value, cost, idle = best_by_trying_all(problem)
        assert broken_rules(problem, solved.plan) == [], seed
        assert measures(problem, solved.plan) == (value, -cost, -idle), seed
        assert solved.bound == solved.saved == value, seed


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(seed=st.integers(1000, 10**6))
def test_no_schedule_breaks_a_rule_and_simple_rules_are_never_better(seed: int) -> None:
    problem = small_problem(seed)
    solved = solve(problem, seconds=10, seed=seed % 7, workers=1)
    assert broken_rules(problem, solved.plan) == []
    for name, rule in RULES.items():
        plan = rule(problem)
        assert broken_rules(problem, plan) == [], name
        assert saved_value(problem, plan) <= solved.saved <= solved.bound, name


def test_two_equal_dryers_obey_the_rules_and_beat_the_simple_ones() -> None:
    jobs = tuple(
        _job(f"lot {n}", loads=(1000, 1000), trays=(2, 2), mass=2000, price=100 + 37 * n, fresh=(3, 3), frozen=(3, 3),
             water=(700, 700), arrival=n, fresh_until=n + 3, ready_by=24, apart=frozenset({(n + 1) % 6, (n - 1) % 6}))
        for n in range(6)
    )  # fmt: skip
    machines = tuple(GridDryer(name, 3, 9000, 1, (), (10,) * 24) for name in ("one", "two"))
    problem = ScheduleProblem(24, (True, False, True) * 8, jobs, machines, (0,) * 24)
    assert equal_machines(problem) == [[0, 1]]
    solved = solve(problem, seconds=10)
    assert broken_rules(problem, solved.plan) == []
    assert solved.saved >= max(saved_value(problem, rule(problem)) for rule in RULES.values())


def test_the_same_seed_gives_the_same_schedule_with_one_worker() -> None:
    problem = small_problem(11)
    assert solve(problem, 10, seed=5, workers=1) == solve(problem, 10, seed=5, workers=1)


def test_what_has_to_be_dried_comes_before_what_is_worth_more() -> None:
    cheap = _job("cheap", price=10, must=True, apart=frozenset({1}), fresh_until=0)
    dear = _job("dear", price=900, apart=frozenset({0}), fresh_until=0)
    solved = solve(_problem(cheap, dear), 5, workers=1)
    assert [dict(run.trays) for run in solved.plan] == [{0: 1}]
    assert solved.missed == ()


def test_a_wish_that_cannot_be_met_is_named_and_the_rest_is_planned() -> None:
    late = _job("late", must=True, ready_by=1)
    solved = solve(_problem(late, _job("fine")), 5, workers=1)
    assert solved.missed == (0,)
    assert solved.saved == 1000 * 100


def test_idle_steps_and_cost_are_counted_by_hand() -> None:
    problem = _problem(_job("a", trays=(2,)), steps=12)
    plan = (Run(0, 1, 3, {0: 1}), Run(0, 6, 9, {0: 1}))
    assert idle_steps(problem, plan) == 1 + 3  # before the first, and between unloading at 3 and loading at 6
    assert plan_cost(problem, plan) == 10 * (2 + 3)


@pytest.mark.parametrize("seed", range(12))
def test_batches_that_move_up_obey_the_rules_and_cost_and_save_the_same(seed: int) -> None:
    problem = kitchen(seed, most_trays=1.5, alike=seed % 2 == 0)
    plan = greedy(problem, ORDERS["first_come"])
    jobs = tuple(replace(job, arrival=0) for job in problem.jobs)
    late = replace(problem, jobs=jobs, freezer=(10**9,) * problem.steps)
    for one in (problem, late):  # the second: as if all the food had been there from the beginning
        moved = moved_up(one, plan)
        assert broken_rules(one, moved) == []
        value, cost, idle = measures(one, moved)
        assert value == saved_value(one, plan)
        assert cost <= plan_cost(one, plan)
        assert idle <= idle_steps(one, plan)
    assert sum(run.start for run in moved) <= sum(run.start for run in plan)


def test_a_batch_moves_up_until_its_food_comes_or_the_dryer_is_free() -> None:
    problem = _problem(_job("early"), _job("late", arrival=2))
    late = [Run(0, 4, 6, {0: 1}), Run(0, 8, 10, {1: 1})]
    first, second = moved_up(problem, late)
    assert (first.start, dict(first.trays)) == (0, {0: 1})
    assert (second.start, dict(second.trays)) == (max(2, first.end + problem.machines[0].turnaround), {1: 1})


def test_equal_dryers_are_put_in_order_without_changing_the_plan() -> None:
    job = _job("a", loads=(1000, 1000), trays=(3, 3), fresh=(2, 2), frozen=(2, 2), water=(1, 1))
    machines = tuple(GridDryer(name, 2, 9000, 0, (), (1,) * 9) for name in ("x", "y"))
    problem = ScheduleProblem(9, (True,) * 9, (job,), machines, (0,) * 9)
    assert canonical(problem, [Run(0, 0, 2, {0: 1}), Run(1, 0, 2, {0: 2})]) == (
        Run(0, 0, 2, {0: 2}), Run(1, 0, 2, {0: 1}),
    )  # fmt: skip


def test_cliques_cover_every_pair_with_joined_groups() -> None:
    pairs = [(0, 1), (1, 2), (0, 2), (2, 3)]
    groups = cliques([0, 1, 2, 3], pairs)
    assert all(any({one, other} <= set(group) for group in groups) for one, other in pairs)
    assert sorted(map(sorted, groups)) == [[0, 1, 2], [2, 3]]


def test_a_search_that_is_cut_short_has_a_plan_and_does_not_claim_a_proof() -> None:
    problem = kitchen(7, most_trays=3.5)
    solved = solve(problem, seconds=1.0)
    assert broken_rules(problem, solved.plan) == []
    assert solved.saved >= max(saved_value(problem, rule(problem)) for rule in RULES.values())
    assert solved.saved < solved.bound <= sum(job.price * job.mass for job in problem.jobs)


@pytest.mark.parametrize("block", range(4))
def test_a_bound_from_any_prices_is_never_below_what_trying_every_plan_saves(block: int) -> None:
    """Outside check: enumeration of all plans by a separate function."""
    for seed in range(block * TINY // 4, (block + 1) * TINY // 4):
        problem = small_problem(seed)
        value, _cost, _idle = best_by_trying_all(problem)
        here, slots = _market(problem)
        if not slots:
            assert value == 0
            continue
        dice = np.random.default_rng(seed)
        tree = Tree(here, slots, lambda: False)
        assert tree.bound >= value, seed
        for prices in (dice.uniform(0, 1e6, len(here.there)), dice.exponential(1e3, len(here.there)), tree.root.prices):
            assert offer(here, prices).bound >= value, seed


@pytest.mark.parametrize("block", range(4))
def test_halves_of_plans_and_what_is_left_out_of_them_never_lose_the_best_plan(block: int) -> None:
    """Outside check: enumeration of all plans by a separate function; the search knows of a plan one unit less good."""
    for seed in range(block * TINY // 4, (block + 1) * TINY // 4):
        problem = small_problem(seed)
        value, _cost, _idle = best_by_trying_all(problem)
        here, slots = _market(problem)
        if not value:
            continue
        tree = Tree(here, slots, lambda: False)
        tree.narrow(value - 1)
        for _split in range(8):
            assert tree.bound >= value, seed
            if not tree.step(value - 1):
                break
        assert tree.bound >= value, seed


def test_the_bound_of_two_different_dryers_is_never_below_a_plan() -> None:
    problem = kitchen(1, most_trays=2.0, alike=False)
    here, slots = _market(problem)
    tree = Tree(here, slots, lambda: False)
    best = max(saved_value(problem, greedy(problem, order)) for order in ORDERS.values())
    assert best < tree.bound <= sum(job.price * job.mass for job in problem.jobs)


def _market(problem: ScheduleProblem) -> tuple[Market, list[Slot]]:
    groups = equal_machines(problem)
    slots = slots_of(problem, groups, [normal_starts(problem, group[0]) for group in groups])
    return market(problem, slots, groups, [job.price for job in problem.jobs]), slots


def test_sets_of_lots_that_may_share_a_batch_are_those_of_trying_all() -> None:
    for seed in range(40):
        dice = random.Random(seed)
        pairs = {pair for pair in combinations(range(6), 2) if dice.random() < 0.4}
        joined = [frozenset(b if a == n else a for a, b in pairs if n in (a, b)) for n in range(6)]
        problem = _problem(*(_job(str(n), apart=joined[n]) for n in range(6)))
        good = [
            set(some)
            for size in range(1, 7)
            for some in combinations(range(6), size)
            if not any(pair in pairs for pair in combinations(some, 2))
        ]
        largest = sorted(tuple(sorted(one)) for one in good if not any(one < other for other in good))
        assert largest_sets(problem, range(6)) == [(lots, False) for lots in largest]


def test_too_many_ways_to_share_a_batch_are_one_slot_in_which_lots_keep_apart() -> None:
    jobs = [
        _job(f"lot {n}", price=100 + n, apart=frozenset({n ^ 1}), fresh_until=0, trays=(1,)) for n in range(10)
    ]  # five pairs that exclude each other: 32 ways
    problem = _problem(*jobs, trays=8)
    assert largest_sets(problem, range(10)) == [(tuple(range(10)), True)]
    solved = solve(problem, 10, workers=1)
    assert broken_rules(problem, solved.plan) == []
    assert solved.saved == solved.bound == sum(1000 * (100 + n) for n in (1, 3, 5, 7, 9))


def test_equal_dryers_with_a_small_trap_are_not_overfilled_together() -> None:
    wet = _job("wet", loads=(1000, 1000), trays=(2, 2), mass=2000, fresh=(2, 2), frozen=(2, 2), water=(900, 900))
    light = _job("light", loads=(1000, 1000), trays=(2, 2), mass=2000, fresh=(2, 2), frozen=(2, 2), water=(100, 100))
    jobs = tuple(replace(job, fresh_until=0, name=f"{job.name} {n}") for n in (1, 2) for job in (wet, light))
    machines = tuple(GridDryer(name, 4, 1900, 1, (), (10,) * 12) for name in ("one", "two"))
    problem = ScheduleProblem(12, (True,) * 12, jobs, machines, (0,) * 12)
    solved = solve(problem, 10, workers=1)
    assert broken_rules(problem, solved.plan) == []
    # by hand: 2 wet trays and 1 light one in one dryer (1900 g), 1 wet and 3 light ones in the other (1200 g) are 7;
    # all 4 wet ones leave room for one light tray in each dryer: 6
    assert solved.saved == solved.bound == 7 * 1000 * 100


def test_the_same_seed_gives_the_same_schedule_of_a_kitchen_with_one_worker() -> None:
    whole = kitchen(4)
    problem = replace(whole, jobs=whole.jobs[:18])
    one, other = (solve(problem, 0.5, seed=3, workers=1) for _time in range(2))
    assert one == other
    assert broken_rules(problem, one.plan) == []


@pytest.mark.parametrize("alike", [True, False])
def test_two_dryers_save_what_the_plain_model_of_each_dryer_and_every_hour_saves(alike: bool) -> None:
    for seed in range(12):
        one = small_problem(seed)
        other = GridDryer("other", 2, one.machines[0].trap, 1, (), one.machines[0].costs)
        jobs = tuple(
            replace(
                job,
                **{part: getattr(job, part) * 2 for part in ("loads", "trays", "water")},
                fresh=(job.fresh[0], job.fresh[0] + (0 if alike else 1)),
                frozen=(job.frozen[0], job.frozen[0] + (0 if alike else 1)),
            )
            for job in one.jobs
        )
        problem = replace(one, jobs=jobs, machines=(one.machines[0], one.machines[0] if alike else other))
        slots = slots_of(problem, [[0], [1]], [range(problem.steps)] * 2)
        solved = solve(problem, 10, workers=1)
        assert broken_rules(problem, solved.plan) == [], seed
        if not slots:
            assert solved.bound == 0
            continue
        plain = Model(problem, [[0], [1]], slots)
        plain.model.maximize(plain.value([job.price for job in jobs]))
        answer = plain.solve((), Effort(10, 1, 1, True))
        assert answer.proven
        assert solved.saved == solved.bound == saved_value(problem, answer.plan), seed

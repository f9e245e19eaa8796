"""Why food is left out, on problems small enough to see the reason."""

from dataclasses import replace

import pytest

from drystow.planning.grid import Job, Machine, Plan, Problem, Run
from drystow.planning.reasons import NAMES, RELAXED, in_the_way, left_out, reason_words
from drystow.planning.solver import solve

STEPS = 12
OTHER = Job("other", 1000, 900, (1000,), (1,), 0, 3, -1, (3,), (0,), 1000, (800,), STEPS, False, frozenset())
LEFT = replace(OTHER, name="left", price=100)
PLAN = (Run(0, 0, 3, {0: 1}),)


def problem(left: Job, trays: int = 2, **changes: object) -> Problem:
    machine = Machine("dryer", trays, 9000, 1, (), (10,) * STEPS)
    whole = Problem(STEPS, (True,) * STEPS, (OTHER, left), (machine,), (0,) * STEPS)
    return replace(whole, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("rule", "one", "plan"),
    [
        ("never_dry", problem(replace(LEFT, fresh=(0,))), PLAN),
        ("plan", problem(replace(LEFT, arrival=STEPS + 3, fresh_until=STEPS + 9)), PLAN),
        ("plan", problem(replace(LEFT, fresh=(40,))), PLAN),
        ("home", problem(LEFT, home=(False,) * 5 + (True,) * 7), ()),
        ("ready_by", problem(replace(LEFT, ready_by=2)), PLAN),
        ("freezer", problem(replace(LEFT, fresh_until=-1, frozen_until=9, frozen=(3,))), PLAN),
        ("separation", problem(replace(LEFT, apart=frozenset({0}))), PLAN),
        ("trap", problem(replace(LEFT, water=(8500,))), PLAN),
        ("places", problem(LEFT, trays=1), PLAN),
        ("spoils", problem(replace(LEFT, arrival=1, fresh_until=3)), PLAN),
    ],
)
def test_the_reason_is_the_rule_that_keeps_it_out(rule: str, one: Problem, plan: Plan) -> None:
    found = next(reason for reason in left_out(one, plan) if reason.job == 1)
    assert found.rule == rule
    assert found.mass == 1000
    assert (found.other == 0) is (rule == "separation")
    assert reason_words(found, "left", "other", "Monday").startswith("left: ")
    assert rule in NAMES


def test_a_service_stop_over_the_whole_window_is_the_reason() -> None:
    one = problem(LEFT)
    stopped = replace(one, machines=(replace(one.machines[0], blocked=((0, 6),)),))
    assert {reason.rule for reason in left_out(stopped, ())} == {"service"}


def test_each_rule_without_which_a_wish_is_met_is_named() -> None:
    wish = replace(LEFT, must=True, ready_by=2)
    one = problem(wish)
    assert in_the_way(one, (1,), lambda other: solve(other, 2, workers=1)) == {1: ("ready_by",)}
    assert set(RELAXED) <= set(NAMES)

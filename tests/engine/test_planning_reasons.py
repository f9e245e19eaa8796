"""Why food is left out, on problems small enough to see the reason."""

from dataclasses import replace

import pytest

from drystow.planning.schedule.grid import GridDryer, Job, Plan, Run, ScheduleProblem
from drystow.planning.schedule.reasons import NAMES, RELAXED, in_the_way, left_out, reason_words
from drystow.planning.schedule.value_search import Solved, solve

STEPS = 12
OTHER = Job("other", 1000, 900, (1000,), (1,), 0, 0, 3, -1, (3,), (0,), 1000, (800,), STEPS, False, frozenset())
LEFT = replace(OTHER, name="left", price=100)
PLAN = (Run(0, 0, 3, {0: 1}),)


def problem(left: Job, trays: int = 2, **changes: object) -> ScheduleProblem:
    machine = GridDryer("dryer", trays, 9000, 1, (), (10,) * STEPS)
    whole = ScheduleProblem(STEPS, (True,) * STEPS, (OTHER, left), (machine,), (0,) * STEPS)
    return replace(whole, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("rule", "one", "plan"),
    [
        ("never_dry", problem(replace(LEFT, fresh=(0,))), PLAN),
        ("plan", problem(replace(LEFT, arrival=STEPS + 3, fresh_until=STEPS + 9)), PLAN),
        ("plan", problem(replace(LEFT, fresh=(40,))), PLAN),
        ("home", problem(LEFT, home=(False,) * 5 + (True,) * 7), ()),
        ("ready_by", problem(replace(LEFT, ready_by=2)), PLAN),
        ("freezer", problem(replace(LEFT, fresh=(0,), fresh_until=2, frozen_until=9, frozen=(3,))), PLAN),
        ("separation", problem(replace(LEFT, apart=frozenset({0}))), PLAN),
        ("trap", problem(replace(LEFT, water=(8500,))), PLAN),
        ("places", problem(LEFT, trays=1), PLAN),
        ("spoils", problem(replace(LEFT, arrival=1, fresh_until=3)), PLAN),
        ("too_old", problem(replace(LEFT, arrival=4, fresh_until=3)), PLAN),
        ("tray_water", problem(replace(LEFT, water=(9500,))), PLAN),
        ("value", problem(replace(LEFT, price=0)), PLAN),
        ("search", problem(LEFT), PLAN),
    ],
)
def test_the_reason_is_the_rule_that_keeps_it_out(rule: str, one: ScheduleProblem, plan: Plan) -> None:
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


def test_the_first_moment_at_which_it_could_be_ready_is_told() -> None:
    found = left_out(problem(replace(LEFT, arrival=2, fresh_until=6, ready_by=4)), PLAN)
    assert [(one.rule, one.until) for one in found] == [("ready_by", 5)]  # loaded at step 2, three steps of drying


def test_the_last_moment_of_loading_is_that_of_the_refrigerator_when_the_freezer_is_full() -> None:
    both = replace(LEFT, fresh_until=5, frozen_until=9, frozen=(3,))
    full = (Run(0, 0, 3, {0: 1}), Run(0, 4, 7, {0: 1}))
    assert [one.until for one in left_out(problem(both, trays=1), full)] == [5]
    assert [one.until for one in left_out(problem(both, trays=1, freezer=(5000,) * STEPS), full)] == [8]


def test_a_wish_that_gives_way_to_another_is_not_called_met() -> None:
    # two wishes for the one place on the trays: with a larger trap one of them still stays out, perhaps the other one
    one = replace(OTHER, must=True, fresh_until=0, price=100, water=(100,))
    dryer = GridDryer("dryer", 1, 900, 1, (), (10,) * STEPS)
    both = ScheduleProblem(STEPS, (True,) * STEPS, (one, replace(one, name="left")), (dryer,), (0,) * STEPS)

    def swapped(other: ScheduleProblem) -> Solved:
        """A solver that leaves out the first one as soon as it may choose."""
        first = other.jobs[0].must and other.jobs[1].must and other.machines[0].trap > 900
        return Solved((), 0, 0, (0,) if first else solve(other, 1, workers=1).missed)

    missed = solve(both, 1, workers=1).missed
    assert len(missed) == 1
    rules = in_the_way(both, (1,), swapped)[1]
    assert "trap" not in rules
    assert rules == ("spoils",)


@pytest.mark.parametrize(
    ("helps", "told"), [(False, {}), (True, {0: ("spoils",), 1: ("spoils",)})], ids=["nothing helps", "one rule helps"]
)
def test_wishes_that_share_too_few_trays_are_told_no_longer_search(
    helps: bool, told: dict[int, tuple[str, ...]]
) -> None:
    # four wishes, of which three can be dried whole; parts of others are dried too, and each search misses others
    one = replace(OTHER, must=True)
    dryer = GridDryer("dryer", 3, 9000, 1, (), (10,) * STEPS)
    jobs = tuple(replace(one, name=name) for name in "abcd")
    asked = []

    def turning(other: ScheduleProblem) -> Solved:
        """A solver that leaves out the last two of four, and nothing of fewer."""
        asked.append(other)
        wished = sum(job.must for job in other.jobs)
        all_fit = wished < 4 or (helps and other.jobs[0].fresh_until == STEPS)
        return Solved((), 0, 0, () if all_fit else (2, 3))

    full = ScheduleProblem(STEPS, (True,) * STEPS, jobs, (dryer,), (0,) * STEPS)
    assert in_the_way(full, (0, 1), turning) == told
    asked.clear()
    assert in_the_way(full, (0, 1), turning, until=0.0) == {}  # no time: asked only whether a longer search would do
    assert len(asked) == 1


def test_a_wish_that_only_takes_a_longer_search_is_called_so() -> None:
    assert in_the_way(problem(replace(LEFT, must=True)), (1,), lambda other: solve(other, 2, workers=1)) == {
        1: ("search",)
    }

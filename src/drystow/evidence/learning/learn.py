"""A finished batch teaches the machine and the food classes (the update itself stands in `kalman`).

A batch has numbers of its own beside the machine's and the classes': thickness, water, places, and a pace
(`PACE_SPREAD`) for all that the model does not know of one batch.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from drystow.errors import InputError, check_range
from drystow.evidence.dryness.checking import check_seen
from drystow.evidence.dryness.courses import run_courses, views_of
from drystow.evidence.dryness.observed import Clock, rows_of
from drystow.evidence.learning.finished import Finished, SeenNumbers, dry_times, sample_times_for, seen_of
from drystow.evidence.learning.kalman import MEMBERS, ROUNDS, Prior, drawn, iterate
from drystow.evidence.learning.learned import (
    CLASS_CAUSES,
    NOTHING_LEARNED,
    LearnedNumbers,
    forget,
    spread_over,
    with_keys,
)
from drystow.evidence.learning.surprise import Surprise, surprise_of
from drystow.machine.ensemble import Executor, Members
from drystow.machine.load import LONGEST
from drystow.machine.run import drying_program, freeze_load, start_of_drying
from drystow.messages import msg
from drystow.numerics import Array

PACE_SPREAD = 0.06
"""Spread of the logarithm of a batch's pace: what the model and its numbers do not know of one batch [-].
Source: drystow-default."""

CLASSES = 1  # of thickness, as in the forecast


@dataclass(frozen=True)
class Lesson:
    """What one batch taught.

    key: name of the batch
    before: what was known when it began
    learned: what is known after it
    surprise: how far it was from what was expected
    pace: mean and standard deviation of the logarithm of its own pace [-]
    """

    key: str
    before: LearnedNumbers
    learned: LearnedNumbers
    surprise: Surprise
    pace: tuple[float, float]


def problem_of(learned: LearnedNumbers, finished: Finished) -> Prior:
    """Return a batch as numbers: the learned ones, then the draws of its load and its pace.

    learned: with a place for everything in the load
    finished: the batch
    Source: definition, joint normal distribution.
    """
    follows, rest = spread_over(learned, finished.load)
    follows = np.vstack([follows, np.zeros(len(learned.keys))])
    wider = np.zeros((len(follows), len(follows)))
    wider[:-1, :-1], wider[-1, -1] = rest, PACE_SPREAD**2
    across = follows @ learned.covariance
    covariance = np.block([[learned.covariance, across.T], [across, across @ follows.T + wider]])
    return Prior(np.concatenate([learned.mean, follows @ learned.mean]), covariance, len(follows))


def learn(
    learned: LearnedNumbers,
    finished: Finished,
    *,
    members: int = MEMBERS,
    rounds: int = ROUNDS,
    seed: int = 1,
    executor: Executor | None = None,
    tick: Callable[[int], None] = lambda _count: None,
) -> Lesson:
    """Return what a batch taught, and how far it was from what was expected of it.

    learned: by earlier batches
    finished: the batch
    members: of a round; as many as the load has numbers, at least, and more
    rounds: of drawing and simulating; the first one is the forecast
    seed: of the random numbers; the same seed gives the same answer
    executor: runs the members; threads on all cores when None
    tick: called with the number of members done
    Source: garciafernandez2015 for the update, drystow-default for the spreads.
    """
    check_range("members", members, 20, 20000, "")
    if not finished.ended and not rows_of(finished.evidence):
        raise InputError("evidence", msg("nothing was recorded for this batch; enter a weighing or when it was dry"))
    check_seen(finished.load, finished.evidence, LONGEST, finished.trays)
    days = 0.0 if math.isnan(learned.day) else finished.day - learned.day
    before = with_keys(forget(learned, days, finished.services), finished.load)
    problem = problem_of(before, finished)
    count = max(members, 3 * problem.draws)
    simulate = simulation(finished, executor, tick)
    read = slice(len(before.keys), None)
    first = drawn(problem.mean[read], problem.covariance[read, read], count, seed)
    seen, times = simulate(first)
    surprise = surprise_of(finished, seen, times)

    def outcomes(draws: Array) -> tuple[Array, Array]:
        again, _times = simulate(draws)
        return again.expected, again.noise

    mean, covariance = iterate(
        problem, outcomes, seen.observed, members=count, rounds=rounds, seed=seed + 1,
        first=(first, seen.expected, seen.noise), doubt=surprise.doubt,
    )  # fmt: skip
    width = len(before.keys)
    classes = {item.food.food_class for item in finished.load.items}
    calibrated = tuple(
        number + (group == "" or (cause in CLASS_CAUSES and group in classes))
        for (cause, group), number in zip(before.keys, before.calibrated, strict=True)
    )
    after = replace(
        before,
        mean=mean[:width],
        covariance=covariance[:width, :width],
        calibrated=calibrated,
        batches=before.batches + 1,
        day=finished.day if math.isnan(learned.day) else max(learned.day, finished.day),
    )
    pace = (float(mean[-1]), float(np.sqrt(covariance[-1, -1])))
    return Lesson(finished.key, before, after, surprise, pace)


def learn_all(
    batches: Iterable[Finished],
    learned: LearnedNumbers = NOTHING_LEARNED,
    *,
    members: int = MEMBERS,
    seed: int = 1,
    executor: Executor | None = None,
    tick: Callable[[int], None] = lambda _count: None,
) -> tuple[Lesson, ...]:
    """Return what batches taught one after another, in order of their days.

    batches: finished ones
    learned: before them
    members: of a round
    seed: of the random numbers
    executor: runs the members; threads on all cores when None
    tick: called after each batch with 1
    """
    lessons: list[Lesson] = []
    for finished in sorted(batches, key=lambda one: one.day):
        lessons.append(learn(learned, finished, members=members, seed=seed, executor=executor))
        learned = lessons[-1].learned
        tick(1)
    return tuple(lessons)


def simulation(
    finished: Finished, executor: Executor | None = None, tick: Callable[[int], None] = lambda _count: None
) -> Callable[[Array], tuple[SeenNumbers, Array]]:
    """Return a function that simulates draws of a batch and its pace: what should be seen, and when all is dry [s].

    finished: the batch
    executor: runs the members; threads on all cores when None
    tick: called with the number of members done
    """
    looks, program = tuple(sample_times_for(finished)), drying_program(finished.load)
    begin, _shelf = start_of_drying(finished.load, freeze_load(finished.load))

    def run(draws: Array) -> tuple[SeenNumbers, Array]:
        columns, pace = draws[:, :-1], draws[:, -1]
        runs = run_courses(finished.load, columns, program, looks, CLASSES, executor, tick)
        return seen_of(finished, runs, pace, begin, CLASSES), all_dry(finished, runs) * np.exp(pace)

    return run


def all_dry(finished: Finished, runs: Members) -> Array:
    """Return when everything is dry, in drying time (members,) [s].

    finished: the batch
    runs: its members
    """
    nothing = np.full((len(runs.draws), len(finished.load.items)), -50.0)
    clock = Clock(np.zeros(0), np.zeros(0))
    views = views_of(finished.load, runs, finished.trays, CLASSES, finished.evidence, clock, 0.0, nothing)
    latest: Array = np.max([dry_times(view) for view in views], axis=0)
    return latest

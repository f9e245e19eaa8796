"""A finished batch teaches the machine and the food classes (the update itself stands in `kalman`).

A batch has numbers of its own beside the machine's and the classes': thickness, water, places, and a pace
(`PACE_SPREAD`) for all that the model does not know of one batch.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from drystow.errors import InputError, check_range
from drystow.evidence.dryness.courses import run_courses, views_of
from drystow.evidence.dryness.observed import Clock, rows_of
from drystow.evidence.dryness.signals import check_seen
from drystow.evidence.learning.finished import (
    Finished,
    SeenNumbers,
    Surprise,
    dry_times,
    sample_times_for,
    seen_of,
    surprise_of,
)
from drystow.evidence.learning.learned import (
    CLASS_CAUSES,
    NOTHING_LEARNED,
    LearnedNumbers,
    forget,
    spread_over,
    with_keys,
)
from drystow.machine.ensemble import Executor, Members
from drystow.machine.run import drying_program, freeze_load, start_of_drying
from drystow.machine.sampling import standard_samples
from drystow.messages import msg
from drystow.numerics import Array
from drystow.ranges import LONGEST

MEMBERS = 200
ROUNDS = 3


@dataclass(frozen=True)
class Fitted:
    """A function of uncertain numbers, fitted by a line.

    middle: numbers where it was fitted
    value: of the line there
    slope: (outcomes, numbers)
    left: covariance of what the line leaves over
    """

    middle: Array
    value: Array
    slope: Array
    left: Array


@dataclass(frozen=True)
class Prior:
    """Numbers before something is seen: those that are wanted, then those that the simulation reads.

    mean: of all
    covariance: of all
    draws: how many of the last ones the simulation reads
    """

    mean: Array
    covariance: Array
    draws: int


def fit_line(draws: Array, outcomes: Array) -> Fitted:
    """Return the line that fits the outcomes of members best.

    draws: numbers of the members (members, numbers)
    outcomes: (members, outcomes)
    Source: definition, least squares.
    """
    middle = draws.mean(axis=0)
    table = np.concatenate([np.ones((len(draws), 1)), draws - middle], axis=1)
    fit, *_rest = np.linalg.lstsq(table, outcomes, rcond=None)
    over = outcomes - table @ fit
    freedom = max(len(draws) - table.shape[1], 1)
    return Fitted(middle, fit[0], fit[1:].T, over.T @ over / freedom)


def updated(problem: Prior, fitted: Fitted, observed: Array, noise: Array) -> tuple[Array, Array]:
    """Return mean and covariance of all numbers after what was seen.

    problem: before it
    fitted: what the last numbers make one see
    observed: what was seen
    noise: covariance of its errors
    Source: kalman1960, with the covariance of what the line leaves over added to the errors (garciafernandez2015).
    """
    read = slice(len(problem.mean) - problem.draws, None)
    across = problem.covariance[:, read] @ fitted.slope.T
    total = fitted.slope @ across[read] + noise + fitted.left
    off = observed - fitted.value - fitted.slope @ (problem.mean[read] - fitted.middle)
    gain = np.linalg.solve(total, across.T).T
    covariance = problem.covariance - gain @ across.T
    return problem.mean + gain @ off, 0.5 * (covariance + covariance.T)


def iterate(
    problem: Prior,
    simulate: Callable[[Array], tuple[Array, Array]],
    observed: Array,
    *,
    members: int = MEMBERS,
    rounds: int = ROUNDS,
    seed: int = 1,
    first: tuple[Array, Array, Array] | None = None,
    doubt: float = 1.0,
) -> tuple[Array, Array]:
    """Return mean and covariance of all numbers after what was seen, fitted anew near the answer in every round.

    problem: before it
    simulate: gives what members should see (members, outcomes), NaN where one failed, and the errors' covariance
    observed: what was seen
    members: of a round
    rounds: of drawing, simulating and fitting
    seed: of the random numbers
    first: draws, outcomes and errors of the first round, when they are there already
    doubt: factor on what may lie between what is seen and what is expected, 1 for a batch in line [-]
    Source: garciafernandez2015, iterated posterior linearisation, with members in place of sigma points.
    """
    mean, covariance = problem.mean, problem.covariance
    read = slice(len(mean) - problem.draws, None)
    for number in range(rounds):
        if number == 0 and first is not None:
            draws, outcomes, noise = first
        else:
            draws = drawn(mean[read], covariance[read, read], members, seed)
            outcomes, noise = simulate(draws)
        good = np.isfinite(outcomes).all(axis=1)
        fitted = fit_line(draws[good], outcomes[good])
        if doubt > 1.0:
            total = fitted.slope @ problem.covariance[read, read] @ fitted.slope.T + noise + fitted.left
            fitted = replace(fitted, left=fitted.left + (doubt - 1.0) * total)
        mean, covariance = updated(problem, fitted, observed, noise)
    return mean, covariance


def drawn(mean: Array, covariance: Array, members: int, seed: int) -> Array:
    """Return draws from a normal distribution, evenly spread.

    mean: of the numbers
    covariance: of the numbers
    members: how many
    seed: of the random numbers
    """
    root = np.linalg.cholesky(covariance + 1e-9 * np.eye(len(mean)))
    draws: Array = mean + standard_samples(members, len(mean), seed) @ root.T
    return draws


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
    sample_times, program = tuple(sample_times_for(finished)), drying_program(finished.load)
    begin, _shelf = start_of_drying(finished.load, freeze_load(finished.load))

    def run(draws: Array) -> tuple[SeenNumbers, Array]:
        columns, pace = draws[:, :-1], draws[:, -1]
        runs = run_courses(finished.load, columns, program, sample_times, CLASSES, executor, tick)
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

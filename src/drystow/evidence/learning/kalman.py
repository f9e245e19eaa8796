"""An iterated ensemble Kalman update: numbers that are jointly normal, seen through a simulation that is not linear.

Members are drawn, simulated, and what they should have shown is fitted by a linear function of their numbers; what the
fit leaves over counts as error. The numbers are updated in closed form, members are drawn anew near the answer, and so
on. The covariance is never taken from the members, so that numbers of which nothing was seen keep their spread.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from drystow.machine.sampling import standard_samples
from drystow.numerics import Array

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

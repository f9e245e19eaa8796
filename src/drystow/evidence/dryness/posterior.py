"""Draws that suit the evidence: adaptive importance sampling, each tray weighed by what was seen of it.

The first round draws from what is known beforehand, some of it wider (`DOUBT`): a load is not always as written, and
no member is to be sure of itself only because time has passed. Where too few members of a tray carry the weight, a
normal distribution is fitted to its (tempered) members, the next round draws from it, and all rounds together are
weighed by what is known beforehand over the mixture of all that was drawn from.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp
from scipy.stats import multivariate_normal

from drystow.machine.load import Load
from drystow.machine.sampling import FURTHEST, PER_ITEM, SHARED, TOGETHER, UNCALIBRATED, Calibration, column
from drystow.numerics import Array


def effective_size(weights: Array) -> float:
    """Return how many equally weighted members would say as much [-].

    weights: of the members, adding up to one
    Source: definition, Kish's effective sample size.

    >>> print(effective_size(np.full(4, 0.25)))
    4.0
    """
    return float(1.0 / np.sum(weights**2))


def normalised(logs: Array) -> Array:
    """Return weights that add up to one [-].

    logs: their logarithms, up to a constant [-]
    Source: definition.
    """
    weights: Array = np.exp(logs - logsumexp(logs))
    return weights


def quantile(values: Array, weights: Array, share: float) -> float:
    """Return the value below which a share of the weight lies [unit of the values].

    values: of the members, infinite ones too [any]
    weights: of the members, adding up to one [-]
    share: of the weight [-]
    Source: definition, weighted quantile.

    >>> quantile(np.array([3.0, 1.0, 2.0]), np.array([0.2, 0.2, 0.6]), 0.5)
    2.0
    """
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(weights[order])
    return float(values[order][min(int(np.searchsorted(reached, share * reached[-1])), len(order) - 1)])


def equally_likely(values: Array, weights: Array, count: int = 20) -> tuple[float, ...]:
    """Return some equally likely values in order.

    values: of the members, infinite ones too [any]
    weights: of the members, adding up to one [-]
    count: how many
    Source: definition, weighted quantiles in the middle of equal shares.

    >>> equally_likely(np.arange(100.0), np.full(100, 0.01), 4)
    (12.0, 37.0, 62.0, 87.0)
    """
    return tuple(quantile(values, weights, (number + 0.5) / count) for number in range(count))


def tempered(logs: Array, size: float) -> Array:
    """Return weights raised to the largest power up to 1 that leaves an effective size [-].

    logs: logarithms of the weights [-]
    size: wished effective size [-]
    Source: definition, tempering of a likelihood.
    """
    return normalised(softened(np.zeros(len(logs)), logs, size))


def softened(before: Array, loglik: Array, size: float) -> Array:
    """Return log-weights with the likelihood raised to the largest power up to 1 that leaves an effective size [-].

    before: log-weights without the likelihood [-]
    loglik: logarithm of the likelihood [-]
    size: wished effective size [-]
    Source: miller2019, coarsened posterior: what hardly any member explains speaks against the model too.
    """
    low, high = 0.0, 1.0
    if effective_size(normalised(before + loglik)) >= size:
        return before + loglik
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if effective_size(normalised(before + middle * loglik)) >= size else (low, middle)
    return before + low * loglik


GOOD_SIZE = 0.12  # effective share of the members from which no further round is needed [-]; drystow-default
TEMPERED_SIZE = 0.2  # effective share that tempering keeps for the fit [-]; drystow-default
WIDER = 1.3  # the fit's covariance is drawn this much wider [-]; drystow-default
SAFE = 0.15  # share drawn from what is known beforehand in every round [-]; drystow-default
PRIOR_SHARE = 0.05  # of the prior's covariance in a fit [-]; drystow-default

DOUBT = 0.15
"""Chance that a load is further from what was written than its spreads allow [-]. Source: drystow-default."""
DOUBT_WIDTH = 1.8
"""How much wider everything is then [-]. Source: drystow-default."""


@dataclass(frozen=True)
class Fit:
    """A normal distribution over the shared columns and one tray's own, the shared ones first.

    mean: of the columns [-]
    covariance: of the columns [-]
    """

    mean: Array
    covariance: Array


@dataclass(frozen=True)
class Round:
    """Where the members of a round were drawn from.

    share: of all members [-]
    fits: per tray; empty for the first round, which draws from what is known beforehand
    """

    share: float
    fits: tuple[Fit, ...] = ()


def prior_of(load: Load, known: Calibration = UNCALIBRATED) -> tuple[Array, Array]:
    """Return mean and covariance of the draws before any evidence.

    The columns are those of `draws.column`, and behind them one for the held water of each item.

    load: food, dryer and program
    known: what earlier batches taught
    """
    count = len(SHARED) + len(PER_ITEM) * len(load.items)
    mean, covariance = np.zeros(count + len(load.items)), np.eye(count + len(load.items))
    for number, cause in enumerate(SHARED):
        mean[number], width = known.get((cause, ""), (0.0, 1.0))
        covariance[number, number] = width**2
    for cause, (kind, share) in TOGETHER.items():
        names = [item.food.id if kind == "food" else item.food.food_class for item in load.items]
        for number, name in enumerate(names):
            middle, width = known.get((cause, name), (0.0, 1.0))
            at = column(cause, number)
            mean[at] = math.sqrt(share) * middle
            covariance[at, at] = share * width**2 + 1.0 - share
            for other in range(number):
                if names[other] == name:
                    beside = column(cause, other)
                    covariance[at, beside] = covariance[beside, at] = share * width**2
    return mean, covariance


def columns_of(load: Load, items: Sequence[int]) -> list[int]:
    """Return the columns that concern some items: the shared ones, their own, and last those of their held water.

    load: food, dryer and program
    items: numbers from 0
    """
    behind = len(SHARED) + len(PER_ITEM) * len(load.items)
    own = [column(cause, number) for number in items for cause in PER_ITEM]
    return [*range(len(SHARED)), *own, *(behind + number for number in items)]


def _blocks(places: list[int]) -> tuple[list[int], list[int], list[int]]:
    """Return shared, own and held columns of a tray."""
    items = (len(places) - len(SHARED)) // (len(PER_ITEM) + 1)
    end = len(places) - items
    return places[: len(SHARED)], places[len(SHARED) : end], places[end:]


def part_of(prior: tuple[Array, Array], columns: Sequence[int]) -> Fit:
    """Return what is known beforehand of some columns.

    prior: mean and covariance of all columns
    columns: wanted ones
    """
    return Fit(prior[0][columns], prior[1][np.ix_(columns, columns)])


def doubted(draws: Array, columns: Sequence[list[int]], prior: tuple[Array, Array], seed: int) -> Array:
    """Return draws of which some are wider: the shared ones of a member together, and the own ones of each tray.

    draws: from what is known beforehand [-]
    columns: per tray, the shared ones first
    prior: mean and covariance of all columns
    seed: of the random numbers
    """
    random = np.random.default_rng(seed)
    wider = draws.copy()
    for block in (list(range(len(SHARED))), *(_blocks(places)[1] for places in columns)):
        factor = np.where(random.random(len(draws)) < DOUBT, DOUBT_WIDTH, 1.0)
        wider[:, block] = prior[0][block] + factor[:, None] * (draws[:, block] - prior[0][block])
    return wider


def fit_of(draws: Array, weights: Array, prior: Fit) -> Fit:
    """Return a normal distribution for weighted members, held near what is known beforehand and a little wider.

    draws: of the columns (members, columns) [-]
    weights: of the members [-]
    prior: of the columns
    """
    mean = weights @ draws
    off = draws - mean
    covariance = WIDER * (off * weights[:, None]).T @ off
    return Fit(mean, (1.0 - PRIOR_SHARE) * covariance + PRIOR_SHARE * prior.covariance)


def draw_round(
    fits: Sequence[Fit], columns: Sequence[list[int]], prior: tuple[Array, Array], count: int, seed: int
) -> Array:
    """Return draws of all columns: the shared ones from a mixture of the trays' fits, then each tray's own.

    fits: per tray
    columns: per tray, the shared ones first
    prior: mean and covariance of all columns
    count: of members
    seed: of the random numbers
    """
    random = np.random.default_rng(seed)
    shared = list(range(len(SHARED)))
    draws = random.multivariate_normal(*prior, size=count, method="cholesky")
    draws = doubted(draws, columns, prior, seed + 1)
    # A part comes from the prior whatever the fits say: where they are wrong, no member's weight grows without bound.
    which = np.where(random.random(count) < SAFE, -1, random.integers(0, len(fits), count))
    for tray, fit in enumerate(fits):
        chosen = which == tray
        block = Fit(fit.mean[: len(shared)], fit.covariance[: len(shared), : len(shared)])
        draws[chosen, : len(shared)] = random.multivariate_normal(
            block.mean, block.covariance, size=int(chosen.sum()), method="cholesky"
        )
    for fit, places in zip(fits, columns, strict=True):
        chosen = random.random(count) >= SAFE
        middle, covariance = _own_given_shared(fit, draws[:, shared])
        own = places[len(shared) :]
        normals = random.standard_normal((count, len(own)))
        drawn = middle + normals @ np.linalg.cholesky(covariance).T
        draws[:, own] = np.where(chosen[:, None], drawn, draws[:, own])
    return np.clip(draws, prior[0] - 2.0 * FURTHEST, prior[0] + 2.0 * FURTHEST)


def log_ratio(
    draws: Array, tray: int, columns: Sequence[list[int]], rounds: Sequence[Round], prior: tuple[Array, Array]
) -> Array:
    """Return the logarithm of what is known beforehand over the mixture that was drawn from (members,) [-].

    draws: of all columns and rounds
    tray: number from 0
    columns: per tray, the shared ones first
    rounds: that the members come from
    prior: mean and covariance of all columns
    Source: cornuet2012, deterministic mixture weights.
    """
    if len(rounds) == 1:  # drawn from what is known beforehand itself
        return np.zeros(len(draws))
    shared, own = draws[:, : len(SHARED)], draws[:, columns[tray][len(SHARED) :]]
    _, own_places, held_places = _blocks(columns[tray])
    before_shared = _log_doubted(shared, part_of(prior, columns[tray][: len(SHARED)]))
    before_own = _log_doubted(draws[:, own_places], part_of(prior, own_places))
    before_own = before_own + _log_density(draws[:, held_places], part_of(prior, held_places))
    terms = []
    for part in rounds:
        if not part.fits:
            terms.append(math.log(part.share) + before_shared + before_own)
            continue
        count = len(part.fits)
        blocks = [Fit(fit.mean[: len(SHARED)], fit.covariance[: len(SHARED), : len(SHARED)]) for fit in part.fits]
        mixed = np.stack(
            [math.log(SAFE) + before_shared]
            + [math.log((1.0 - SAFE) / count) + _log_density(shared, block) for block in blocks]
        )
        middle, covariance = _own_given_shared(part.fits[tray], shared)
        inside = np.stack(
            [
                math.log(SAFE) + before_own,
                math.log(1.0 - SAFE) + _log_density(own - middle, Fit(np.zeros(own.shape[1]), covariance)),
            ]
        )
        terms.append(math.log(part.share) + logsumexp(mixed, axis=0) + logsumexp(inside, axis=0))
    ratio: Array = before_shared + before_own - logsumexp(np.stack(terms), axis=0)
    return ratio


def _own_given_shared(fit: Fit, shared: Array) -> tuple[Array, Array]:
    count = shared.shape[1]
    across = fit.covariance[count:, :count]
    gain = np.linalg.solve(fit.covariance[:count, :count], across.T).T
    middle = fit.mean[count:] + (shared - fit.mean[:count]) @ gain.T
    return middle, fit.covariance[count:, count:] - gain @ across.T


def _log_doubted(draws: Array, fit: Fit) -> Array:
    wide = Fit(fit.mean, DOUBT_WIDTH**2 * fit.covariance)
    result: Array = np.logaddexp(
        math.log(1.0 - DOUBT) + _log_density(draws, fit), math.log(DOUBT) + _log_density(draws, wide)
    )
    return result


def _log_density(draws: Array, fit: Fit) -> Array:
    result: Array = np.atleast_1d(multivariate_normal.logpdf(draws, fit.mean, fit.covariance))
    return result


def adapt(
    simulate: Callable[[Array], None],
    logliks: Callable[[], Sequence[Array]],
    first: Array,
    columns: Sequence[list[int]],
    prior: tuple[Array, Array],
    extra: int,
    most_rounds: int,
    seed: int,
) -> tuple[Array, list[Array]]:
    """Draw until each tray's weight rests on enough members; return the draws, and per tray their log-weights.

    simulate: runs further members and keeps them
    logliks: log-likelihoods of all members so far, per tray [-]
    first: draws of the first round, from what is known beforehand
    columns: per tray, the shared ones first
    prior: mean and covariance of all columns
    extra: members of each further round
    most_rounds: further rounds at most
    seed: of the random numbers
    """
    parts = [first]
    fits: list[tuple[Fit, ...]] = [()]
    simulate(first)
    for number in range(most_rounds + 1):
        draws = np.concatenate(parts)
        rounds = [Round(len(part) / len(draws), fit) for part, fit in zip(parts, fits, strict=True)]
        seen = logliks()
        logs = [log_ratio(draws, tray, columns, rounds, prior) + seen[tray] for tray in range(len(columns))]
        sizes = [effective_size(normalised(one)) for one in logs]
        if number == most_rounds or min(sizes) >= GOOD_SIZE * len(first):
            break
        new = tuple(
            fit_of(draws[:, places], tempered(one, TEMPERED_SIZE * len(draws)), part_of(prior, places))
            for one, places in zip(logs, columns, strict=True)
        )
        parts.append(draw_round(new, columns, prior, extra, seed + 1000 * (number + 1)))
        fits.append(new)
        simulate(parts[-1])
    return draws, logs

"""Weights of members: how many count, what they give as a range."""

import numpy as np
from scipy.special import logsumexp

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

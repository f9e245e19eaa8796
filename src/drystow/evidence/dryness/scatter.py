"""Readings that share their errors: a hundred readings of one curve do not count a hundred times."""

from collections.abc import Sequence
from typing import TypeVar

import numpy as np
from scipy.special import logsumexp

from drystow.evidence.dryness.courses import View
from drystow.numerics import Array

MOST = 24
"""Readings of one curve that are heard; spread evenly, the last one among them. Source: drystow-default."""

LINE = float(np.log(2.0 * np.pi))

Kind = TypeVar("Kind")


def thinned(rows: Sequence[Kind], most: int = MOST) -> tuple[Kind, ...]:
    """Return no more than so many rows, spread evenly, the first and the last among them.

    rows: in order of time
    most: rows that are kept

    >>> thinned(range(100), 4)
    (0, 33, 66, 99)
    """
    if len(rows) <= most:
        return tuple(rows)
    return tuple(rows[int(number)] for number in np.linspace(0, len(rows) - 1, most).round())


def near(times: Array, memory: float) -> Array:
    """Return how errors at some times hang together [-].

    times: of the readings [s]
    memory: over which an error keeps its sign [s]
    Source: definition, exponential autocorrelation.

    >>> print(near(np.array([0.0, 3600.0]), 3600.0)[0].round(2))
    [1.   0.37]
    """
    result: Array = np.exp(-np.abs(times[:, None] - times) / memory)
    return result


def covariance_of(sizes: Array, kinship: Array | float = 1.0) -> Array:
    """Return the covariance of errors of given sizes (members, readings, readings).

    sizes: standard deviations (members, readings)
    kinship: correlation between readings; one number for all [-]
    """
    result: Array = sizes[:, :, None] * sizes[:, None, :] * kinship
    return result


def log_density(off: Array, covariance: Array) -> Array:
    """Return the logarithm of a normal density (members,) [-].

    off: seen minus expected (members, readings)
    covariance: of the errors (members, readings, readings)
    Source: definition, normal distribution.
    """
    return misfit_and_density(off, covariance)[1]


def misfit_and_density(off: Array, covariance: Array) -> tuple[Array, Array]:
    """Return squared distances in standard deviations, and the logarithm of a normal density (members,) [-].

    off: seen minus expected (members, readings)
    covariance: of the errors (members, readings, readings)
    Source: definition, normal distribution.
    """
    root = np.linalg.cholesky(covariance)
    scaled = np.linalg.solve(root, off[:, :, None])[:, :, 0]
    misfit = (scaled**2).sum(axis=1)
    halves = np.log(np.diagonal(root, axis1=1, axis2=2)).sum(axis=1)
    return misfit, -0.5 * (misfit + off.shape[1] * LINE) - halves


def either(chances: Sequence[float], logliks: Sequence[Array]) -> Array:
    """Return the log-likelihood when one of several stories is true (members,) [-].

    chances: of the stories, adding up to one [-]
    logliks: log-likelihood under each (members,) [-]
    Source: definition, mixture.
    """
    terms = [np.log(chance) + loglik for chance, loglik in zip(chances, logliks, strict=True)]
    result: Array = logsumexp(np.stack(terms), axis=0)
    return result


def pieces_of(view: View, thickest: float) -> list[tuple[int, float]]:
    """Return the columns of the tray's pieces in the runs, and how likely a person's piece is one of them [-].

    view: of the tray
    thickest: chance that the person found one of the thickest pieces [-]
    Source: definition, else any piece by its mass.
    """
    masses = np.array([view.load.items[number].mass for number in view.items])
    chances = []
    for parts, mass in zip(view.parts, masses / masses.sum(), strict=True):
        for number, part in enumerate(parts):
            last = float(number == len(parts) - 1)
            chance = mass * (thickest * last + (1.0 - thickest) * view.shares[number])
            chances.append((part, float(chance)))
    return chances

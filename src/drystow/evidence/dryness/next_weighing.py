"""When to weigh next: the moment whose weight would tell most about dry or not dry."""

import numpy as np

from drystow.evidence.dryness.courses import PLANNED, View, place
from drystow.evidence.dryness.observed import Weighed
from drystow.evidence.dryness.weighings import Signal, expected_weights, water_prior, weighings_of
from drystow.numerics import Array

NEAR = 2 * 3600.0  # left to dry, likely, below which a tray is nearly dry [s]; drystow-default
LEAST_WAIT = 3600.0  # until a further weighing [s]; common practice
POINTS = 81  # of weights at which densities are compared
NEARLY_BEST = 0.9  # the earliest moment that tells this share of the most is taken; drystow-default
LEAST = 0.02  # information below which no moment is worth an opened chamber [bit]; drystow-default


def information(weights: Array, dry: Array, mean: Array, spread: Array) -> float:
    """Return how much one number tells about dry or not dry [bit].

    weights: of the members, adding up to one [-]
    dry: 1 for members that are dry then, 0 for the others [-]
    mean: number that each member expects
    spread: standard deviation of its noise
    Source: definition, mutual information.

    >>> half = np.array([0.5, 0.5])
    >>> far = information(half, np.array([0.0, 1.0]), np.array([0.0, 10.0]), np.array([0.1, 0.1]))
    >>> print(f"{far:.2f}")
    1.00
    """
    share = float(weights @ dry)
    if not 0.0 < share < 1.0:
        return 0.0
    centre = float(weights @ mean)
    width = np.sqrt(float(weights @ ((mean - centre) ** 2 + spread**2)))
    narrow = float(np.sqrt(weights @ spread**2))
    points = max(POINTS, min(int(8.0 * width / max(narrow, 1e-12)) * 4 + 1, 2001))
    grid = np.linspace(centre - 5.0 * width, centre + 5.0 * width, points)
    density = np.exp(-0.5 * ((grid - mean[:, None]) / spread[:, None]) ** 2) / spread[:, None]
    together = (weights * dry) @ density, (weights * (1.0 - dry)) @ density
    both = together[0] + together[1]
    total = both.sum()
    told = 0.0
    for part, chance in zip(together, (share, 1.0 - share), strict=True):
        good = part > 1e-300
        told += float((part[good] * np.log2(part[good] / (both[good] * chance))).sum() / total)
    return max(told, 0.0)


def next_weighing(
    view: View, weights: Array, prior: tuple[Array, Array], candidates: list[tuple[float, int]], dry: Array
) -> float | None:
    """Return the moment at which one weighing would tell most [s from now], None when none tells anything.

    view: of the tray
    weights: of the members, adding up to one [-]
    prior: mean and covariance of the draws before any evidence
    candidates: moments [s from now], each with the number of its look
    dry: 1 where a member is dry at a candidate (members, candidates) [-]
    Source: definition, mutual information of the weight and of being dry at that moment.
    """
    told = np.array(
        [
            information(weights, dry[:, number], *_predicted(view, look, prior))
            for number, (_wait, look) in enumerate(candidates)
        ]
    )
    if told.max() < LEAST:
        return None
    return candidates[int(np.argmax(told >= NEARLY_BEST * told.max()))][0]


def weigh_again(
    view: View,
    signals: tuple[Signal, ...],
    weights: Array,
    prior: tuple[Array, Array],
    waits: list[tuple[float, int]],
    dry: Array,
    half: float,
) -> float | None:
    """Return when to weigh next [s from now]: where it tells most, else when it is likely dry; None: never.

    view: of the tray
    signals: the evidence
    weights: of the members, adding up to one [-]
    prior: mean and covariance of the draws before any evidence
    waits: moments [s from now], each with the number of its look
    dry: 1 where a member is dry at them (members, moments) [-]
    half: likely time until dry [s]
    Source: drystow-default, an hour at least and four at most.
    """
    if half <= NEAR and not any(signal.settles or signal.kind == "weighing" for signal in signals):
        return 0.0
    near = [number for number, (wait, _look) in enumerate(waits) if LEAST_WAIT <= wait <= PLANNED]
    told = next_weighing(view, weights, prior, [waits[number] for number in near], dry[:, near])
    if told is not None or not np.isfinite(half):
        return told
    return max(half, LEAST_WAIT)


def _predicted(view: View, look: int, prior: tuple[Array, Array]) -> tuple[Array, Array]:
    """Return each member's mean and standard deviation of a weight to come, given those seen [kg]."""
    past = weighings_of(view)
    last = past[-1] if past else Weighed(view.tray, 0.0, 0.0, 0.0)
    rows, looks = [*past, last], [*(place(view, row) for row in past), look]
    mean, covariance = water_prior(view, prior)
    expected = expected_weights(view, rows, looks, mean)
    total = expected.noise + expected.slope @ covariance @ expected.slope.transpose(0, 2, 1)
    if not past:
        return expected.mean[:, -1], np.sqrt(total[:, -1, -1])
    off = np.array([row.gross - row.tare for row in past]) - expected.mean[:, :-1]
    gain = np.linalg.solve(total[:, :-1, :-1], total[:, :-1, -1:])[:, :, 0]
    middle: Array = expected.mean[:, -1] + (gain * off).sum(axis=1)
    left = total[:, -1, -1] - (gain * total[:, :-1, -1]).sum(axis=1)
    return middle, np.sqrt(np.maximum(left, 1e-12))

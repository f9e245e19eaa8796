"""How likely each member makes the weighings of its tray, and when the next weighing would tell most.

A function of this kind takes a view of a tray and returns signals: one log-likelihood per member for each piece of
evidence.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from drystow.evidence.dryness.courses import (
    PLANNED,
    View,
    ice_left,
    moisture_of,
    place,
    solids_of,
    solids_slope,
    water_columns,
)
from drystow.evidence.dryness.observed import Weighed, seen_at
from drystow.evidence.dryness.scatter import covariance_of, misfit_and_density, near
from drystow.messages import msg
from drystow.numerics import Array
from drystow.shown import quantity

MODEL_SHARE = 0.25  # of the water still inside: error of the model [-]; drystow-default
MODEL_TIME = 4 * 3600.0  # over which that error keeps its sign [s]; drystow-default
CALIBRATION = 0.001  # of the net weight, the same in all weighings of a scale [-]; drystow-default
JITTER = 0.5  # steps of the scale, new in each weighing [-]; drystow-default
REPEATABILITY = 0.0002  # of the gross weight, new in each weighing [-]; drystow-default
TARE_ERROR = 0.0005  # of the empty tray, the same in all its weighings [kg]; drystow-default
UPTAKE = 6e-6  # water that dried food takes from room air, per dry mass and time [1/s]; drystow-default
UPTAKE_SPREAD = 0.6  # relative, half of it shared by all weighings [-]; drystow-default


@dataclass(frozen=True)
class Signal:
    """What one piece of evidence says.

    kind: weighing, oven_sample, activity, ...
    words: what was seen, in a cook's words
    loglik: log-likelihood of each member [-]
    count: how many numbers were seen
    misfit: squared distance of each member from them, in standard deviations; None when there is no such distance
    settles: enough by itself to call a tray dry, if the numbers say so
    """

    kind: str
    words: str
    loglik: Array
    count: int = 1
    misfit: Array | None = None
    settles: bool = False


Likelihood = Callable[[View, tuple[Array, Array]], tuple[Signal, ...]]
"""Takes a view of a tray, and mean and covariance of the draws before any evidence; returns signals."""

AN_HOUR = 55 * 60.0  # of drying between two weighings that tell something [s]; common practice


def weighings_of(view: View) -> list[Weighed]:
    """Return the tray's weighings in order of time, what the food is wrapped in taken off with the tray.

    view: of the tray
    """
    wrappers = sum(view.load.items[number].wrapper_mass for number in view.items)
    rows = sorted(
        (row for row in view.evidence.weighed if row.tray == view.tray), key=lambda row: (row.time, row.gross)
    )
    return [replace(row, tare=row.tare + wrappers) for row in rows] if wrappers else rows


@dataclass(frozen=True)
class Expected:
    """Weights that the members expect, as a normal distribution once the dry mass is left open.

    mean: net weights with the dry mass at its mean (members, weighings) [kg]
    noise: their covariance for a given dry mass (members, weighings, weighings) [kg2]
    slope: change with the water of each item (members, weighings, items) [kg]
    """

    mean: Array
    noise: Array
    slope: Array


def expected_weights(view: View, rows: list[Weighed], indices: list[int], water_mean: Array) -> Expected:
    """Return the net weights that the members expect at some weighings.

    view: of the tray
    rows: the weighings, also those not made yet
    indices: of the sample time of each
    water_mean: mean of the draws of the items' water before any evidence [-]
    Source: drystow-default, errors of scale, tare, uptake in room air and model.
    """
    moisture = np.stack([moisture_of(view, index) for index in indices], axis=1)
    frozen = np.stack([ice_left(view, index) for index in indices], axis=1)
    solids, slope, columns = solids_of(view), solids_slope(view), water_columns(view)
    water = (solids[:, None, :] * moisture).sum(axis=2)
    dried = 1.0 - frozen
    at_mean = solids.sum(axis=1)[:, None] + water
    at_mean += (dried * slope * (view.runs.draws[:, columns] - water_mean)[:, None, :]).sum(axis=2)
    outside = np.array([row.outside for row in rows])
    uptake = UPTAKE * outside * (dried * solids[:, None, :]).sum(axis=2)
    noise = covariance_of(MODEL_SHARE * water, near(view.runs.sample_times[indices], MODEL_TIME))
    # Half of the error of what it takes up outside comes with the food, the same each time, half with the day.
    noise += covariance_of(UPTAKE_SPREAD * uptake, 0.5 + 0.5 * np.eye(len(rows)))
    # One scale and one tare: all weighings are off alike, so that a difference says far more than a level does.
    noise += CALIBRATION**2 * at_mean[:, :, None] * at_mean[:, None, :] + TARE_ERROR**2
    steps = np.array([row.resolution**2 * (JITTER**2 + 1.0 / 12.0) + (REPEATABILITY * row.gross) ** 2 for row in rows])
    noise += np.diag(steps)
    return Expected(at_mean + uptake, noise, -dried * slope)


def weighing_signal(view: View, prior: tuple[Array, Array]) -> tuple[Signal, ...]:
    """Return what the weighings of a tray say, its dry mass left open (integrated out in closed form).

    view: of the tray
    prior: mean and covariance of the draws before any evidence
    Source: definition, normal distribution of linear observations.
    """
    rows = weighings_of(view)
    if not rows:
        return ()
    mean, covariance = water_prior(view, prior)
    expected = expected_weights(view, rows, [place(view, row) for row in rows], mean)
    total = expected.noise + expected.slope @ covariance @ expected.slope.transpose(0, 2, 1)
    off = np.array([row.gross - row.tare for row in rows]) - expected.mean
    misfit, loglik = misfit_and_density(off, total)
    times = [seen_at(view.clock, row) for row in rows]
    return (
        Signal(
            kind="weighing",
            words=weighing_words(rows),
            loglik=loglik,
            count=len(rows),
            misfit=misfit,
            settles=times[-1] - times[0] >= AN_HOUR,
        ),
    )


def water_prior(view: View, prior: tuple[Array, Array]) -> tuple[Array, Array]:
    """Return mean and covariance of the draws of the items' water before any evidence [-].

    view: of the tray
    prior: mean and covariance of all draws
    """
    columns = water_columns(view)
    return prior[0][columns], prior[1][np.ix_(columns, columns)]


def drawn_water(view: View, prior: tuple[Array, Array], seed: int) -> Array:
    """Return draws of the items' water that suit each member's weighings (members, items) [-].

    view: of the tray
    prior: mean and covariance of the draws before any evidence
    seed: of the random numbers
    Source: definition, conditional of a normal distribution.
    """
    mean, covariance = water_prior(view, prior)
    rows = weighings_of(view)
    normals = np.random.default_rng(seed).standard_normal((len(view.runs.draws), len(mean)))
    if not rows:
        result: Array = mean + normals @ np.linalg.cholesky(covariance).T
        return result
    expected = expected_weights(view, rows, [place(view, row) for row in rows], mean)
    off = np.array([row.gross - row.tare for row in rows]) - expected.mean
    carried = covariance @ expected.slope.transpose(0, 2, 1)
    gain = np.linalg.solve(expected.noise + expected.slope @ carried, carried.transpose(0, 2, 1)).transpose(0, 2, 1)
    middle = mean + (gain @ off[:, :, None])[:, :, 0]
    left = covariance - gain @ carried.transpose(0, 2, 1)
    left = 0.5 * (left + left.transpose(0, 2, 1)) + 1e-12 * np.eye(len(mean))
    drawn: Array = middle + (np.linalg.cholesky(left) @ normals[:, :, None])[:, :, 0]
    return drawn


def wet_moisture(view: View, index: int, solids: Array) -> Array:
    """Return the moisture of the whole tray, wet basis (members,) [-].

    view: of the tray
    index: of the sample time
    solids: dry mass of its items (members, items) [kg]
    Source: definition, water over water and dry mass.
    """
    water = (solids * moisture_of(view, index)).sum(axis=1)
    wet: Array = water / (water + solids.sum(axis=1))
    return wet


def weighing_words(rows: list[Weighed]) -> str:
    """Return what the weighings of a tray show, in a cook's words.

    rows: in order of time
    """
    last = rows[-1]
    if len(rows) == 1:
        return msg("weighed once: {net} without the tray", net=quantity(last.gross - last.tare, "small mass"))
    earlier = [row for row in rows[:-1] if last.time - row.time >= AN_HOUR] or rows[:1]
    before = earlier[-1]
    lost = (before.gross - before.tare) - (last.gross - last.tare)
    hours = (last.time - before.time) / 3600.0
    if abs(lost) < 0.5 * max(last.resolution, before.resolution):
        return msg("{count} weighings; no change in the last {hours:.1f} h", count=len(rows), hours=hours)
    if lost < 0.0:
        return msg(
            "{count} weighings; it gained {mass} in the last {hours:.1f} h",
            count=len(rows),
            mass=quantity(-lost, "fine mass"),
            hours=hours,
        )
    return msg(
        "{count} weighings; it lost {mass} in the last {hours:.1f} h",
        count=len(rows),
        mass=quantity(lost, "fine mass"),
        hours=hours,
    )


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
    candidates: moments [s from now], each with the index of its sample time
    dry: 1 where a member is dry at a candidate (members, candidates) [-]
    Source: definition, mutual information of the weight and of being dry at that moment.
    """
    told = np.array(
        [
            information(weights, dry[:, number], *_predicted(view, index, prior))
            for number, (_wait, index) in enumerate(candidates)
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
    waits: moments [s from now], each with the index of its sample time
    dry: 1 where a member is dry at them (members, moments) [-]
    half: likely time until dry [s]
    Source: drystow-default, an hour at least and four at most.
    """
    if half <= NEAR and not any(signal.settles or signal.kind == "weighing" for signal in signals):
        return 0.0
    near = [number for number, (wait, _index) in enumerate(waits) if LEAST_WAIT <= wait <= PLANNED]
    told = next_weighing(view, weights, prior, [waits[number] for number in near], dry[:, near])
    if told is not None or not np.isfinite(half):
        return told
    return max(half, LEAST_WAIT)


def _predicted(view: View, index: int, prior: tuple[Array, Array]) -> tuple[Array, Array]:
    """Return each member's mean and standard deviation of a weight to come, given those seen [kg]."""
    past = weighings_of(view)
    last = past[-1] if past else Weighed(view.tray, 0.0, 0.0, 0.0)
    rows, indices = [*past, last], [*(place(view, row) for row in past), index]
    mean, covariance = water_prior(view, prior)
    expected = expected_weights(view, rows, indices, mean)
    total = expected.noise + expected.slope @ covariance @ expected.slope.transpose(0, 2, 1)
    if not past:
        return expected.mean[:, -1], np.sqrt(total[:, -1, -1])
    off = np.array([row.gross - row.tare for row in past]) - expected.mean[:, :-1]
    gain = np.linalg.solve(total[:, :-1, :-1], total[:, :-1, -1:])[:, :, 0]
    middle: Array = expected.mean[:, -1] + (gain * off).sum(axis=1)
    left = total[:, -1, -1] - (gain * total[:, :-1, -1]).sum(axis=1)
    return middle, np.sqrt(np.maximum(left, 1e-12))

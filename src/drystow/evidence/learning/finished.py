"""A finished batch: what was seen of it, and what every member says should have been seen."""

from dataclasses import dataclass, field

import numpy as np
from scipy.stats import f, t

from drystow.evidence.dryness.courses import HELD, View, ice_left, moisture_of, place, solids_of, views_of
from drystow.evidence.dryness.observed import Clock, Evidence, Row, clock_of, drying_time, seen_at
from drystow.evidence.dryness.reading import GONE
from drystow.evidence.dryness.samples import SAMPLING, SAMPLING_LEAST, activity_of
from drystow.evidence.dryness.scatter import thinned
from drystow.evidence.dryness.weighings import UPTAKE, expected_weights, weighings_of, wet_moisture
from drystow.machine.ensemble import Members
from drystow.machine.load import Load
from drystow.numerics import Array

END_ERROR = 0.02  # relative, of a time at which something was dry, beside what was stated [-]; drystow-default
GAUGE, GAUGE_EACH = 0.2, 0.08  # relative errors of a pressure gauge, shared and of each reading; drystow-default
OPEN_CHAMBER = 2000.0  # pressure from which nothing dries under vacuum [Pa]; drystow-default
PROBE, PROBE_EACH = 2.0, 1.0  # the same of a probe in food, with its place in the piece [K]; drystow-default
MOST_READINGS = 10  # of a curve that are used
MOMENTS = 141  # at which the members are sampled
BEYOND = 3.0  # times the last thing seen, up to which they are sampled


@dataclass(frozen=True)
class Ended:
    """When something was found dry, or ended by itself because it was.

    time: since drying began [s]
    tray: number from 1, None for the whole load
    error: standard deviation of the time [s]
    """

    time: float
    tray: int | None = None
    error: float = 1800.0


@dataclass(frozen=True)
class Finished:
    """A batch that is over.

    key: name of the batch
    load: food, dryer and program
    evidence: what was seen; times count from when drying began
    ended: when it was dry
    day: of its end, since the start of 1970 [d]
    groups: numbers of the tray items (from 0) of each tray; empty: one item, one tray
    began_seen: when drying began was seen; otherwise it was worked out from when the food went in
    services: kinds of entries of the service log since the batch before
    """

    key: str
    load: Load
    evidence: Evidence
    ended: tuple[Ended, ...] = ()
    day: float = 0.0
    groups: tuple[tuple[int, ...], ...] = ()
    began_seen: bool = True
    services: tuple[str, ...] = ()

    @property
    def trays(self) -> tuple[tuple[int, ...], ...]:
        """Numbers of the tray items of each tray."""
        return self.groups or tuple((number,) for number in range(len(self.load.items)))


@dataclass(frozen=True)
class SeenNumbers:
    """What was seen beside what the members expect, in numbers that are nearly normal.

    kinds: weighing, end, oven_sample, activity, pressure or probe, one for each number
    trays: number of the tray of each, 0 for the machine
    observed: what was seen (numbers,)
    expected: by each member (members, numbers)
    noise: covariance of the errors (numbers, numbers)
    """

    kinds: tuple[str, ...]
    trays: tuple[int, ...]
    observed: Array
    expected: Array
    noise: Array = field(repr=False)


def sample_times_for(finished: Finished) -> Array:
    """Return the moments at which members are looked at, evenly [s].

    finished: the batch
    """
    clock = clock_of(finished.evidence, finished.load.rig.dryer.pump_down)
    rows: list[Row] = [*finished.evidence.weighed, *finished.evidence.samples, *finished.evidence.activities]
    times = [seen_at(clock, row) for row in rows] + [float(drying_time(clock, one.time)) for one in finished.ended]
    times += [row.time for row in finished.evidence.pressures] + [row.time for row in finished.evidence.probes]
    return np.linspace(0.0, BEYOND * max([*times, 3600.0]), MOMENTS)


def seen_of(finished: Finished, runs: Members, pace: Array, begin: float, classes: int) -> SeenNumbers:
    """Return what was seen beside what the members expect.

    finished: the batch
    runs: members with evenly spaced sample times, items in classes of thickness
    pace: logarithm of how much longer everything takes in this batch (members,) [-]
    begin: nominal beginning of drying, since the food went in [s]
    classes: of thickness in the runs
    """
    clock = clock_of(finished.evidence, finished.load.rig.dryer.pump_down)
    late = np.zeros(len(pace)) if finished.began_seen else runs.start - begin
    nothing = np.full((len(pace), len(finished.load.items)), -50.0)  # held water is an error here, not a number
    views = views_of(finished.load, runs, finished.trays, classes, finished.evidence, clock, 0.0, nothing)
    parts: list[tuple[str, int, Array, Array, Array]] = []
    for view in views:
        parts += _weights(view, pace, late)
        parts += _samples(view, pace, late)
        parts += _probes(view, pace, late)
    parts += _ends(finished, views, clock, pace, late)
    parts += _pressures(finished, runs, clock, pace, late)
    sizes = [len(part[2]) for part in parts]
    noise, at = np.zeros((sum(sizes), sum(sizes))), 0
    for size, part in zip(sizes, parts, strict=True):
        noise[at : at + size, at : at + size] = part[4]
        at += size
    return SeenNumbers(
        kinds=tuple(part[0] for size, part in zip(sizes, parts, strict=True) for _ in range(size)),
        trays=tuple(part[1] for size, part in zip(sizes, parts, strict=True) for _ in range(size)),
        observed=np.concatenate([part[2] for part in parts]) if parts else np.zeros(0),
        expected=np.concatenate([part[3] for part in parts], axis=1) if parts else np.zeros((len(pace), 0)),
        noise=noise,
    )


def curve_at(sample_times: Array, curves: Array, times: Array) -> Array:
    """Return the value of each member's curve at a time of its own (members,).

    sample_times: evenly spaced, from 0 [s]
    curves: (members, times)
    times: of each member [s]
    Source: definition, linear between the sample times.
    """
    place = np.clip(times / sample_times[1], 0.0, len(sample_times) - 1.000001)
    before = place.astype(int)
    members = np.arange(len(curves))
    low, high = curves[members, before], curves[members, before + 1]
    result: Array = low + (place - before) * (high - low)
    return result


def dry_times(view: View) -> Array:
    """Return when each member's tray is dry, in drying time, at most the last sample time (members,) [s].

    view: of the tray
    Source: definition, mean moisture at the target and no ice; moisture falls exponentially between the sample times.
    """
    items = [view.load.items[number] for number in view.items]
    solids = np.array([item.solids for item in items])
    wished = float(solids @ np.array([item.target / (1.0 - item.target) for item in items]))
    times = view.runs.sample_times
    there = np.stack([moisture_of(view, index) @ solids for index in range(len(times))], axis=1)
    excess = np.log(np.maximum(there, 1e-12) / wished)
    columns = [part for parts in view.parts for part in parts]
    reached = (excess <= 0.0) & (view.runs.dried_fraction[:, :, columns] >= GONE).all(axis=2)
    first = np.where(reached.any(axis=1), np.argmax(reached, axis=1), len(times) - 1)
    members, before = np.arange(len(first)), np.maximum(first - 1, 0)
    above, below = excess[members, before], excess[members, first]
    share = np.where(above > 0.0, np.clip(above / np.maximum(above - below, 1e-9), 0.0, 1.0), 1.0)
    result: Array = np.maximum(times[before] + share * (times[first] - times[before]), times[1])
    return result


def _own(time: float, pace: Array, late: Array) -> Array:
    result: Array = np.maximum(time - late, 0.0) * np.exp(-pace)
    return result


def _weights(view: View, pace: Array, late: Array) -> list[tuple[str, int, Array, Array, Array]]:
    rows = weighings_of(view)
    if not rows:
        return []
    solids, times = solids_of(view), view.runs.sample_times
    net = np.stack([(solids * (1.0 + moisture_of(view, index))).sum(axis=1) for index in range(len(times))], axis=1)
    nearest = [place(view, row) for row in rows]
    expected = np.stack([curve_at(times, net, _own(seen_at(view.clock, row), pace, late)) for row in rows], axis=1)
    dry = np.stack([((1.0 - ice_left(view, index)) * solids).sum(axis=1) for index in nearest], axis=1)
    expected = expected + UPTAKE * np.array([row.outside for row in rows]) * dry
    noise = expected_weights(view, rows, nearest, np.zeros(len(view.items))).noise.mean(axis=0)
    monolayer = float(np.mean([view.load.items[number].isotherm.monolayer for number in view.items]))
    held = HELD * monolayer * dry.mean(axis=0)
    observed = np.array([row.gross - row.tare for row in rows])
    return [("weighing", view.tray, observed, expected, noise + held[:, None] * held)]


def _samples(view: View, pace: Array, late: Array) -> list[tuple[str, int, Array, Array, Array]]:
    parts, sample_times, solids = [], view.runs.sample_times, solids_of(view)
    samples = [row for row in view.evidence.samples if row.tray == view.tray]
    meters = [row for row in view.evidence.activities if row.tray == view.tray]
    if samples:
        wet = np.stack([wet_moisture(view, index, solids) for index in range(len(sample_times))], axis=1)
    for row in samples:
        real = curve_at(sample_times, wet, _own(seen_at(view.clock, row), pace, late))[:, None]
        seen = (row.before - row.after) / row.before
        spread = np.hypot(max(SAMPLING * seen, SAMPLING_LEAST), row.resolution / row.before)
        parts.append(("oven_sample", view.tray, np.array([seen]), real, np.array([[spread**2]])))
    if meters:
        active = np.stack([activity_of(view, index) for index in range(len(sample_times))], axis=1)
    for meter in meters:
        real = curve_at(sample_times, active, _own(seen_at(view.clock, meter), pace, late))[:, None]
        spread = np.hypot(max(SAMPLING * meter.activity, 0.005), meter.error)
        parts.append(("activity", view.tray, np.array([meter.activity]), real, np.array([[spread**2]])))
    return parts


def _ends(
    finished: Finished, views: list[View], clock: Clock, pace: Array, late: Array
) -> list[tuple[str, int, Array, Array, Array]]:
    if not finished.ended:
        return []
    times = [dry_times(view) for view in views]
    parts = []
    for one in finished.ended:
        real = np.max(times, axis=0) if one.tray is None else times[one.tray - 1]
        took = float(drying_time(clock, one.time))
        expected = np.log(np.maximum(real * np.exp(pace) + late, 60.0))[:, None]
        spread = np.hypot(END_ERROR, one.error / took)
        parts.append(("end", one.tray or 0, np.array([np.log(took)]), expected, np.array([[spread**2]])))
    return parts


def _pressures(
    finished: Finished, runs: Members, clock: Clock, pace: Array, late: Array
) -> list[tuple[str, int, Array, Array, Array]]:
    good = [row for row in finished.evidence.pressures if 0.0 < row.pressure < OPEN_CHAMBER and row.time > 0.0]
    back = clock.starts + clock.lengths
    closed = [row for row in good if not ((clock.starts <= row.time) & (row.time <= back)).any()]
    rows = thinned(closed, MOST_READINGS)
    if not rows:
        return []
    logs = np.log(np.maximum(runs.pressure, 1e-3))
    times = [float(drying_time(clock, row.time)) for row in rows]
    expected = np.stack([curve_at(runs.sample_times, logs, _own(time, pace, late)) for time in times], axis=1)
    noise = GAUGE**2 + GAUGE_EACH**2 * np.eye(len(rows))
    return [("pressure", 0, np.log([row.pressure for row in rows]), expected, noise)]


def _probes(view: View, pace: Array, late: Array) -> list[tuple[str, int, Array, Array, Array]]:
    seen = [row for row in view.evidence.probes if row.tray == view.tray and row.time > 0.0]
    rows = thinned(seen, MOST_READINGS)
    if not rows:
        return []
    curves = view.runs.temperature[:, :, view.parts[0][0]]
    times = [float(drying_time(view.clock, row.time)) for row in rows]
    expected = np.stack([curve_at(view.runs.sample_times, curves, _own(time, pace, late)) for time in times], axis=1)
    noise = PROBE**2 + PROBE_EACH**2 * np.eye(len(rows))
    return [("probe", view.tray, np.array([row.product for row in rows]), expected, noise)]


OUT_OF_LINE = 0.01
"""Chance, of batches that are in line, to be called out of line nevertheless [-]. Source: drystow-default."""


TAILS = 20
"""Degrees of freedom of the spreads: they are guesses, so that unlikely things happen more often than under a normal
distribution [-]. Source: drystow-default, so that ordinary batches are not flagged (docs/evidence-learning.md)."""


USUAL = 0.05  # chance below which a batch teaches less, the further off the less; drystow-default


RANGE = (50.0, 5.0, 95.0)


@dataclass(frozen=True)
class Surprise:
    """How far a batch was from what was expected of it.

    chance: that a batch in line is at least as far off, all things seen together [-]
    time_chance: the same for the time until it was dry alone; None when that was not seen [-]
    expected: middle, and nine in ten between the first and the last, of the time from the beginning of drying [s]
    took: time that was seen, None when it was not [s]
    out_of_line: further than chance explains
    doubt: factor on the spread between expected and seen that would make the batch usual, at least 1 [-]
    """

    chance: float
    time_chance: float | None
    expected: tuple[float, float, float]
    took: float | None
    out_of_line: bool
    doubt: float


def surprise_of(finished: Finished, seen: SeenNumbers, times: Array) -> Surprise:
    """Return how far a batch is from what was expected of it.

    finished: the batch
    seen: what was seen beside what members expect that know of earlier batches only
    times: when all is dry, by each member, from the beginning of drying [s]
    Source: mahalanobis1936, squared distance over its expected size against an F distribution; posterior predictive.
    """
    off = distances(seen, seen.observed - seen.expected.mean(axis=0))
    distance, count = float(off @ off), len(seen.observed)
    chance = float(f.sf(distance / count, count, TAILS))
    doubt = distance / count / float(f.isf(USUAL, count, TAILS))
    middle, low, high = (float(value) for value in np.percentile(times, RANGE))
    whole = [one for one in finished.ended if one.tray is None]
    took, time_chance = None, None
    if whole:
        at = list(zip(seen.kinds, seen.trays, strict=True)).index(("end", 0))
        expected = seen.expected[:, at]
        spread = float(np.hypot(np.std(expected, ddof=1), np.sqrt(seen.noise[at, at])))
        sigmas = abs(float(seen.observed[at] - expected.mean())) / spread
        time_chance = float(2.0 * t.sf(sigmas, TAILS))
        doubt = max(doubt, (sigmas / float(t.isf(0.5 * USUAL, TAILS))) ** 2)
        took = float(drying_time(clock_of(finished.evidence, finished.load.rig.dryer.pump_down), whole[0].time))
    least = chance if time_chance is None else 2.0 * min(chance, time_chance)
    return Surprise(chance, time_chance, (middle, low, high), took, least < OUT_OF_LINE, max(doubt, 1.0))


def distances(seen: SeenNumbers, off: Array) -> Array:
    """Return differences in independent standard deviations [-].

    seen: what members expect, and the errors
    off: differences from the mean of what members expect, or between two such means
    Source: mahalanobis1936.
    """
    covariance = np.atleast_2d(np.cov(seen.expected, rowvar=False)) + seen.noise
    root = np.linalg.cholesky(covariance)
    result: Array = np.linalg.solve(root, off)
    return result

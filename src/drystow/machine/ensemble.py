"""How sure the times are: the same load many times, with every uncertain number drawn from its spread."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from drystow.errors import check_range
from drystow.machine.layout import Machine, Tray
from drystow.machine.load import Load
from drystow.machine.run import TOLERANCE, dry, drying_program, freeze_load, load_arrays, start_of_drying
from drystow.numerics import Array

VARIETY_SPREAD = 0.015  # of the water fraction between varieties and lots, beyond the table's own error; ifct2017
THICKNESS_SPREAD = 0.08  # relative, of hand-cut pieces; drystow-default
CONTACT_SPREAD = 0.2  # relative, of the machine's heat transfer, shared by all trays; drystow-default
REFRIGERATION_SPREAD = 0.08  # relative; drystow-default
DESORPTION_SPREAD = 0.25  # relative; drystow-default
FREEZING_SPREAD = 0.2  # relative; drystow-default
PERCENTILES = (10.0, 50.0, 90.0)
SHARED = 3  # draws shared by all trays: contact, refrigeration, freezing
PER_TRAY = 5  # draws of one tray: water, thickness, resistance, conductivity, desorption


@dataclass(frozen=True)
class Spread:
    """Ranges of the times of a load: the 10th, 50th and 90th percentile of the members.

    members: how many runs
    freezing_end: per tray (rows) the three percentiles [s]
    primary_end: likewise, NaN where more than a tenth of the members never get there [s]
    dry_end: likewise [s]
    total: the three percentiles of the end of the run [s]
    """

    members: int
    freezing_end: Array
    primary_end: Array
    dry_end: Array
    total: Array


def simulate_spread(load: Load, members: int, seed: int = 1, tick: Callable[[], None] = lambda: None) -> Spread:
    """Return the ranges of a load's times from a Latin hypercube of its uncertain numbers.

    load: food, dryer and program
    members: how many runs, 2 to 20000
    seed: of the random numbers; the same seed gives the same result
    tick: called after each member, for a progress bar
    Source: drystow-default, spreads of the food classes and of the machine.
    """
    check_range("members", members, 2, 20000, "")
    trays, machine = load_arrays(load)
    count = len(load.items)
    normal = _latin_normals(members, SHARED + PER_TRAY * count, seed)
    freezing = freeze_load(load)
    frozen = np.array([result.time for result in freezing])
    start, shelf = start_of_drying(load, freezing)
    program = drying_program(load)
    ice_gone, finished, total = np.empty((members, count)), np.empty((members, count)), np.empty(members)
    freeze_factor = np.exp(FREEZING_SPREAD * normal[:, 2])
    for member in range(members):
        arrays = _drawn(load, trays, machine, normal[member])
        raw = dry(arrays, program, shelf, TOLERANCE, 0)
        begin = start + frozen.max(initial=0.0) * (freeze_factor[member] - 1.0)
        ice_gone[member] = begin + raw.times[:, 0]
        finished[member] = begin + raw.times[:, 1]
        total[member] = begin + raw.end
        tick()
    return Spread(
        members=members,
        freezing_end=np.percentile(freeze_factor[:, None] * frozen, PERCENTILES, axis=0).T,
        primary_end=_percentiles(ice_gone),
        dry_end=_percentiles(finished),
        total=np.percentile(total, PERCENTILES),
    )


def _percentiles(times: Array) -> Array:
    result = np.full((times.shape[1], len(PERCENTILES)), np.nan)
    for tray, column in enumerate(times.T):
        if np.isnan(column).mean() < 0.1:
            result[tray] = np.percentile(np.where(np.isnan(column), np.inf, column), PERCENTILES, method="nearest")
    return result


def _latin_normals(members: int, dimensions: int, seed: int) -> Array:
    random = np.random.default_rng(seed)
    inverse = np.vectorize(NormalDist().inv_cdf, otypes=[float])
    strata = np.array([random.permutation(members) for _ in range(dimensions)]).T
    shares = (strata + random.random((members, dimensions))) / members
    normals: Array = inverse(np.clip(shares, 1e-9, 1 - 1e-9))
    return np.clip(normals, -3.0, 3.0)


def _drawn(load: Load, trays: Array, machine: Array, normal: Array) -> tuple[Array, Array]:
    trays, machine = trays.copy(), machine.copy()
    trays[:, [Tray.KV_CONSTANT, Tray.KV_GAS, Tray.H_ABOVE]] *= np.exp(CONTACT_SPREAD * normal[0])
    machine[Machine.REFRIGERATION] *= np.exp(REFRIGERATION_SPREAD * normal[1])
    for number, item in enumerate(load.items):
        row = trays[number]
        water, thickness, resistance, conductivity, desorption = normal[SHARED + PER_TRAY * number :][:PER_TRAY]
        extra = item.mass * math.hypot(item.food.composition.water_sd, VARIETY_SPREAD) * water
        extra = min(max(extra, -0.5 * item.ice), 0.5 * item.solids)
        row[Tray.ICE] += extra
        bound = row[Tray.BOUND] * row[Tray.SOLIDS]
        row[Tray.SOLIDS] -= extra
        row[Tray.BOUND] = bound / row[Tray.SOLIDS]
        row[Tray.LENGTH] *= np.exp(THICKNESS_SPREAD * thickness)
        row[Tray.A1] *= np.exp(item.layer.resistance_spread * resistance)
        row[[Tray.KD_VACUUM, Tray.KD_GAS]] *= np.exp(item.layer.conductivity_spread * conductivity)
        row[Tray.DESORPTION_RATE] *= np.exp(DESORPTION_SPREAD * desorption)
    return trays, machine

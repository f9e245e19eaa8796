"""Predict one published run: missing inputs over their ranges, the engine's own numbers over their spreads."""

import math
import zlib
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from scipy.special import ndtr, ndtri
from scipy.stats import qmc

from drystow.errors import InputError
from drystow.machine.ensemble import Members, simulate_members
from drystow.machine.load import Load
from drystow.machine.loadfile import parse_load
from drystow.machine.run import NO_BALANCE
from drystow.machine.sampling import (
    CONTACT_SPREAD,
    PER_ITEM,
    SHARED,
    UNCALIBRATED,
    Calibration,
    column,
    load_samples,
)
from drystow.numerics import Array
from drystow.units import in_file
from tools.measured_runs.published import Range, Run

AREA = 0.1  # of the tray that a run covers [m2]; the result does not depend on it
COVER = 0.6  # share of the tray in the shadow of single pieces
MOMENTS = 80  # moments at which the water of a run that is timed before its ice is gone is sampled at
OWN_MACHINE = "heat"  # input that says how the heat of a study's machine differs from ours


@dataclass(frozen=True)
class Taught:
    """What other studies taught.

    classes: of the program's uncertain numbers, in the form in which batches teach them
    heat: mean and standard deviation of the heat of laboratory machines, in standard deviations of its range
    """

    classes: Calibration = field(default_factory=lambda: UNCALIBRATED)
    heat: tuple[float, float] = (0.0, 1.0)


NOTHING = Taught()


@dataclass(frozen=True)
class Answers:
    """What the engine says of a run, a row a member.

    names: of the missing inputs
    shares: where in its range each missing input was, 0 to 1 (members, names)
    draws: of the engine's uncertain numbers (members, columns)
    kinds: class of the food of each member
    values: what the run measures, infinite where a member never gets there
    gone: time until the ice is gone [s]
    dry: time until dry [s]
    left: water left with the last ice, dry basis
    """

    names: tuple[str, ...]
    shares: Array
    draws: Array
    kinds: tuple[str, ...]
    values: Array
    gone: Array
    dry: Array
    left: Array


def answers_of(run: Run, study: Sequence[Run], members: int, seed: int, taught: Taught = NOTHING) -> Answers:
    """Return what the engine says of a run. Runs of one study are drawn together: one thickness, one machine, and foods
    of a class as alike as on the trays of one load.

    run: published
    study: all runs of its source, itself among them
    members: how many runs of the engine
    seed: of the random numbers
    taught: what other studies taught
    """
    names = tuple(run.missing)
    shares = np.array([_shares(name, span, members, seed) for name, span in run.missing.items()]).T
    shares = shares.reshape(members, len(names))
    if OWN_MACHINE in names:
        mean, width = taught.heat
        shares[:, names.index(OWN_MACHINE)] = ndtr(mean + width * ndtri(shares[:, names.index(OWN_MACHINE)]))
    inputs = [run.inputs(row) for row in shares]
    loads = [load_of(run, row) for row in inputs]
    kinds = tuple(load.items[0].food.food_class for load in loads)
    by_kind = {
        kind: _draws(run, loads[kinds.index(kind)], study, members, seed + 1, taught.classes) for kind in set(kinds)
    }
    draws = np.array([by_kind[kind][row] for row, kind in enumerate(kinds)])
    if OWN_MACHINE in names:
        draws[:, column("contact")] = [math.log(row[OWN_MACHINE]) / CONTACT_SPREAD for row in inputs]
    with ThreadPoolExecutor(1) as thread:
        measured = [_measured(run, load, row[None], thread) for load, row in zip(loads, draws, strict=True)]
    values, gone, dry, left = np.array(measured).T
    return Answers(names, shares, draws, kinds, np.where(np.isnan(values), np.inf, values), gone, dry, left)


def _draws(run: Run, load: Load, study: Sequence[Run], members: int, seed: int, known: Calibration) -> Array:
    """Draw the engine's uncertain numbers for a run, as for one tray of a load with all foods of its study."""
    items = tuple(load.items[0] if one is run else load_of(one, middle_of(one)).items[0] for one in study)
    drawn = load_samples(replace(load, items=items), members, seed, known=known)
    own = [column(cause, study.index(run)) for cause in PER_ITEM]
    return np.concatenate([drawn[:, : len(SHARED)], drawn[:, own]], axis=1)


def _shares(name: str, span: Range, members: int, seed: int) -> Array:
    """Numbers from 0 to 1, spread evenly, the same for one input with one range in every run."""
    place = zlib.crc32(f"{name} {span.values}".encode())
    drawn: Array = qmc.LatinHypercube(1, rng=np.random.default_rng([seed, place])).random(members)[:, 0]
    return drawn


def middle_of(run: Run) -> dict[str, Any]:
    """Return every input of a run, each missing one at the middle of its range.

    run: published
    """
    return run.inputs(np.full(len(run.missing), 0.5))


def load_of(run: Run, inputs: Mapping[str, Any]) -> Load:
    """Return a run as a load, written as a load file writes it.

    run: published
    inputs: every input in SI, such as `Run.inputs` gives them

    This is the one place that knows how a load file is written.
    """
    tray = {**run.table, "frozen": True, "start_temperature": in_file(inputs["frozen"], "temperature")}
    if "composition" in tray:
        water = {"water": inputs["water"]} if "water" in inputs else {}
        tray["composition"] = {**tray["composition"], **water}
    for name in ("like", "faces"):
        if name in inputs:
            tray[name] = inputs[name]
    if "skin" in inputs:
        tray["skin_state"] = inputs["skin"]
    if "end" in inputs:
        tray["final_moisture"] = inputs["end"]
    dryer = {
        "pressure_mode": "held",
        "chamber_pressure": in_file(inputs["pressure"], "pressure"),
        "surroundings": in_file(inputs["surroundings"], "temperature"),
    }
    if isinstance(inputs["plate"], list):
        stage = in_file(inputs["stage"], "time") if "stage" in inputs else ""
        program = {"program": {"shelf": [step.format(stage=stage) for step in inputs["plate"]]}}
    else:
        program, dryer["shelf_temperature"] = {}, in_file(inputs["plate"], "temperature")

    def written(size: float, mass: float) -> Load:
        row = {**tray, "size": in_file(size, "length"), "mass": in_file(mass, "mass"), "area": in_file(AREA, "area")}
        return parse_load({"dryer": dryer, **program, "tray": [row]})

    density = written(0.01, 0.5).items[0].density
    if run.table["shape"] != "slab":
        size = inputs["size"]
        return written(
            size, density * COVER * AREA * size * (math.pi / 4.0 if run.table["shape"] == "stick" else 2.0 / 3.0)
        )
    bulk = density * inputs["fill"]
    size = inputs["size"] if "size" in inputs else inputs["load"] / bulk
    return written(size, bulk * size * AREA)


def _measured(run: Run, load: Load, draws: Array, thread: ThreadPoolExecutor) -> tuple[float, float, float, float]:
    """Return what the run measures, when the ice is gone, when the food is dry [s], NaN: never, and the water left with
    the last ice. Numbers for which the engine finds no balance never get there.
    """
    try:
        members = simulate_members(load, draws, executor=thread)
    except InputError as problem:
        if problem.message != NO_BALANCE:
            raise
        return math.nan, math.nan, math.nan, math.nan
    gone, dry = (float(times[0, 0] - members.start[0]) for times in (members.ice_gone, members.dry))
    if math.isnan(gone):
        return math.nan, gone, dry, math.nan
    until = gone if math.isnan(dry) else max(gone, dry)
    moments = np.linspace(0.0, until, MOMENTS).tolist() if run.measure == "down to" else [gone]
    sampled = simulate_members(load, draws, sample_times=moments, executor=thread)
    left = float(np.interp(gone, sampled.sample_times, sampled.moisture[0, :, 0]))
    if run.measure == "down to":
        return _down_to(sampled, load, dry), gone, dry, left
    measured = {"ice gone": gone, "dry": dry, "share of the time": gone / dry, "water at the last ice": left}
    return measured[run.measure], gone, dry, left


def _down_to(members: Members, load: Load, dry: float) -> float:
    """Return when all water, ice included, is down to the target [s]; NaN when it never is."""
    if math.isnan(dry):
        return math.nan
    wanted, left = load.items[0].target / (1.0 - load.items[0].target), members.moisture[0, :, 0]
    below = np.flatnonzero(left <= wanted)
    if not len(below) or below[0] == 0:
        return dry
    at = below[0]
    share = (left[at - 1] - wanted) / (left[at - 1] - left[at])
    before, after = members.sample_times[at - 1], members.sample_times[at]
    return float(before + share * (after - before))

"""How sure the times are: the same load many times, with every uncertain number drawn from its spread."""

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

import numba
import numpy as np

from drystow.errors import InputError, check_range
from drystow.machine import stepper
from drystow.machine.events import TRAY_TIMES, forget, new_log
from drystow.machine.layout import (
    MACHINE_RECORD,
    RECORD_PER_TRAY,
    ItemRecord,
    MachineRecord,
    ProgramRow,
    TrayTime,
)
from drystow.machine.load import Load
from drystow.machine.result import LoadResult
from drystow.machine.run import NO_BALANCE, drying_program, freeze_load, start_of_drying
from drystow.machine.sampling import PER_ITEM, SHARED, UNCALIBRATED, Calibration, column, drawn_numbers, load_samples
from drystow.machine.stepper import FAILED, new_state
from drystow.messages import msg
from drystow.numerics import Array
from drystow.numerics.compiled import compiled
from drystow.ranges import LONGEST

MOST_ROWS = 1500  # records of a member that its samples are read from; later ones are left out
SAMPLED = (MachineRecord.SHELF, MachineRecord.PRESSURE, MachineRecord.TRAP_SURFACE, MachineRecord.FLOW)
"""Columns of the machine that are sampled: the first behind the time, in their order."""


class Runs(NamedTuple):
    """What a chunk of members leaves behind; times count from the start of drying.

    tray_times: `TrayTime` (members, items, columns)
    ends: of the runs (members,) [s]
    endings: their codes, as in the stepper (members,)
    items: `ItemRecord` at the sample times (members, times, items, columns)
    machine: `SAMPLED` at the sample times (members, times, columns)
    """

    tray_times: Array
    ends: Array
    endings: Array
    items: Array
    machine: Array


@numba.njit(cache=True, error_model="numpy", nogil=True)  # without the lock: threads run members on all cores
def _run_chunk(
    trays: Array,
    machines: Array,
    program: Array,
    offsets: Array,
    shelf: float,
    tolerance: float,
    longest: float,
    sample_times: Array,
    runs: Runs,
) -> None:
    members, count = trays.shape[0], trays.shape[1]
    log = new_log(count, MOST_ROWS if sample_times.size > 0 else 0)
    steps = program.copy()
    for member in range(members):
        steps[:, ProgramRow.SETPOINT] = program[:, ProgramRow.SETPOINT] + offsets[member]
        forget(log)
        ending, kept, end = stepper.run(
            new_state(trays[member], shelf), steps, trays[member], machines[member], tolerance, longest, log
        )
        runs.endings[member], runs.ends[member] = ending, end
        runs.tray_times[member] = log.tray_times
        if kept > 0:
            sample(log.series[:kept], sample_times, runs.items[member], runs.machine[member])


@compiled
def sample(series: Array, sample_times: Array, items: Array, machine: Array) -> None:
    """Fill what the records say of some moments, which are in order: linear between records, the last one after them.

    items: (times, items, `ItemRecord`)
    machine: (times, columns of `MachineRecord` behind the time)
    """
    at, kept = 0, series.shape[0]
    for index in range(sample_times.size):
        moment = min(sample_times[index], series[kept - 1, MachineRecord.TIME])
        while at < kept - 2 and series[at + 1, MachineRecord.TIME] < moment:
            at += 1
        before, after = series[at], series[min(at + 1, kept - 1)]
        length = after[MachineRecord.TIME] - before[MachineRecord.TIME]
        share = (moment - before[MachineRecord.TIME]) / length if length > 0.0 else 1.0
        share = min(max(share, 0.0), 1.0)
        for entry in range(machine.shape[1]):
            column = MachineRecord.SHELF + entry
            machine[index, entry] = before[column] + share * (after[column] - before[column])
        for j in range(items.shape[1]):
            for part in range(RECORD_PER_TRAY):
                place = MACHINE_RECORD + RECORD_PER_TRAY * j + part
                items[index, j, part] = before[place] + share * (after[place] - before[place])


run_chunk: Any = _run_chunk


PERCENTILES = (10.0, 50.0, 90.0)
ENSEMBLE_TOLERANCE = 1e-4  # relative error of a step: far below what the spreads leave open
CHUNK = 25  # members that one task runs
ALLOWED_FAILURES = 0.02  # share of members whose numbers have no balance

Executor = Any
"""Anything with ``submit(function, *arguments)`` that returns something with ``result()``: threads, processes, Dask."""


@dataclass(frozen=True)
class Members:
    """Many runs of one load; times count from when the food went in, sample times from the start of drying.

    draws: standard normal numbers, columns as `draws.column` tells (members, columns)
    trays: tray rows (members, items, columns)
    start: beginning of drying [s]
    freezing: factor on the freezing times [-]
    ice_gone: per item, NaN: never [s]
    dry: per item, NaN: never [s]
    hottest: per item, the warmest that its ice front gets [K]
    end: of the run [s]
    ending: code of the ending, as in the stepper
    sample_times: moments at which the courses were sampled [s]
    dried_fraction: share of the ice that is gone (members, times, items) [-]
    temperature: ice front, then the dried food (members, times, items) [K]
    moisture: all water, dry basis (members, times, items) [-]
    water: that is not ice, per dry mass of each cell from outside (members, times, items, cells) [-]
    shelf: (members, times) [K]
    pressure: (members, times) [Pa]
    trap: surface of the trap's ice (members, times) [K]
    vapour: flow to the trap (members, times) [kg/s]
    """

    draws: Array
    trays: Array
    start: Array
    freezing: Array
    ice_gone: Array
    dry: Array
    hottest: Array
    end: Array
    ending: Array
    sample_times: Array
    dried_fraction: Array
    temperature: Array
    moisture: Array
    water: Array
    shelf: Array
    pressure: Array
    trap: Array
    vapour: Array


@dataclass(frozen=True)
class Spread:
    """Ranges of the times of a load: the 10th, 50th and 90th percentile of the members.

    members: how many runs
    freezing_end: per tray (rows) the three percentiles [s]
    primary_end: likewise, NaN where more than a tenth of the members never get there [s]
    dry_end: likewise [s]
    total: the three percentiles of the end of the run [s]
    runs: the members themselves
    """

    members: int
    freezing_end: Array
    primary_end: Array
    dry_end: Array
    total: Array
    runs: Members = field(repr=False)


def simulate_members(
    load: Load,
    draws: Array,
    *,
    sample_times: Sequence[float] = (),
    program: Array | None = None,
    executor: Executor | None = None,
    tick: Callable[[int], None] = lambda _count: None,
) -> Members:
    """Return the course of a load for every row of draws.

    load: food, dryer and program
    draws: standard normal numbers (members, columns) as `load_draws` gives them
    sample_times: moments at which the course is sampled, in order, since drying began [s]
    program: rows of duration [s] and set-point [K] that replace the load's
    executor: runs the chunks; threads on all cores when None
    tick: called after each chunk with its number of members, for a progress bar
    Source: drystow-default, spreads of the food classes and of the machine.
    """
    freezing = freeze_load(load)
    slowest = max(result.time for result in freezing)
    if not np.isfinite(slowest):
        raise InputError(
            "tray", msg("a food is not frozen through after four days; cut it thinner or freeze it colder")
        )
    start, shelf = start_of_drying(load, freezing)
    drawn = drawn_numbers(load, draws)
    steps = drying_program(load) if program is None else program
    moments = np.asarray(sample_times, dtype=float)
    parts = [
        (drawn.trays[at : at + CHUNK], drawn.machines[at : at + CHUNK], steps, drawn.shelf_offset[at : at + CHUNK],
         shelf, moments)
        for at in range(0, len(draws), CHUNK)
    ]  # fmt: skip
    if executor is None:
        with ThreadPoolExecutor(os.cpu_count()) as threads:
            answers = _gather(threads, parts, tick)
    else:
        answers = _gather(executor, parts, tick)
    found = Runs(*(np.concatenate(pieces) for pieces in zip(*answers, strict=True)))
    if (found.endings == FAILED).mean() > ALLOWED_FAILURES:
        raise InputError("dryer", NO_BALANCE)
    begin = start + slowest * (drawn.freezing - 1.0)
    return Members(
        draws=draws,
        trays=drawn.trays,
        start=begin,
        freezing=drawn.freezing,
        ice_gone=begin[:, None] + found.tray_times[:, :, TrayTime.ICE_GONE],
        dry=begin[:, None] + found.tray_times[:, :, TrayTime.DRY],
        hottest=found.tray_times[:, :, TrayTime.FRONT_MAX],
        end=begin + found.ends,
        ending=found.endings,
        sample_times=moments,
        dried_fraction=found.items[..., ItemRecord.DRIED],
        temperature=found.items[..., ItemRecord.TEMPERATURE],
        moisture=found.items[..., ItemRecord.MOISTURE],
        water=found.items[..., ItemRecord.WATER :],
        shelf=found.machine[..., SAMPLED.index(MachineRecord.SHELF)],
        pressure=found.machine[..., SAMPLED.index(MachineRecord.PRESSURE)],
        trap=found.machine[..., SAMPLED.index(MachineRecord.TRAP_SURFACE)],
        vapour=found.machine[..., SAMPLED.index(MachineRecord.FLOW)],
    )


def simulate_spread(
    load: Load,
    members: int,
    seed: int = 1,
    tick: Callable[[int], None] = lambda _count: None,
    executor: Executor | None = None,
    known: Calibration = UNCALIBRATED,
) -> Spread:
    """Return the ranges of a load's times from a Latin hypercube of its uncertain numbers.

    load: food, dryer and program
    members: how many runs, 2 to 20000
    seed: of the random numbers; the same seed gives the same result
    tick: called after each chunk with its number of members, for a progress bar
    executor: runs the chunks; threads on all cores when None
    known: what earlier batches taught
    Source: drystow-default, spreads of the food classes and of the machine.
    """
    check_range("members", members, 2, 20000, "")
    runs = simulate_members(load, load_samples(load, members, seed, known=known), executor=executor, tick=tick)
    frozen = np.array([result.time for result in freeze_load(load)])
    return Spread(
        members=members,
        freezing_end=np.percentile(runs.freezing[:, None] * frozen, PERCENTILES, axis=0).T,
        primary_end=time_percentiles(runs.ice_gone),
        dry_end=time_percentiles(runs.dry),
        total=np.percentile(runs.end, PERCENTILES),
        runs=runs,
    )


def with_middle_times(result: LoadResult, spread: Spread) -> LoadResult:
    """Return a load's result with the middle of its ranges as its times, so that every reader is told one time.

    A load is dry when its last tray is; the last of several uncertain times is later than the last of their central
    values, so the run with central numbers alone ends too early.
    Times that the run never reached stay as they are; so does all of a run that ended before its food was dry.

    result: of the load with the central numbers
    spread: of the same load
    """
    if result.ended_by != "dry":
        return result
    middle = PERCENTILES.index(50.0)
    trays = tuple(
        replace(
            tray,
            freezing_end=float(spread.freezing_end[number][middle]),
            primary_end=_reached(tray.primary_end, spread.primary_end[number][middle]),
            dry_end=_reached(tray.dry_end, spread.dry_end[number][middle]),
        )
        for number, tray in enumerate(result.trays)
    )
    return replace(result, trays=trays, total_time=float(spread.total[middle]))


def _reached(central: float | None, middle: float) -> float | None:
    return central if central is None or not np.isfinite(middle) else float(middle)


def time_percentiles(times: Array) -> Array:
    """Return the three percentiles per column [s], NaN where more than a tenth of the members never get there.

    times: per member (rows) and item (columns), NaN: never [s]
    """
    result = np.full((times.shape[1], len(PERCENTILES)), np.nan)
    for item, values in enumerate(times.T):
        if np.isnan(values).mean() < 0.1:
            result[item] = np.percentile(np.where(np.isnan(values), np.inf, values), PERCENTILES, method="nearest")
    return result


def run_part(trays: Array, machines: Array, program: Array, offsets: Array, shelf: float, sample_times: Array) -> Runs:
    """Return what a chunk of members leaves behind; goes to another machine if need be.

    trays: tray rows (members, items, columns)
    machines: machine rows (members, columns)
    program: rows of duration [s] and set-point [K]
    offsets: real minus shown shelf temperature [K]
    shelf: temperature at the start [K]
    sample_times: moments at which the courses are sampled, in order [s]
    """
    (members, count), times = trays.shape[:2], len(sample_times)
    runs = Runs(
        tray_times=np.full((members, count, TRAY_TIMES), np.nan),
        ends=np.empty(members),
        endings=np.empty(members),
        items=np.full((members, times, count, RECORD_PER_TRAY), np.nan),
        machine=np.full((members, times, len(SAMPLED)), np.nan),
    )
    run_chunk(trays, machines, program, offsets, shelf, ENSEMBLE_TOLERANCE, LONGEST, sample_times, runs)
    return runs


def _gather(executor: Executor, parts: list[tuple[Any, ...]], tick: Callable[[int], None]) -> list[Runs]:
    waiting = [executor.submit(run_part, *part) for part in parts]
    answers = []
    for future in waiting:
        answers.append(future.result())
        tick(len(answers[-1].ends))
    return answers


FEWEST = 150
"""Members below which no shares are given. Source: drystow-default."""

WORTH_TELLING = 0.1  # share of the variance

WORDS = {
    "contact": msg("heat from shelf to food"),
    "refrigeration": msg("cooling power"),
    "vapour": msg("the vapor's way to the trap"),
    "air": msg("leaks and pump"),
    "shelf": msg("shelf thermometer"),
    "freezing": msg("freezing time"),
    "water": msg("water in the food"),
    "thickness": msg("thickness of the pieces"),
    "resistance": msg("how easily vapor passes the dried layer"),
    "conductivity": msg("how well the dried layer carries heat"),
    "desorption": msg("speed of the last drying"),
    "isotherm": msg("how the dried food holds moisture"),
    "position": msg("tray position"),
}
"""Each cause in a cook's words."""


@dataclass(frozen=True)
class Cause:
    """One cause of uncertainty.

    key: as in `draws.SHARED` or `draws.PER_ITEM`
    words: in a cook's words
    share: of the variance that it brings by itself [-]
    """

    key: str
    words: str
    share: float


def causes_of(runs: Members, times: Array, item: int | None = None) -> tuple[Cause, ...]:
    """Return the causes of a time's uncertainty, the largest first; empty with too few members.

    The share of a cause is its first-order effect: the part of the variance that a quadratic curve in the cause's own
    draws explains, lessened for the number of terms. Shares add up to about 1 when causes do not act together.

    runs: the members
    times: one time per member, NaN members are left out [s]
    item: only this tray item's own causes beside the shared ones; None: those of all items
    Source: saltelli2008, first-order sensitivity from given data.
    """
    good = np.isfinite(times)
    if good.sum() < FEWEST:
        return ()
    wanted: Array = times[good] - times[good].mean()
    total = float(wanted @ wanted)
    if total <= 0.0:
        return ()
    items = range(runs.moisture.shape[2]) if item is None else (item,)
    found = []
    for key in (*SHARED, *PER_ITEM):
        columns = [column(key)] if key in SHARED else [column(key, number) for number in items]
        drawn = runs.draws[good][:, columns]
        terms = np.concatenate([drawn, drawn**2 - 1.0], axis=1)
        terms = terms - terms.mean(axis=0)
        fit, *_rest = np.linalg.lstsq(terms, wanted, rcond=None)
        left = wanted - terms @ fit
        freedom = len(wanted) - 1
        share = 1.0 - float(left @ left) / total * freedom / max(freedom - terms.shape[1], 1)
        found.append(Cause(key, WORDS[key], max(share, 0.0)))
    return tuple(sorted(found, key=lambda cause: -cause.share))


def main_causes(runs: Members, times: Array, item: int | None = None) -> tuple[str, ...]:
    """Return the causes worth telling with their share, at most three.

    runs: the members
    times: one time per member [s]
    item: as in `causes_of`
    """
    worth = [cause for cause in causes_of(runs, times, item) if cause.share >= WORTH_TELLING][:3]
    return tuple(msg("{cause} ({share:.0f}%)", cause=cause.words, share=100.0 * cause.share) for cause in worth)

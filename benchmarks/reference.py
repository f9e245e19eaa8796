"""The equations of the simulator, as written in plant.py, given to SciPy's LSODA.

LSODA runs between the moments when something jumps: a program step, or the end of somebody's ice.
"""

from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

from benchmarks.plant import CELLS, Plant
from drystow.machine.layout import Tray
from drystow.machine.load import Load
from drystow.machine.run import drying_program, freeze_load, load_arrays, start_of_drying
from drystow.numerics import Array

TOLERANCE = 1e-6
LAST_ICE = 1e-6  # the front variable at which the rest of the ice is closed


@dataclass(frozen=True)
class Ends:
    """When each tray's ice was gone and each tray dry, and the run over [s]; how often the rates were asked."""

    primary: Array
    dry: Array
    total: float
    trap_ice: float
    calls: int


def reference(load: Load, tolerance: float = TOLERANCE) -> Ends:
    """Solve a load with SciPy's LSODA; times count from the start of drying."""
    _, shelf = start_of_drying(load, freeze_load(load))
    return solve_arrays(load_arrays(load), drying_program(load), shelf, tolerance)


def solve_arrays(arrays: tuple[Array, Array], program: Array, shelf: float, tolerance: float = TOLERANCE) -> Ends:
    """Solve trays and machine given as arrays, until everything is dry."""
    plant = Plant(*arrays)
    n = plant.count
    c = plant.columns
    y = np.concatenate([[shelf, 0.0], np.ones(n), np.repeat(c[Tray.UNFROZEN], CELLS), np.full(n, shelf)])
    wet = np.full(n, True)
    primary, dry = np.full(n, np.nan), np.full(n, np.nan)
    absolute = np.concatenate([[3e-4, 1e-7], np.full((1 + CELLS) * n, 1e-8), np.full(n, 3e-4)])
    now, part, part_end = 0.0, 0, program[0][0]
    while True:
        setpoint = program[part][1]
        over = plant.parts(y)[:2]
        for j in np.flatnonzero(~wet & np.isnan(dry)):
            if plant.moisture(*over)[j] <= c[Tray.TARGET][j]:
                dry[j] = now
        if not np.isnan(dry).any() and np.isinf(part_end):
            return Ends(primary, dry, now, float(y[1]), plant.calls)
        icy = np.flatnonzero(wet)
        damp = np.flatnonzero(~wet & np.isnan(dry))
        events = [_ice_event(int(j)) for j in icy] + [_dry_event(plant, int(j)) for j in damp]
        if not len(icy) and np.isinf(part_end):
            events.append(_all_dry_event(plant, damp))
        horizon = min(part_end, now + 20 * 86400.0)
        active = wet.copy()
        run = solve_ivp(
            lambda _, y, wet=active, setpoint=setpoint: plant.rates(y, setpoint, wet),
            (now, horizon),
            y,
            method="LSODA",
            rtol=tolerance,
            atol=absolute,
            events=events,
        )
        if not run.success:
            raise ArithmeticError(run.message)
        now, y = float(run.t[-1]), run.y[:, -1].copy()
        for place, j in enumerate(damp):
            if len(run.t_events[len(icy) + place]):
                dry[j] = run.t_events[len(icy) + place][0]
        # Equal trays end together, whichever of their events was found first.
        gone = [int(j) for j in icy if y[2 + j] <= LAST_ICE * (1.0 + 1e-6)]
        for j in gone:
            slope = plant.rates(y, setpoint, active)[2 + j]
            y[2 + (1 + CELLS) * n + j] = plant.mean_temperature(y, active, j)
            primary[j] = now + y[2 + j] / -slope
            left = plant.ice_left(y[2 : 2 + n])[j]
            y[1] += left * c[Tray.ICE][j]
            y[2 + j] = 0.0
            wet[j] = False
        if len(run.t_events) > len(icy) + len(damp) and len(run.t_events[-1]):
            return Ends(primary, dry, now, float(y[1]), plant.calls)
        if now >= part_end - 1e-9:
            part += 1
            if part >= len(program):
                return Ends(primary, dry, now, float(y[1]), plant.calls)
            part_end = now + program[part][0]
            if plant.held:
                y[0] = program[part][1]
        elif not gone:
            raise ArithmeticError("not dry after twenty days")


def _ice_event(tray: int):  # type: ignore[no-untyped-def]
    def gone(_: float, y: Array) -> float:
        return float(y[2 + tray] - LAST_ICE)

    gone.terminal = True  # type: ignore[attr-defined]
    gone.direction = -1  # type: ignore[attr-defined]
    return gone


def _dry_event(plant: Plant, tray: int):  # type: ignore[no-untyped-def]
    target = plant.columns[Tray.TARGET][tray]

    def dry(_: float, y: Array) -> float:
        return float(plant.parts(y)[1][tray].mean() - target)

    dry.direction = -1  # type: ignore[attr-defined]
    return dry


def _all_dry_event(plant: Plant, trays: Array):  # type: ignore[no-untyped-def]
    target = plant.columns[Tray.TARGET][trays]

    def dry(_: float, y: Array) -> float:
        return float(np.max(plant.parts(y)[1][trays].mean(axis=1) - target))

    dry.terminal = True  # type: ignore[attr-defined]
    dry.direction = -1  # type: ignore[attr-defined]
    return dry

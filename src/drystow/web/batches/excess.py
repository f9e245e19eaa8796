"""When the food holds more water than the vapour trap takes: what to take off, or when to stop and defrost."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from drystow.machine.result import LoadResult, TrayResult
from drystow.web.batches.models import Load

STEP = 0.01  # amounts to take off are rounded up to this [kg]
SPARE = 0.005  # and are this much more, so that a rounded amount on a kitchen scale is enough [kg]
WORTH_LEAVING = 0.05  # less than this is not left alone on a tray [kg]


@dataclass(frozen=True)
class TakeOff:
    """Food to take off one tray.

    load: the food on its tray
    mass: how much of it [kg]
    left: what stays there, 0 when all of it goes [kg]
    """

    load: Load
    mass: float
    left: float


@dataclass(frozen=True)
class Excess:
    """More water in the food than the trap holds.

    water: in all the food [kg]
    capacity: ice that the trap holds [kg]
    off: what to take off, the slowest trays first, so that the rest fits and is ready sooner
    share: instead, the same share off every tray [-]
    full: when the trap is full with all the food in [s], None when the food is dry before
    """

    water: float
    capacity: float
    off: tuple[TakeOff, ...]
    share: float
    full: float | None

    @property
    def over(self) -> float:
        """Water that has no place [kg]."""
        return self.water - self.capacity


def excess_of(loads: Sequence[Load], result: LoadResult) -> Excess | None:
    """Return what is too much, None when the trap holds it all.

    loads: in the order of the engine's items
    result: of all of them, run on until the trap is full
    """
    water, capacity = sum(tray.water_start for tray in result.trays), result.machine.trap_capacity
    if water <= capacity:
        return None
    return Excess(
        water=water,
        capacity=capacity,
        off=_take_off(loads, result.trays, water - capacity),
        share=math.ceil(100.0 * (1.0 - capacity / water)) / 100.0,
        full=result.total_time if result.ended_by == "trap_full" else None,
    )


def _take_off(loads: Sequence[Load], trays: Sequence[TrayResult], over: float) -> tuple[TakeOff, ...]:
    pairs = sorted(zip(loads, trays, strict=True), key=lambda pair: _lateness(pair[1]), reverse=True)
    found = []
    for load, tray in pairs:
        if over <= 0.0:
            break
        wet = tray.water_start / tray.mass
        mass = math.ceil((over / wet + SPARE) / STEP) * STEP
        if load.mass_kg - mass < WORTH_LEAVING:
            mass = load.mass_kg
        found.append(TakeOff(load, mass, max(round(load.mass_kg - mass, 6), 0.0)))
        over -= mass * wet
    return tuple(found)


def _lateness(tray: TrayResult) -> tuple[float, float]:
    """Return how late a tray is; of those that are not dry at the end the wettest is the latest."""
    never = tray.dry_end is None
    return (math.inf, tray.residual_moisture) if never else (float(tray.dry_end or 0.0), 0.0)

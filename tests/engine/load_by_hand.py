"""A load written down by hand for the tests of reports: round numbers, no simulator."""

from dataclasses import replace

import numpy as np

from drystow.machine.result import EnergyCourse, Event, LoadResult, MachineResult, TrayResult
from drystow.numerics import Array

HOUR = 3600.0


def _tray(
    name: str, time: Array, primary_end: float, dry_end: float | None, *, water: float, limit: float, target: float
) -> TrayResult:
    mass = 1.0
    solids = mass - water
    start = 8 * HOUR
    gone = np.clip((time - start) / (primary_end - start), 0.0, 1.0)
    bound = solids * 0.12 * np.exp(-np.maximum(time - primary_end, 0.0) / (3 * HOUR)) + solids * 0.02
    left = (water - solids * 0.14) * (1.0 - gone) + bound
    moisture = left / (left + solids)
    front = np.where(time < start, 277.0 - 39.0 * np.minimum(time / start, 1.0), 246.0 + 4.0 * gone)
    front = np.where(time > primary_end, 313.0 - 63.0 * np.exp(-(time - primary_end) / (2 * HOUR)), front)
    return TrayResult(
        name=name,
        mass=mass,
        solids=solids,
        water_start=water,
        ice_start=water - solids * 0.14,
        freezing_end=5 * HOUR,
        primary_end=primary_end,
        dry_end=dry_end,
        front_temperature_start=246.0,
        front_temperature_max=250.0,
        front_temperature_end=250.0,
        limit=limit,
        target_moisture=target,
        residual_moisture=float(moisture[-1]),
        food_temperature_end=float(front[-1]),
        notes=(f"{name}: the limit is a class default, not a measurement.",),
        dried_fraction=gone,
        front_temperature=front,
        moisture=moisture,
    )


def load_by_hand(trays: int = 3, points: int = 1000) -> LoadResult:
    """Return a load of up to five trays over 34 hours."""
    time = np.linspace(0.0, 34 * HOUR, points)
    all_trays = (
        _tray("Blueberries, raw", time, 26 * HOUR, 31 * HOUR, water=0.84, limit=249.0, target=0.03),
        _tray("Chicken, breast, cooked", time, 22 * HOUR, 27 * HOUR, water=0.65, limit=263.0, target=0.02),
        _tray("Peas, green, blanched", time, 24 * HOUR, 29 * HOUR, water=0.79, limit=258.0, target=0.03),
        _tray("Potato, diced, boiled", time, 21 * HOUR, 25 * HOUR, water=0.77, limit=258.0, target=0.03),
        _tray("Sweet corn, cut", time, 25 * HOUR, 30 * HOUR, water=0.76, limit=258.0, target=0.03),
    )[:trays]
    all_trays = tuple(replace(tray, tray=number) for number, tray in enumerate(all_trays, start=1))
    drying = time >= 8 * HOUR
    vapour = np.where(drying, 4e-5 * np.exp(-np.maximum(time - 8 * HOUR, 0.0) / (14 * HOUR)), 0.0)
    return LoadResult(
        title="Alder Lane, Friday load",
        trays=all_trays,
        machine=MachineResult(2.1, 4.5, 4e-5, 62.0, 9.0e6, 3.2e7, 2.1e7, 120.0),
        total_time=34 * HOUR,
        drying_start=8 * HOUR,
        ended_by="dry",
        ended_text="The run ends because every tray is dry.",
        events=(
            Event(5 * HOUR, "frozen", 0, "Blueberries, raw is frozen through."),
            Event(20 * HOUR, "collapse_limit", 0, "Blueberries, raw came within 1 K of its limit; lower the shelf."),
        ),
        time=time,
        shelf_temperature=np.where(drying, np.minimum(253.0 + (time - 8 * HOUR) / HOUR * 20.0, 313.0), 253.0),
        chamber_pressure=np.where(drying, 40.0 + 22.0 * np.exp(-np.maximum(time - 8 * HOUR, 0.0) / 3e4), 101325.0),
        trap_temperature=np.full(points, 233.0),
        vapour=vapour,
        trap_ice=np.cumsum(vapour) * (2.1 / float(np.sum(vapour))),
        energy=EnergyCourse(
            time,
            9.0e6 * np.clip(time - 8 * HOUR, 0.0, None) / (26 * HOUR),
            3.2e7 * time / time[-1],
            2.1e7 * time / time[-1],
        ),
        notes=("The heat transfer of this dryer has not been measured; times can be off by a third.",),
        sources=("ashrae-ch19", "murphy2005", "walstra"),
    )

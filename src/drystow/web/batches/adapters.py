"""From the rows of a batch to the engine and back; the load goes through the same reader as a load file."""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from drystow.drying.layer import layer_of_class
from drystow.errors import InputError, InputErrors
from drystow.fields import new_names
from drystow.foods.model import Food
from drystow.foods.written import food_fields
from drystow.machine import profile
from drystow.machine.ensemble import Spread, simulate_spread, with_middle_times
from drystow.machine.item import pile_height
from drystow.machine.load import Load, ProgramStep
from drystow.machine.loadfile import parse_load
from drystow.machine.result import LoadResult
from drystow.machine.run import simulate
from drystow.machine.sampling import Calibration, calibrated
from drystow.messages import msg
from drystow.properties.thermal import fresh_density
from drystow.units import SI, celsius, kelvin, parse
from drystow.web.batches.models import Batch, Item
from drystow.web.batches.models import Load as TrayLoad
from drystow.web.dryers.lessons import calibration_for
from drystow.web.dryers.models import Dryer
from drystow.web.foods.spec import foods_of
from drystow.web.kit.memory import Memory

USUAL_PROGRAM: list[dict[str, float | None]] = [{"shelf_c": -10.0, "hours": 2.0}, {"shelf_c": 40.0, "hours": None}]
"""What a new batch begins with."""

MEMBERS = 160  # runs behind the ranges
KEPT = 64  # loads and predictions remembered
Remembered = tuple[LoadResult, Spread]

_loads: Memory[Load] = Memory(KEPT)
_results: Memory[Remembered] = Memory(KEPT)


def dryer_of(dryer: Dryer) -> profile.Dryer:
    """Return the machine of a dryer: its profile with its own numbers."""
    return profile.read_dryer(dryer.numbers, profile.dryer_profile(dryer.profile))


def usual_program(dryer: Dryer) -> list[dict[str, float | None]]:
    """Return what a new batch begins with, no warmer than the shelf of this dryer can be."""
    highest = celsius(dryer_of(dryer).shelf_highest)
    return [{**step, "shelf_c": min(float(step["shelf_c"] or 0.0), round(highest, 2))} for step in USUAL_PROGRAM]


def tray_loads(batch: Batch) -> list[TrayLoad]:
    """Return what lies on the trays of a batch, in the order of the engine's items."""
    rows = TrayLoad.objects.kept().filter(item__batch=batch, item__binned_at=None)
    return list(rows.select_related("item").order_by("tray", "pk"))


def load_table(batch: Batch, loads: list[TrayLoad] | None = None, *, overload: bool = False) -> dict[str, Any]:
    """Return a batch as the table of a load file (docs/load-file.md), with values where a file has texts.

    Foods that share a tray share its area by mass.

    loads: from `tray_loads`
    overload: run although the food holds more water than the trap
    """
    rows = tray_loads(batch) if loads is None else loads
    foods, dryer = foods_of(row.item.food for row in rows), dryer_of(batch.dryer)
    program = {"freeze": batch.freezer, "shelf": program_steps(batch.program), **batch.extra}
    return {
        "title": batch.title,
        "dryer": {"profile": batch.dryer.profile, **batch.dryer.numbers},
        "program": program | {"overload": overload or program.get("overload", False)},
        "tray": [
            _numbered(row.tray, dryer) | tray_table(row.item, foods[row.item.food], row.mass_kg, covered)
            for row, covered in zip(rows, covered_areas(rows, dryer.tray_area), strict=True)
        ],
    }


def covered_areas(loads: list[TrayLoad], area: float) -> list[float]:
    """Return the part of its tray that each food covers [m2]: as its load file says; others share the rest by mass.

    loads: from `tray_loads`
    area: of a tray [m2]
    """
    written = [area_of(row.item) for row in loads]
    free: defaultdict[int, float] = defaultdict(lambda: area)
    together: defaultdict[int, float] = defaultdict(float)
    for load, own in zip(loads, written, strict=True):
        if own is None:
            together[load.tray] += load.mass_kg
        else:
            free[load.tray] -= own
    rest = {tray: left if left > 0.0 else area for tray, left in free.items()}  # the engine says what is too much
    return [
        rest.get(load.tray, area) * load.mass_kg / together[load.tray] if own is None else own
        for load, own in zip(loads, written, strict=True)
    ]


def area_of(item: Item) -> float | None:
    """Return the part of a tray that a food was said to cover [m2], None where nothing was said.

    item: from a load file or a search; one that was kept long ago has it as the file wrote it
    """
    area = item.extra.get("area")
    return parse(area, "area", "area") if isinstance(area, str) else area


def program_steps(program: Iterable[Mapping[str, Any]]) -> list[ProgramStep]:
    """Return the steps of a shelf program.

    program: as a row keeps it, ``shelf_c`` and ``hours``, which are None until dry
    """
    steps = [(step["shelf_c"], step.get("hours")) for step in program]
    return [ProgramStep(kelvin(shelf), math.inf if hours is None else 3600.0 * hours) for shelf, hours in steps]


def load_of(batch: Batch, loads: list[TrayLoad] | None = None, *, overload: bool = False) -> Load:
    """Return a batch as the engine's load; raises `InputErrors` with all that the engine refuses.

    loads: from `tray_loads`, saves reading them again
    overload: run although the food holds more water than the trap
    """
    rows = tray_loads(batch) if loads is None else loads
    if not rows:
        raise InputErrors([InputError("", msg("No food is on the trays yet. Put some on first."))])
    table = load_table(batch, rows, overload=overload)
    key = repr(table)
    return _loads.get(key) or _loads.keep(key, parse_load(table))  # read once for all parts of a page that ask for it


def predict(batch: Batch, loads: list[TrayLoad] | None = None) -> tuple[LoadResult, Spread]:
    """Return the forecast of a batch and how sure its times are, remembered while nothing that matters changes.

    Its times are the middle of the simulated runs on every page; `predict_overload` is for what has no such middle.
    """
    return _remembered(load_of(batch, loads), calibration_for(batch.dryer))


def predict_overload(batch: Batch, loads: list[TrayLoad] | None = None) -> LoadResult:
    """Return how a batch goes with the central numbers, also when it holds more water than the trap."""
    return simulate(calibrated(load_of(batch, loads, overload=True), calibration_for(batch.dryer)))


def prediction_json(loads: list[TrayLoad], result: LoadResult, spread: Spread) -> dict[str, Any]:
    """Return what a batch keeps of its prediction when the run begins.

    ``total_h`` {p10, p50, p90}, ``energy_kwh``, ``drying_start_h``, and ``trays``: one per row of `loads` with tray,
    item, name, dry_end_h, p10, p90, dry_kg (weight at the wished moisture), solids_kg; times that never come are null.
    """
    low, middle, high = (_hours(value) for value in spread.total)
    rows = zip(loads, result.trays, spread.dry_end, strict=True)
    return {
        "total_h": {"p10": low, "p50": middle, "p90": high},
        "energy_kwh": round(result.machine.energy / 3.6e6, 3),
        "drying_start_h": _hours(result.drying_start),
        "trays": [
            {
                "tray": row.tray,
                "item": row.item_id,
                "name": tray.name,
                "dry_end_h": _hours(tray.dry_end),
                "p10": _hours(three[0]),
                "p90": _hours(three[2]),
                "dry_kg": round(tray.solids / (1.0 - tray.target_moisture), 5),
                "solids_kg": round(tray.solids, 5),
            }
            for row, tray, three in rows
        ],
    }


def pile_of(row: TrayLoad, food: Food, area: float) -> float:
    """Return how high a food stands on its part of a tray [m].

    row: the food on the tray
    food: what it is
    area: its part of the tray [m2]
    """
    density = fresh_density(food.composition, layer_of_class(food.food_class).porosity)
    return pile_height(row.item.shape, row.item.size_m, row.mass_kg, density, area)


def _numbered(tray: int, dryer: profile.Dryer) -> dict[str, Any]:
    """Return the number of a tray as a load file writes it; nothing beyond those that the dryer has."""
    return {"tray": tray} if tray <= dryer.trays else {}


def tray_table(item: Item, food: Food, mass: float, area: float) -> dict[str, Any]:
    """Return so much of a food [kg], on so much of a tray [m2], as the table of a load file."""
    raw: dict[str, Any] = {
        "name": item.name,
        "mass": SI(mass, "mass"),
        "shape": item.shape,
        "size": SI(item.size_m, "length"),
        "faces": item.faces if item.shape == "slab" else 1,
        "area": SI(area, "area"),
        "frozen": item.frozen,
        "start_temperature": SI(kelvin(item.start_c), "temperature"),
    }
    if item.target_moisture is not None:
        raw["final_moisture"] = item.target_moisture
    extra = {name: value for name, value in new_names(item.extra).items() if name != "area"}
    return raw | extra | food_fields(food, "name" if food.own else "food")


def _remembered(load: Load, known: Calibration) -> Remembered:
    key = repr((load, known))
    found = _results.get(key)
    if found is None:
        spread = simulate_spread(load, MEMBERS, known=known)
        found = (with_middle_times(simulate(calibrated(load, known)), spread), spread)
    return _results.keep(key, found)


def _hours(seconds: float | None) -> float | None:
    return None if seconds is None or not math.isfinite(seconds) else round(float(seconds) / 3600.0, 3)

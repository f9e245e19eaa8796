"""From the rows of a batch to the engine and back."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from math import inf
from typing import Any

from drystow.errors import InputError, InputErrors
from drystow.foods.model import Food
from drystow.machine import loading, profile
from drystow.machine.cutting import cut_of, fresh_density_of, lies_of
from drystow.machine.ensemble import Spread, simulate_spread, with_middle_times
from drystow.machine.load import Load, LoadSpec, ProgramStep, RigSpec, TraySpec
from drystow.machine.loadfile import PARTS
from drystow.machine.pieces import SURFACES, WRAPPERS, Lie, room_wanted
from drystow.machine.result import LoadResult
from drystow.machine.run import simulate
from drystow.machine.sampling import Calibration, calibrated
from drystow.messages import msg
from drystow.numerics.remembered import by_value, remembered
from drystow.units import celsius, kelvin
from drystow.web.batches.models import Batch, Item
from drystow.web.batches.models import Load as TrayLoad
from drystow.web.dryers.lessons import calibration_for
from drystow.web.dryers.models import Dryer
from drystow.web.foods.spec import alike, foods_of
from drystow.web.kit import records

USUAL_PROGRAM: list[dict[str, float | None]] = [{"shelf_c": -10.0, "hours": 2.0}, {"shelf_c": 40.0, "hours": None}]
"""What a new batch begins with."""

MEMBERS = 160  # runs behind the ranges
KEPT = 64  # loads and predictions remembered


def dryer_of(dryer: Dryer) -> profile.Dryer:
    """Return the machine of a dryer: its profile with its own numbers."""
    return profile.machine_of(dryer.profile, dryer.numbers)


def usual_program(dryer: Dryer) -> list[dict[str, float | None]]:
    """Return what a new batch begins with, no warmer than the shelf of this dryer can be."""
    highest = celsius(dryer_of(dryer).shelf_highest)
    return [{**step, "shelf_c": min(float(step["shelf_c"] or 0.0), round(highest, 2))} for step in USUAL_PROGRAM]


def tray_loads(batch: Batch) -> list[TrayLoad]:
    """Return what lies on the trays of a batch, in the order of the engine's items."""
    rows = TrayLoad.objects.kept().filter(item__batch=batch, item__binned_at=None)
    return list(rows.select_related("item").order_by("tray", "pk"))


def rig_spec_of(dryer: Dryer, program: Iterable[Mapping[str, Any]], extra: Mapping[str, Any]) -> RigSpec:
    """Return a dryer and its program as the engine is asked for them.

    dryer: of the kitchen
    program: as a row keeps it, ``shelf_c`` and ``hours``, which are None until dry
    extra: where and to what the food is frozen, and that the trap may fill up, as far as that is said
    """
    steps = [(step["shelf_c"], step.get("hours")) for step in program]
    return RigSpec(
        profile=dryer.profile,
        numbers=dryer.numbers,
        shelf=tuple(ProgramStep(kelvin(shelf), inf if hours is None else 3600.0 * hours) for shelf, hours in steps),
        freeze=extra.get("freeze", RigSpec.freeze),
        freeze_to=extra.get("freeze_to"),
        overload=bool(extra.get("overload", False)),
    )


def steps_of(program: Iterable[ProgramStep]) -> list[dict[str, float | None]]:
    """Return a program as a row keeps it.

    program: of the engine
    """
    return [
        {
            "shelf_c": round(celsius(step.shelf), 3),
            "hours": None if step.duration == inf else round(step.duration / 3600.0, 4),
        }
        for step in program
    ]


def extra_of(rig: RigSpec) -> dict[str, Any]:
    """Return what a program sets beyond its steps, as a row keeps it.

    rig: dryer and program
    """
    names = ("freeze", "freeze_to", "overload")
    return {name: getattr(rig, name) for name in names if getattr(rig, name) != getattr(RigSpec, name)}


def alike_dryers(rig: RigSpec) -> list[Dryer]:
    """Return the dryers of the kitchen that have the numbers of a machine.

    rig: with the machine
    """
    rows = Dryer.objects.kept().filter(profile=rig.profile or loading.DEFAULT_PROFILE).order_by("pk")
    return [row for row in rows if row.numbers == rig.numbers]


def new_dryer(rig: RigSpec, name: str, who: str, words: str) -> Dryer:
    """Add a dryer with the numbers of a machine.

    rig: with the machine
    name: of the dryer, numbered where it is taken
    who: adds it
    words: for the history
    """
    free, count = name, 1
    while Dryer.objects.filter(name=free).exists():
        count += 1
        free = f"{name} ({count})"
    row = Dryer(name=free, profile=rig.profile or loading.DEFAULT_PROFILE, numbers=rig.numbers)
    return records.create(row, who=who, words=words)


def batch_rig(batch: Batch, *, overload: bool = False) -> RigSpec:
    """Return the dryer and the program of a batch as the engine is asked for them.

    overload: run although the food holds more water than the trap
    """
    extra = {"freeze": batch.freezer, **batch.extra, "overload": overload}
    return rig_spec_of(batch.dryer, batch.program, extra)


def load_spec_of(batch: Batch, loads: list[TrayLoad] | None = None, *, overload: bool = False) -> LoadSpec:
    """Return a batch as the engine is asked for it; foods on one tray share it as the engine says.

    loads: from `tray_loads`
    overload: run although the food holds more water than the trap
    """
    rows = tray_loads(batch) if loads is None else loads
    foods, dryer = foods_of(row.item.food for row in rows), dryer_of(batch.dryer)
    trays = []
    for row in rows:
        tray = tray_spec_of(row.item, foods[row.item.food], row.mass_kg, area_of(row.item))
        trays.append(replace(tray, tray=row.tray if row.tray <= dryer.trays else None))
    return LoadSpec(
        rig=batch_rig(batch, overload=overload or batch.extra.get("overload", False)),
        trays=tuple(trays),
        title=batch.title,
    )


def tray_spec_of(item: Item, food: Food, mass: float, area: float | None) -> TraySpec:
    """Return so much of a food [kg], on so much of a tray [m2], as the engine is asked for it."""
    extra = item.extra
    parts = {name: part(**extra[name]) for name, part in PARTS.items() if isinstance(extra.get(name), dict)}
    return TraySpec(
        food=alike(food, extra.get("like")),
        mass=mass,
        size=item.size_m,
        shape=item.shape,
        width=item.width_m,
        length=item.length_m,
        packing=item.packing or None,
        on=item.lies_on,
        wrapper=item.wrapper,
        opening=item.opening,
        wrapper_mass=wrappers_of(item, mass),
        area=area,
        frozen=item.frozen,
        start_temperature=kelvin(item.start_c),
        final_moisture=item.target_moisture,
        ice_mass=extra.get("ice_mass"),
        skin_state=item.skin_state or None,
        name=item.name,
        **parts,
    )


def wrappers_of(item: Item, mass: float) -> float | None:
    """Return what the wrappers of so much of a food weigh [kg], None where nothing was said."""
    return None if item.wrapper_kg is None else item.wrapper_kg * mass / item.mass_kg


def cut_columns(said: Mapping[str, Any]) -> dict[str, Any]:
    """Return the columns of an `Item` that say how it is cut and laid; the faces that dry say what it lies on.

    said: values of a `TraySpec` by the names of `CUT_KEYS`, None where nothing is said
    """
    on, faces = said["on"] or SURFACES[0], said["faces"]
    if faces is not None and faces != (2 if on == "mesh" else 1):
        on = "mesh" if faces == 2 else SURFACES[0]
    return {
        "width_m": said["width"],
        "length_m": said["length"],
        "packing": said["packing"] or "",
        "lies_on": on,
        "wrapper": said["wrapper"] or WRAPPERS[0],
        "opening": said["opening"],
    }


def lies_on_trays(loads: list[TrayLoad], foods: Mapping[str, Food], machine: profile.Dryer) -> list[Lie]:
    """Return how each food lies on its tray, also where the engine refuses the load.

    loads: from `tray_loads`
    foods: by reference
    machine: the dryer
    """
    specs = [
        replace(tray_spec_of(row.item, foods[row.item.food], row.mass_kg, area_of(row.item)), tray=row.tray)
        for row in loads
    ]
    return lies_of(specs, machine)


def takes_of(item: Item, food: Food) -> float:
    """Return the tray area that all of a food takes in one layer [m2]."""
    spec = tray_spec_of(item, food, item.mass_kg, None)
    return room_wanted(cut_of(spec), spec.mass, fresh_density_of(spec))


def area_of(item: Item) -> float | None:
    """Return the part of a tray that a food was said to cover [m2], None where nothing was said.

    item: from a load file or a search; one that was kept long ago has it as the file wrote it
    """
    area: float | None = item.extra.get("area")
    return area


def load_of(batch: Batch, loads: list[TrayLoad] | None = None, *, overload: bool = False) -> Load:
    """Return a batch as the engine's load; raises `InputErrors` with all that the engine refuses.

    loads: from `tray_loads`, saves reading them again
    overload: run although the food holds more water than the trap
    """
    rows = tray_loads(batch) if loads is None else loads
    if not rows:
        raise InputErrors([InputError("", msg("No food is on the trays yet. Put some on first."))])
    return _read(load_spec_of(batch, rows, overload=overload))


_read = remembered(KEPT, by_value)(loading.load_of)
"""Once for all parts of a page that ask for a load."""


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


@remembered(KEPT, by_value)
def _remembered(load: Load, known: Calibration) -> tuple[LoadResult, Spread]:
    spread = simulate_spread(load, MEMBERS, known=known)
    return with_middle_times(simulate(calibrated(load, known)), spread), spread


def _hours(seconds: float | None) -> float | None:
    return None if seconds is None or not math.isfinite(seconds) else round(float(seconds) / 3600.0, 3)

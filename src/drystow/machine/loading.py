"""A load as it is asked for -> a load as the engine runs it: a `LoadSpec` gives a `Load`, a `TraySpec` a `TrayItem`."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from drystow.constants import ZERO_CELSIUS
from drystow.drying.layer import SHAPES, DriedLayer, layer_of, target_moisture
from drystow.errors import InputError, InputErrors, unknown
from drystow.fields import Problems
from drystow.machine.cutting import check_cut, cut_of, fresh_density_of, rooms_of
from drystow.machine.item import TrayItem, from_lie
from drystow.machine.load import FREEZERS, AreaSpec, LayerSpec, Load, LoadSpec, ProgramStep, Rig, RigSpec, TraySpec
from drystow.machine.lying import STANDS_OUT, lie_notes, may_stand_out
from drystow.machine.pieces import Areas, covering_resistance, lie_of
from drystow.machine.profile import Dryer, dryer_profile, machine_of, profile_names
from drystow.messages import msg
from drystow.properties import glass, sorption, thermal
from drystow.properties.ice import ice_fraction, initial_freezing_point
from drystow.properties.skin import SKIN_STATES, STATE_WORDS, Skin, has_skin, skin_of
from drystow.properties.suitability import suitability, will_not_dry
from drystow.ranges import LONGEST, RANGES, check
from drystow.shown import quantity

MOST_TRAYS = 60
DEFAULT_PROFILE = "kitchen-5"
FREEZE_MARGIN = 7.0  # core ends this much warmer than the freezer's air [K]
HOUSEHOLD_FREEZER_POWER = 110.0  # heat that a household freezer removes from warm food [W]; class default
HOUSEHOLD_FREEZER = ZERO_CELSIUS - 18.0  # frozen food without a stated temperature [K]
COOL = ZERO_CELSIUS + 4.0  # food from the refrigerator [K]
DRY_TEMPERATURE = 300.0  # at which the dry solids' heat capacity is taken [K]
USUAL_SHELF = ZERO_CELSIUS + 40.0  # where a program cannot be read [K]
LAYER = {"R0": "r0", "A1": "a1", "A2": "a2", "conductivity": "vacuum_conductivity"}
"""Value of a `LayerSpec` -> what it replaces in a `DriedLayer`."""


def load_of(spec: LoadSpec, problems: Problems | None = None) -> Load:
    """Return a load as the engine runs it; raises `InputErrors` with every problem found.

    spec: what is asked for
    problems: that were found in reading it
    """
    problems = Problems() if problems is None else problems
    rig = rig_of(spec.rig, problems)
    items = []
    rooms = rooms_of(spec.trays, rig.dryer)
    for number, (tray, room) in enumerate(zip(spec.trays, rooms, strict=True), start=1):
        item = tray_item(tray, f"tray[{number}]", rig, problems, room)
        if item is not None:
            items.append(replace(item, tray=number))
    if not problems and not rig.held:
        _fit_together(items, spec, rooms, rig.dryer, problems)
    if problems:
        raise InputErrors(problems)
    return Load(
        title=spec.title,
        rig=rig,
        items=tuple(items) if rig.held else _on_trays(items, spec.trays, rooms, rig.dryer),
        overload=spec.rig.overload,
        notes=(*rig.notes, *problems.notes),
    )


def rig_of(spec: RigSpec, problems: Problems) -> Rig:
    """Return a dryer set to run; something harmless where there are problems.

    spec: dryer and program
    problems: to which every problem is added
    """
    dryer = _dryer(spec, problems)
    program = _program(spec, dryer, problems)
    dryer, freeze_to, notes = _freezer(spec, dryer, problems)
    pressure, offset = _held(spec, program, problems)
    surroundings, air = _gas_and_walls(spec, problems)
    return Rig(
        dryer=dryer,
        profile=spec.profile,
        program=program,
        freeze_to=freeze_to,
        freezer=spec.freeze,
        pressure=pressure,
        upper_offset=offset,
        surroundings=surroundings,
        air_pressure=air,
        notes=notes,
    )


def _dryer(spec: RigSpec, problems: Problems) -> Dryer:
    profile, every = spec.profile, RANGES["dryer"].keys() <= spec.numbers.keys()
    if not profile and not every and spec.held is None:
        names = ", ".join(f"'{name}'" for name in profile_names())
        words = msg("is missing; name one of {names}, or give every number of the dryer", names=names)
        problems.append(InputError("dryer.profile", words))
    try:
        if profile:
            dryer_profile(profile)
    except InputError as problem:
        problems.append(problem.under("dryer"))
        profile = DEFAULT_PROFILE
    try:
        return machine_of(profile or ("" if every else DEFAULT_PROFILE), spec.numbers)
    except InputErrors as many:
        problems += [problem.under("dryer") for problem in many.problems]
        return dryer_profile(DEFAULT_PROFILE)


def _program(spec: RigSpec, dryer: Dryer, problems: Problems) -> tuple[ProgramStep, ...]:
    if spec.held is not None and spec.held.shelf_temperature is not None:
        return (ProgramStep(spec.held.shelf_temperature, math.inf),)
    if not spec.shelf:
        field = "program.shelf" if spec.held is None else "dryer.shelf_temperature"
        words = (
            msg('is missing; write it as ["-10 degC for 2 h", "40 degC until dry"]')
            if spec.held is None
            else msg("is missing; write '30 degC'")
        )
        problems.append(InputError(field, words))
    for number, step in enumerate(spec.shelf, start=1):
        _check_step(step, f"program.shelf[{number}]", number == len(spec.shelf), dryer, problems)
    return spec.shelf or (ProgramStep(USUAL_SHELF, math.inf),)


def _check_step(step: ProgramStep, field: str, last: bool, dryer: Dryer, problems: Problems) -> None:
    check_shelf(step.shelf, field, dryer.shelf_highest, problems)
    if step.duration == math.inf:
        if not last:
            problems.append(InputError(field, msg("'until dry' must be the last step; nothing comes after it")))
    elif not 0 < step.duration <= LONGEST:
        time = problems.as_written(f"{field} time", step.duration, "time")
        problems.append(InputError(field, msg("'{time}' is not possible; a step can last up to 20 days", time=time)))


def check_shelf(value: float, field: str, highest: float, problems: Problems) -> bool:
    """Return whether a temperature can be set; add a problem when it cannot.

    value: of a shelf, or of the food at the end of freezing [K]
    field: its name
    highest: warmest that is allowed [K]
    problems: to which a problem is added
    """
    coldest = RANGES["program"]["shelf"].low
    if coldest <= value <= highest:
        return True
    words = msg(
        "'{value}' is out of range for this shelf; write {coldest} to {highest}",
        value=problems.as_written(field, value, "temperature"),
        coldest=quantity(coldest, "temperature"),
        highest=quantity(highest, "temperature"),
    )
    problems.append(InputError(field, words))
    return False


def _freezer(spec: RigSpec, dryer: Dryer, problems: Problems) -> tuple[Dryer, float, tuple[str, ...]]:
    """Return the dryer with the freezer that is used, what it freezes to [K], and what to know of it."""
    ahead, known = spec.freeze == FREEZERS[1], spec.freeze in FREEZERS
    if not known:
        words = msg("'{value}' is not possible; write 'dryer' or 'household freezer'", value=spec.freeze)
        problems.append(InputError("program.freeze", words))
    notes: tuple[str, ...] = ()
    if ahead:
        dryer = replace(
            dryer,
            freezer_temperature=HOUSEHOLD_FREEZER,
            freezer_base=dryer.freezer_air,
            freezer_power=HOUSEHOLD_FREEZER_POWER,
        )
        air = quantity(HOUSEHOLD_FREEZER, "temperature")
        notes = (msg("frozen ahead in a household freezer at {air} in still air; its electricity is not counted",
                     air=air),)  # fmt: skip
    usual = dryer.freezer_temperature + (4.0 if ahead else FREEZE_MARGIN)
    to, field = spec.freeze_to, "program.freeze_to"
    if to is None or not check_shelf(to, field, RANGES["program"]["freeze_to"].high, problems) or not known:
        return dryer, usual, notes
    if to < dryer.freezer_temperature + 0.5:
        words = msg(
            "'{value}' is colder than the freezer air at {air}, so the food never gets there; write a warmer one",
            value=problems.as_written(field, to, "temperature"),
            air=quantity(dryer.freezer_temperature, "temperature"),
        )
        problems.append(InputError(field, words))
        return dryer, usual, notes
    return dryer, to, notes


def _held(spec: RigSpec, program: tuple[ProgramStep, ...], problems: Problems) -> tuple[float | None, float]:
    """Return the pressure that is held [Pa], and how much warmer than the shelf the plate above is [K]."""
    held, ranges = spec.held, RANGES["held"]
    if held is None:
        return None, 0.0
    pressure, field = held.chamber_pressure, "dryer.chamber_pressure"
    if pressure is None:
        problems.append(InputError(field, msg("is missing; a run at held pressure needs it, such as '50 Pa'")))
    elif not ranges["chamber_pressure"].holds(pressure):
        words = msg(
            "'{value}' is not possible; ice turns to vapor at {allowed}",
            value=problems.as_written(field, pressure, "pressure"),
            allowed=ranges["chamber_pressure"].allowed,
        )
        problems.append(InputError(field, words))
    for name in ("shelf_temperature", "upper_temperature"):
        if (value := getattr(held, name)) is not None:
            check_shelf(value, f"dryer.{name}", ranges[name].high, problems)
    upper = program[0].shelf if held.upper_temperature is None else held.upper_temperature
    return pressure or 0.0, upper - program[0].shelf


def _gas_and_walls(spec: RigSpec, problems: Problems) -> tuple[float, float]:
    """Return what food in a held chamber sees above it, 0 for a plate [K], and the pressure of air there [Pa]."""
    held = spec.held
    if held is None:
        return 0.0, 0.0
    if held.surroundings is not None:
        check_shelf(held.surroundings, "dryer.surroundings", RANGES["held"]["surroundings"].high, problems)
        if held.upper_temperature is not None:
            words = msg("food has a plate above it or sees its surroundings; take out one of the two")
            problems.append(InputError("dryer.upper_temperature", words))
    air, all_gas = held.air_pressure or 0.0, held.chamber_pressure or math.inf
    if not 0.0 <= air < all_gas:
        words = msg(
            "'{value}' is not possible; air is a part of the chamber pressure, write less than that",
            value=problems.as_written("dryer.air_pressure", air, "pressure"),
        )
        problems.append(InputError("dryer.air_pressure", words))
    return held.surroundings or 0.0, air


def _fit_together(
    items: list[TrayItem], spec: LoadSpec, rooms: Sequence[float], dryer: Dryer, problems: Problems
) -> None:
    shares = sum(min(room / dryer.tray_area, 1.0) for room in rooms)
    if shares > dryer.trays * 1.001:
        words = msg(
            "the food covers {covered:.1f} trays, the dryer has {trays}; keep some for the next batch",
            covered=shares,
            trays=dryer.trays,
        )
        problems.append(InputError("tray", words))
    water = sum(item.water for item in items)
    if water > dryer.trap_capacity and not spec.rig.overload:
        words = msg(
            "the load holds {water} of water, but the cold trap only {ice} of ice. Load {share:.0%} "
            "less, or set program.overload = true to see when the trap is full",
            water=quantity(water, "mass"),
            ice=quantity(dryer.trap_capacity, "mass"),
            share=1 - dryer.trap_capacity / water,
        )
        problems.append(InputError("tray", words))


def _on_trays(
    items: list[TrayItem], trays: Sequence[TraySpec], rooms: Sequence[float], dryer: Dryer
) -> tuple[TrayItem, ...]:
    """Return the items with the numbers of their trays: as asked for, else the next tray with room for what it covers;
    where no such tray is left, the one with most room, so that no number is above the dryer's trays.
    """
    whole = dryer.tray_area
    areas = [min(room, whole) for room in rooms]
    free = [whole] * dryer.trays
    for tray, area in zip(trays, areas, strict=True):
        if tray.tray is not None:
            free[tray.tray - 1] -= area
    here, placed = 0, []
    for item, tray, area in zip(items, trays, areas, strict=True):
        number = (tray.tray or 0) - 1
        if number < 0:
            while here < len(free) - 1 and free[here] + 0.001 * whole < area:
                here += 1
            number = here if free[here] + 0.001 * whole >= area else max(range(len(free)), key=free.__getitem__)
            free[number] -= area
        placed.append(replace(item, tray=number + 1))
    return tuple(placed)


def tray_item(spec: TraySpec, prefix: str, rig: Rig, problems: Problems, room: float | None = None) -> TrayItem | None:
    """Return food on a tray as the engine dries it, or None after adding every problem.

    spec: what is asked for
    prefix: its name in problems
    rig: dryer and program
    problems: to which every problem is added
    room: area of the tray that it has for itself, or None for all of it [m2]
    """
    before = len(problems)
    _check_tray(spec, prefix, rig.dryer, problems)
    if len(problems) == before and (against := will_not_dry(spec.food)) is not None:
        problems.append(InputError(f"{prefix}.food", against))
    if len(problems) > before:
        return None
    item = _assemble(spec, prefix, rig, problems, rig.dryer.tray_area if room is None else room)
    return item if len(problems) == before else None


def _check_tray(spec: TraySpec, prefix: str, dryer: Dryer, problems: Problems) -> None:
    check(spec, RANGES["tray"], prefix, problems)
    for name in ("dried_layer", "heat", "areas"):
        check(getattr(spec, name), RANGES[f"tray.{name}"], f"{prefix}.{name}", problems)
    if spec.shape not in SHAPES:
        problems.append(unknown(f"{prefix}.shape", spec.shape, SHAPES, msg("shape")))
    if spec.skin_state is not None and spec.skin_state not in SKIN_STATES:
        problems.append(unknown(f"{prefix}.skin_state", spec.skin_state, SKIN_STATES, msg("state of a skin")))
    elif spec.skin_state in ("whole", "pricked") and spec.shape == "slab" and has_skin(spec.food):
        words = msg(
            "a layer can't be {state}; choose round pieces for {state} fruit, or call it halved or cut",
            state=msg(STATE_WORDS[spec.skin_state]),
        )
        problems.append(InputError(f"{prefix}.skin_state", words))
    for name, value, most in (("tray", spec.tray, dryer.trays), ("faces", spec.faces, 2)):
        if value is not None and not 1 <= value <= most:
            words = msg("{value} is not possible; write a whole number from {low} to {high}", value=str(value), low=1,
                        high=most)  # fmt: skip
            problems.append(InputError(f"{prefix}.{name}", words))
    check_cut(spec, prefix, problems)


def _assemble(spec: TraySpec, prefix: str, rig: Rig, problems: Problems, room: float) -> TrayItem:
    food, composition, heat = spec.food, spec.food.composition, spec.heat
    start = _or(spec.start_temperature, HOUSEHOLD_FREEZER if spec.frozen else COOL)
    freezing_point = initial_freezing_point(composition, food.food_class, food.like)
    layer = _layer(spec.dried_layer, layer_of(food.food_class, food.like))
    density, cut = fresh_density_of(spec), cut_of(spec)
    lie = lie_of(cut, spec.mass, density, None if rig.held else room, spec.area)
    cold = start if spec.frozen or (rig.held and start < freezing_point) else rig.freeze_to
    if cold >= freezing_point:
        words = msg(
            "frozen food must be below its freezing point of {temperature}",
            temperature=quantity(freezing_point, "temperature"),
        )
        problems.append(InputError(f"{prefix}.start_temperature", words))
        cold = rig.freeze_to
    ice_mass = heat.ice_mass if spec.ice_mass is None else spec.ice_mass
    own_ice = spec.mass * float(ice_fraction(composition, freezing_point, cold))
    limits = glass.collapse_limits(composition, food.food_class, food.like)
    skin = skin_of(food, spec.shape, spec.skin_state)
    item = TrayItem(
        food=food,
        mass=spec.mass,
        covering=covering_resistance(cut) + (0.0 if skin is None else skin.resistance),
        wrapper_mass=spec.wrapper_mass or 0.0,
        density=density,
        start_temperature=start,
        frozen=spec.frozen or rig.held,
        freezing_point=freezing_point,
        ice=_or(ice_mass, own_ice),
        unfrozen=0.0 if rig.held and ice_mass is not None else composition.water * spec.mass - own_ice,
        layer=layer,
        isotherm=sorption.isotherm_for(food),
        contact_fixed=heat.contact,
        above_fixed=heat.above,
        frozen_conductivity=_or(
            heat.frozen_conductivity, thermal.frozen_conductivity(composition, freezing_point, cold)
        ),
        heat_capacity=float(thermal.heat_capacity(composition.with_water(0.0), DRY_TEMPERATURE)),
        limit=limits.collapse,
        target=_or(spec.final_moisture, target_moisture(food)),
        notes=(*suitability(food).cautions, *layer.notes, limits.basis, *_skin_notes(spec, skin)),
        skin=skin,
        **from_lie(lie),
    )
    item = replace(item, areas=_areas(spec.areas, item.areas))
    if not rig.held:
        _fit(prefix, item, spec.area, rig.dryer, problems)
    return replace(item, notes=(*item.notes, *lie_notes(lie, rig.dryer, spec.area, held=rig.held)))


def _skin_notes(spec: TraySpec, skin: Skin | None) -> list[str]:
    """Return what was taken of a skin where it is not as written."""
    if skin is None and spec.skin_state is not None:
        words = msg(
            "no skin is known that holds vapor back in '{food}', so its state changes nothing",
            food=spec.food.name,
        )
        return [words]
    if skin is not None and spec.skin_state is None and skin.state != "whole":
        return [msg("its skin counts as {state}, as is usual for it", state=msg(STATE_WORDS[skin.state]))]
    return []


def _or(value: float | None, usual: float) -> float:
    return usual if value is None else value


def _areas(spec: AreaSpec, usual: Areas) -> Areas:
    return Areas(_or(spec.outer, usual.outer), _or(spec.contact, usual.contact), _or(spec.above, usual.above))


def _layer(spec: LayerSpec, default: DriedLayer) -> DriedLayer:
    changed: dict[str, Any] = {name: value for key, name in LAYER.items() if (value := getattr(spec, key)) is not None}
    if "vacuum_conductivity" in changed:
        changed["gas_conductivity"] = 0.0
    if "a1" in changed:  # a written resistance holds as written, at any pressure
        changed["viscous"] = 0.0
        changed.setdefault("a2", 0.0)
    notes = () if {"a1", "vacuum_conductivity"} <= set(changed) else default.notes
    return replace(default, notes=notes, **changed)


def _fit(prefix: str, item: TrayItem, area: float | None, dryer: Dryer, problems: Problems) -> None:
    """Add a problem where food does not fit on its tray."""
    lie = item.lie
    if area is not None and area > dryer.tray_area * 1.001:
        words = msg(
            "is {area}, more than one tray's {tray}; use more trays",
            area=quantity(area, "area"),
            tray=quantity(dryer.tray_area, "area"),
        )
        problems.append(InputError(f"{prefix}.area", words))
    elif item.cut.wrapper == "cup" and lie.piled:
        words = msg(
            "{mass} in these cups takes more than the tray; it holds about {room}",
            mass=quantity(item.mass, "mass"),
            room=quantity(item.mass / lie.layers, "mass"),
        )
        problems.append(InputError(f"{prefix}.mass", words))
    elif may_stand_out(lie, area):
        if lie.height > STANDS_OUT * dryer.rim_height:
            words = msg(
                "{size} stands above the tray's rim of {rim}; cut it smaller",
                size=quantity(lie.height, "length"),
                rim=quantity(dryer.rim_height, "length"),
            )
            problems.append(InputError(f"{prefix}.size", words))
    elif lie.height > dryer.rim_height * 1.001:
        words = msg(
            "{mass} of '{food}' is {height} deep, above the tray's rim of {rim}; this tray holds about {room}",
            mass=quantity(item.mass, "mass"),
            food=item.food.name,
            height=quantity(lie.height, "length"),
            rim=quantity(dryer.rim_height, "length"),
            room=quantity(item.mass * dryer.rim_height / lie.height, "mass"),
        )
        problems.append(InputError(f"{prefix}.mass", words))

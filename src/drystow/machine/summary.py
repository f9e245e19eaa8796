"""Turn the raw outcome of a run into results, events and sentences."""

import math
from dataclasses import dataclass, replace

import numpy as np

from drystow.freezing.piece import Freezing
from drystow.machine import stepper
from drystow.machine.events import moisture
from drystow.machine.item import TrayItem
from drystow.machine.layout import (
    MACHINE_RECORD,
    MACHINE_STATES,
    RECORD_PER_TRAY,
    STATES_PER_TRAY,
    EventTime,
    ItemRecord,
    ItemState,
    MachineRecord,
    State,
    TrayTime,
)
from drystow.machine.load import Load
from drystow.machine.result import EnergyCourse, Event, LoadResult, MachineResult, TrayResult
from drystow.messages import listed, msg
from drystow.numerics import Array
from drystow.properties.glass import collapse_limits
from drystow.properties.skin import OPENED, skin_of
from drystow.shown import quantity

ENDINGS = {
    stepper.DONE_DRY: "dry",
    stepper.DONE_PROGRAM: "program_end",
    stepper.DONE_TRAP: "trap_full",
    stepper.DONE_TIME: "time_limit",
    stepper.DONE_STALLED: "stalled",
}
MELTS = msg(
    "its ice melts during the run. It would foam, shrink and stay wet inside, and the times "
    "below mean nothing. Use a cooler shelf, a thinner layer or a lower pressure"
)
BURSTS = msg(
    "its ice melts during the run, under a whole skin. It would burst and stay wet inside, so no time is given. Halve "
    "it, prick the skin or use a cooler shelf"
)
WHOLE = msg("its skin is whole and holds vapor back: it may burst or stay wet inside. Halve it or prick the skin")
WORTH_TELLING = 1800.0  # heaters at their limit for less than this while warming up are no event [s]
BASE_SOURCES = ("drying-notes", "murphy2005", "drystow-default")


@dataclass(frozen=True)
class Raw:
    """What the compiled stepper left behind; times count from the start of drying.

    ending: code of the ending
    end: end of the run [s]
    state: at the end
    tray_times: `TrayTime`, a row for each tray item
    event_times: `EventTime`
    rows: records over time, `MachineRecord` and then `ItemRecord` of each tray item
    trays: the tray rows
    """

    ending: int
    end: float
    state: Array
    tray_times: Array
    event_times: Array
    rows: Array
    trays: Array


def summarise(load: Load, freezing: list[Freezing], start: float, raw: Raw) -> LoadResult:
    """Return the result of a load.

    load: what was simulated
    freezing: how each item froze
    start: beginning of drying after the food went in [s]
    raw: outcome of the drying stage
    """
    trays = tuple(_tray(number, item, freezing[number], start, raw) for number, item in enumerate(load.items))
    rows = raw.rows
    total = start + raw.end
    held = load.rig.pressure is not None
    pumped = min(load.rig.dryer.pump_down, start)
    pump = load.rig.dryer.pump_power * (raw.end + pumped)
    cold = start if load.rig.freezer == "dryer" else pumped  # the dryer's own compressor runs before drying begins [s]
    machine = MachineResult(
        trap_ice=float(raw.state[State.TRAP_ICE]),
        trap_capacity=load.rig.dryer.trap_capacity,
        peak_vapour=float(raw.event_times[EventTime.PEAK_FLOW])
        if not held
        else float(rows[:, MachineRecord.FLOW].max(initial=0.0)),
        peak_pressure=float(raw.event_times[EventTime.PEAK_PRESSURE]) if not held else float(load.rig.pressure or 0.0),
        heater_energy=float(raw.state[State.HEATER_ENERGY]),
        compressor_energy=0.0
        if held
        else float(raw.state[State.COMPRESSOR_ENERGY]) + load.rig.dryer.compressor_power * cold,
        pump_energy=0.0 if held else pump,
        pressure_limit=0.0 if held else load.rig.dryer.pressure_limit,
    )
    events = _events(load, trays, start, raw)
    ended_by = "melted" if not np.isnan(raw.tray_times[:, TrayTime.THAWED]).all() else ENDINGS[raw.ending]
    sources = {key for item in load.items for key in (*item.layer.sources, item.isotherm.source, item.food.source)}
    return LoadResult(
        title=load.title,
        trays=trays,
        machine=machine,
        total_time=total,
        drying_start=start,
        ended_by=ended_by,
        ended_text=_ended(ended_by, load, trays, raw),
        events=events,
        time=start + rows[:, MachineRecord.TIME],
        shelf_temperature=rows[:, MachineRecord.SHELF],
        chamber_pressure=rows[:, MachineRecord.PRESSURE],
        trap_temperature=rows[:, MachineRecord.TRAP_SURFACE],
        vapour=rows[:, MachineRecord.FLOW],
        trap_ice=rows[:, MachineRecord.TRAP_ICE],
        energy=EnergyCourse() if held or not len(rows) else _energy(load, start, pumped, cold, rows),
        notes=(*load.notes, *_load_notes(load, trays)),
        sources=tuple(sorted({*sources, *BASE_SOURCES} - {"definition"})),
    )


def _too_warm(item: TrayItem, hottest: float) -> str:
    """Return what to say of ice warmer than its limit, by how it is known; one that somebody set counts as measured."""
    limits = collapse_limits(item.food.composition, item.food.food_class, item.food.like)
    known = limits.known if limits.collapse == item.limit else "measured"
    told = {"hottest": quantity(hottest, "temperature"), "limit": quantity(item.limit, "temperature")}
    if known == "tried":
        return msg(
            "its ice got as warm as {hottest}, and pieces like it are known to hold up to {limit}. They may "
            "shrink or melt. Use a cooler shelf or thinner pieces",
            **told,
        )
    if known == "not known":
        return msg(
            "its ice got as warm as {hottest}, and it begins to melt at {limit}. Juices foam and shrink above that; "
            "whether this food does is not known. Use a cooler shelf or a thinner layer, or try one tray first",
            **told,
        )
    return msg(
        "its ice got as warm as {hottest}, above its limit of {limit}. Parts may melt, foam or "
        "shrink. Use a cooler shelf or a thinner layer",
        **told,
    )


def _tray(number: int, item: TrayItem, freezing: Freezing, start: float, raw: Raw) -> TrayResult:
    times = raw.tray_times[number]
    base = MACHINE_STATES + STATES_PER_TRAY * number
    u = raw.state[base + ItemState.FRACTION]
    water = moisture(raw.state, raw.trays[number], base) * item.solids
    at = MACHINE_RECORD + RECORD_PER_TRAY * number
    course = raw.rows[:, at + ItemRecord.MOISTURE]
    notes = list(item.notes)
    hottest = times[TrayTime.FRONT_MAX]
    if not math.isnan(times[TrayTime.LIMIT_PASSED]):
        notes.append(_too_warm(item, float(hottest)))
    thawed = not math.isnan(times[TrayTime.THAWED])
    burst = thawed and _whole(item)
    if thawed:
        notes.append(BURSTS if burst else MELTS)
    elif _whole(item):
        notes.append(WHOLE)
    return TrayResult(
        tray=item.tray, name=item.food.name, bursts=burst, wrapper_mass=item.wrapper_mass,
        lie=None if item.lie.room is None else item.lie,
        mass=item.mass,
        solids=item.solids,
        water_start=item.water,
        ice_start=item.ice,
        freezing_end=freezing.time,
        primary_end=None if burst else _after(start, times[TrayTime.ICE_GONE]),
        dry_end=None if burst else _after(start, times[TrayTime.DRY]),
        front_temperature_start=float(times[TrayTime.FRONT_START]),
        front_temperature_max=float(hottest),
        front_temperature_end=float(times[TrayTime.FRONT_END]),
        limit=item.limit,
        target_moisture=item.target,
        residual_moisture=float(water / (water + item.solids)),
        food_temperature_end=float(raw.state[base + ItemState.TEMPERATURE] if u <= 0.0 else times[TrayTime.FRONT_END]),
        notes=tuple(notes),
        dried_fraction=raw.rows[:, at + ItemRecord.DRIED],
        front_temperature=raw.rows[:, at + ItemRecord.TEMPERATURE],
        moisture=course / (1.0 + course),
    )  # fmt: skip


def _whole(item: TrayItem) -> bool:
    return item.skin is not None and item.skin.state == "whole"


def opened(load: Load) -> Load | None:
    """Return a load with every whole skin pricked, None where none is whole.

    load: what was simulated
    """
    if not any(_whole(item) for item in load.items):
        return None
    return replace(load, items=tuple(_opened(item) for item in load.items))


def _opened(item: TrayItem) -> TrayItem:
    skin = skin_of(item.food, item.shape, OPENED)
    if not _whole(item) or item.skin is None or skin is None:
        return item
    return replace(item, covering=item.covering - item.skin.resistance + skin.resistance, skin=skin)


def with_hours_saved(result: LoadResult, pricked: LoadResult) -> LoadResult:
    """Return a result that says how much sooner each food with a whole skin is dry when it is pricked.

    result: of the load
    pricked: of the same load from `opened`
    """
    trays = []
    for tray, other in zip(result.trays, pricked.trays, strict=True):
        if WHOLE in tray.notes and tray.dry_end is not None and other.dry_end is not None:
            sooner = quantity(max(tray.dry_end - other.dry_end, 0.0), "time")
            tray = replace(tray, notes=(*tray.notes, msg("pricked, it would be dry about {time} sooner", time=sooner)))
        trays.append(tray)
    return replace(result, trays=tuple(trays))


def _energy(load: Load, start: float, pumped: float, cold: float, rows: Array) -> EnergyCourse:
    """Return the electricity over time: what ran before drying, then what the stepper added up."""
    before, pump = load.rig.dryer.compressor_power, load.rig.dryer.pump_power
    return EnergyCourse(
        time=np.concatenate([[0.0, start - pumped], start + rows[:, MachineRecord.TIME]]),
        heaters=np.concatenate([[0.0, 0.0], rows[:, MachineRecord.HEATER_ENERGY]]),
        refrigeration=np.concatenate(
            [before * np.array([0.0, cold - pumped]), before * cold + rows[:, MachineRecord.COMPRESSOR_ENERGY]]
        ),
        pump=pump * np.concatenate([[0.0, 0.0], pumped + rows[:, MachineRecord.TIME]]),
    )


def _after(start: float, time: float) -> float | None:
    return None if math.isnan(time) else start + float(time)


def _events(load: Load, trays: tuple[TrayResult, ...], start: float, raw: Raw) -> tuple[Event, ...]:
    found: list[Event] = []
    for number, tray in enumerate(trays):
        times = raw.tray_times[number]
        if tray.freezing_end > 0.0:
            text = msg("{food}: frozen through", food=tray.name)
            found.append(Event(tray.freezing_end, "frozen", number, text))
        if not math.isnan(times[TrayTime.LIMIT_PASSED]):
            limit = quantity(tray.limit, "temperature")
            text = msg("{food}: ice warmer than its limit of {limit}", food=tray.name, limit=limit)
            found.append(Event(start + float(times[TrayTime.LIMIT_PASSED]), "collapse_limit", number, text))
        if not math.isnan(times[TrayTime.THAWED]):
            text = msg("{food}: the ice melts instead of drying", food=tray.name)
            found.append(Event(start + float(times[TrayTime.THAWED]), "thaw", number, text))
        if tray.primary_end is not None:
            text = msg("{food}: the last ice is gone", food=tray.name)
            found.append(Event(tray.primary_end, "ice_gone", number, text))
        if tray.dry_end is not None:
            text = msg("{food}: dry to {target:.1%} moisture", food=tray.name, target=tray.target_moisture)
            found.append(Event(tray.dry_end, "dry", number, text))
    full, held_back = (
        float(raw.event_times[EventTime.HEATER_FULL_LASTED]),
        float(raw.event_times[EventTime.HELD_BACK_LASTED]),
    )
    choked = msg("the opening to the trap is the bottleneck: vapor passes it at the speed of sound")
    weak = msg(
        "the heaters run at full power without reaching the set temperature ({hours:.1f} h in all)", hours=full / 3600
    )
    paused = msg(
        "the heaters pause to keep the pressure within its limit ({hours:.1f} h in all)", hours=held_back / 3600
    )
    for mark, kind, text, lasted in (
        (EventTime.CHOKED, "choked", choked, math.inf),
        (EventTime.HEATER_FULL, "heater_full", weak, full),
        (EventTime.HELD_BACK, "heater_held_back", paused, held_back),
    ):
        if load.rig.pressure is None and not math.isnan(raw.event_times[mark]) and lasted > WORTH_TELLING:
            found.append(Event(start + float(raw.event_times[mark]), kind, None, text))
    if ENDINGS[raw.ending] == "trap_full":
        found.append(Event(start + raw.end, "trap_full", None, msg("the cold trap is full of ice")))
    return tuple(sorted(found, key=lambda event: event.time))


def _ended(ended_by: str, load: Load, trays: tuple[TrayResult, ...], raw: Raw) -> str:
    if ended_by == "melted":
        melted = [
            tray.name
            for tray, times in zip(trays, raw.tray_times, strict=True)
            if not math.isnan(times[TrayTime.THAWED])
        ]
        if any(_whole(item) for item in load.items if item.food.name in melted):
            return msg(
                "the ice melts instead of drying: {foods}; halve what has a whole skin or prick it",
                foods=", ".join(melted),
            )
        return msg(
            "the ice melts instead of drying: {foods}; use a cooler shelf or a thinner layer", foods=", ".join(melted)
        )
    wet = [tray for tray in trays if tray.dry_end is None]
    if ended_by == "dry" or not wet:
        return msg("every tray reached its target moisture")
    worst = max(wet, key=lambda tray: tray.residual_moisture - tray.target_moisture)
    water, target = worst.residual_moisture, worst.target_moisture
    state = msg(
        "{food} still holds {water:.1%} moisture (target {target:.1%})", food=worst.name, water=water, target=target
    )
    if ended_by == "trap_full":
        ice = quantity(load.rig.dryer.trap_capacity, "mass")
        return msg("the trap is full at {ice} of ice before the food is dry; {state}", ice=ice, state=state)
    if ended_by == "program_end":
        return msg("the program ended before the food was dry: {state}; add a last step 'until dry'", state=state)
    cause, advice = _held_up(load, worst, raw)
    if ended_by == "time_limit":
        return msg(
            "it never gets dry (stopped after 20 days): {state}, {cause}; {advice}",
            state=state,
            cause=cause,
            advice=advice,
        )
    return msg(
        "it never gets dry (stopped because nothing changes anymore): {state}, {cause}; {advice}",
        state=state,
        cause=cause,
        advice=advice,
    )


def _held_up(load: Load, worst: TrayResult, raw: Raw) -> tuple[str, str]:
    """Return why the wettest food does not get dry, and what to do about it."""
    shelf = quantity(float(raw.state[State.SHELF]), "temperature")
    pressure = quantity(float(raw.rows[-1, MachineRecord.PRESSURE]) if len(raw.rows) else math.nan, "pressure")
    if load.rig.program[-1].shelf - float(raw.state[State.SHELF]) > 3.0:
        if raw.event_times[EventTime.HELD_BACK_LASTED] > raw.event_times[EventTime.HEATER_FULL_LASTED]:
            return msg(
                "the heaters pause at the pressure limit: the shelf is at {shelf} and {pressure}",
                shelf=shelf,
                pressure=pressure,
            ), msg("look for a leak, a full trap or a worn pump")
        return msg(
            "the heaters are too weak: the shelf is at {shelf} and {pressure}", shelf=shelf, pressure=pressure
        ), msg("load less, or check the heaters")
    if worst.primary_end is None:
        return msg(
            "its ice hardly turns to vapor with the shelf at {shelf} and {pressure}", shelf=shelf, pressure=pressure
        ), msg("warm the shelf or lower the pressure")
    return msg(
        "its last moisture no longer leaves at {temperature} and {pressure}",
        temperature=quantity(worst.food_temperature_end, "temperature"),
        pressure=pressure,
    ), msg("finish on a warmer shelf, or accept a higher final moisture")


def _load_notes(load: Load, trays: tuple[TrayResult, ...]) -> list[str]:
    notes: list[str] = []
    unsure = dict.fromkeys(item.food.name for item in load.items if item.food.raw_animal is None)
    if unsure and len({item.food.id for item in load.items}) > 1:
        words = msg(
            "it may be raw: {foods}; treat the whole load as raw until you have asked whoever made it",
            foods=listed(unsure),
        )
        notes.append(words)
    if {True, False} <= {item.food.raw_animal for item in load.items}:
        notes.append(
            msg(
                "raw animal food shares this load with ready-to-eat food: dry them in separate batches, "
                "or treat the whole load as raw"
            )
        )
    if load.rig.pressure is not None:
        notes.append(msg("pressure and shelf temperature were held for the whole run; no real dryer was simulated"))
        return notes
    water = sum(tray.water_start for tray in trays)
    if water > 0.9 * load.rig.dryer.trap_capacity:
        notes.append(
            msg(
                "the load uses {share:.0%} of the trap's ice capacity: defrost before the run",
                share=water / load.rig.dryer.trap_capacity,
            )
        )
    ends = [tray.dry_end for tray in trays if tray.dry_end is not None]
    if len(ends) == len(trays) and len(ends) > 1 and max(ends) > 1.4 * min(ends):
        slowest = max(trays, key=lambda tray: tray.dry_end or 0.0)
        notes.append(msg("the whole load waits for {food}: cut it thinner or give it another tray", food=slowest.name))
    return notes

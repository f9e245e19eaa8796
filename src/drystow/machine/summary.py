"""Turn the raw outcome of a run into results, events and sentences."""

import math
from dataclasses import dataclass

import numpy as np

from drystow.freezing.piece import Freezing
from drystow.machine.events import (
    MARK_CHOKED,
    MARK_FULL,
    MARK_FULL_TIME,
    MARK_HELD_BACK,
    MARK_HELD_BACK_TIME,
    MARK_PEAK_FLOW,
    MARK_PEAK_PRESSURE,
    RECORD,
)
from drystow.machine.item import TrayItem
from drystow.machine.layout import MACHINE_STATES, STATES_PER_TRAY
from drystow.machine.load import Load
from drystow.machine.result import EnergyCourse, Event, LoadResult, MachineResult, TrayResult
from drystow.messages import listed, msg
from drystow.numerics import Array
from drystow.shown import quantity

ENDINGS = {0: "dry", 1: "program_end", 2: "trap_full", 3: "time_limit", 4: "stalled"}
ICE_GONE, DRY, LIMIT, THAWED, FRONT_START, FRONT_MAX, FRONT_END = range(7)
WORTH_TELLING = 1800.0  # heaters at their limit for less than this while warming up are no event [s]
BASE_SOURCES = ("drying-notes", "murphy2005", "drystow-default")


@dataclass(frozen=True)
class Raw:
    """What the compiled stepper left behind; times count from the start of drying.

    ending: code of the ending
    end: end of the run [s]
    state: at the end
    times: per tray, as documented in the stepper
    marks: of the machine
    rows: records over time
    trays: the tray rows
    """

    ending: int
    end: float
    state: Array
    times: Array
    marks: Array
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
    held = load.pressure is not None
    pumped = min(load.dryer.pump_down, start)
    pump = load.dryer.pump_power * (raw.end + pumped)
    cold = start if load.freezer == "dryer" else pumped  # the dryer's own compressor runs before drying begins [s]
    machine = MachineResult(
        trap_ice=float(raw.state[1]),
        trap_capacity=load.dryer.trap_capacity,
        peak_vapour=float(raw.marks[MARK_PEAK_FLOW]) if not held else float(rows[:, 4].max(initial=0.0)),
        peak_pressure=float(raw.marks[MARK_PEAK_PRESSURE]) if not held else float(load.pressure or 0.0),
        heater_energy=float(raw.state[4]),
        compressor_energy=0.0 if held else float(raw.state[5]) + load.dryer.compressor_power * cold,
        pump_energy=0.0 if held else pump,
        pressure_limit=0.0 if held else load.dryer.pressure_limit,
    )
    events = _events(load, trays, start, raw)
    ended_by = "melted" if not np.isnan(raw.times[:, THAWED]).all() else ENDINGS[raw.ending]
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
        time=start + rows[:, 0],
        shelf_temperature=rows[:, 1],
        chamber_pressure=rows[:, 2],
        trap_temperature=rows[:, 3],
        vapour=rows[:, 4],
        trap_ice=rows[:, 5],
        energy=EnergyCourse() if held or not len(rows) else _energy(load, start, pumped, cold, rows),
        notes=(*load.notes, *_load_notes(load, trays)),
        sources=tuple(sorted({*sources, *BASE_SOURCES} - {"definition"})),
    )


def _tray(number: int, item: TrayItem, freezing: Freezing, start: float, raw: Raw) -> TrayResult:
    times = raw.times[number]
    base = MACHINE_STATES + STATES_PER_TRAY * number
    u = raw.state[base]
    left = u**1.5 if item.shape in ("sphere", "cube") else u
    water = left * (item.ice + item.unfrozen) + raw.state[base + 1]
    at = RECORD + 3 * number
    moisture = raw.rows[:, at + 2]
    notes = list(item.notes)
    hottest = times[FRONT_MAX]
    if not math.isnan(times[LIMIT]):
        notes.append(
            msg(
                "its ice got as warm as {hottest}, above its limit of {limit}. Parts may melt, foam or "
                "shrink. Use a cooler shelf or a thinner layer",
                hottest=quantity(float(hottest), "temperature"),
                limit=quantity(item.limit, "temperature"),
            )
        )
    if not math.isnan(times[THAWED]):
        notes.append(
            msg(
                "its ice melts during the run. It would foam, shrink and stay wet inside, and the times "
                "below mean nothing. Use a cooler shelf, a thinner layer or a lower pressure"
            )
        )
    return TrayResult(
        tray=item.tray, name=item.food.name,
        mass=item.mass,
        solids=item.solids,
        water_start=item.water,
        ice_start=item.ice,
        freezing_end=freezing.time,
        primary_end=_after(start, times[ICE_GONE]),
        dry_end=_after(start, times[DRY]),
        front_temperature_start=float(times[FRONT_START]),
        front_temperature_max=float(hottest),
        front_temperature_end=float(times[FRONT_END]),
        limit=item.limit,
        target_moisture=item.target,
        residual_moisture=float(water / (water + item.solids)),
        food_temperature_end=float(raw.state[base + 2]) if u <= 0.0 else float(times[FRONT_END]),
        notes=tuple(notes),
        dried_fraction=raw.rows[:, at],
        front_temperature=raw.rows[:, at + 1],
        moisture=moisture / (1.0 + moisture),
    )  # fmt: skip


def _energy(load: Load, start: float, pumped: float, cold: float, rows: Array) -> EnergyCourse:
    """Return the electricity over time: what ran before drying, then what the stepper added up."""
    before, pump = load.dryer.compressor_power, load.dryer.pump_power
    return EnergyCourse(
        time=np.concatenate([[0.0, start - pumped], start + rows[:, 0]]),
        heaters=np.concatenate([[0.0, 0.0], rows[:, 6]]),
        refrigeration=np.concatenate([before * np.array([0.0, cold - pumped]), before * cold + rows[:, 7]]),
        pump=pump * np.concatenate([[0.0, 0.0], pumped + rows[:, 0]]),
    )


def _after(start: float, time: float) -> float | None:
    return None if math.isnan(time) else start + float(time)


def _events(load: Load, trays: tuple[TrayResult, ...], start: float, raw: Raw) -> tuple[Event, ...]:
    found: list[Event] = []
    for number, tray in enumerate(trays):
        times = raw.times[number]
        if tray.freezing_end > 0.0:
            text = msg("{food}: frozen through", food=tray.name)
            found.append(Event(tray.freezing_end, "frozen", number, text))
        if not math.isnan(times[LIMIT]):
            limit = quantity(tray.limit, "temperature")
            text = msg("{food}: ice warmer than its limit of {limit}", food=tray.name, limit=limit)
            found.append(Event(start + float(times[LIMIT]), "collapse_limit", number, text))
        if not math.isnan(times[THAWED]):
            text = msg("{food}: the ice melts instead of drying", food=tray.name)
            found.append(Event(start + float(times[THAWED]), "thaw", number, text))
        if tray.primary_end is not None:
            text = msg("{food}: the last ice is gone", food=tray.name)
            found.append(Event(tray.primary_end, "ice_gone", number, text))
        if tray.dry_end is not None:
            text = msg("{food}: dry to {target:.1%} moisture", food=tray.name, target=tray.target_moisture)
            found.append(Event(tray.dry_end, "dry", number, text))
    full, held_back = float(raw.marks[MARK_FULL_TIME]), float(raw.marks[MARK_HELD_BACK_TIME])
    choked = msg("the opening to the trap is the bottleneck: vapor passes it at the speed of sound")
    weak = msg(
        "the heaters run at full power without reaching the set temperature ({hours:.1f} h in all)", hours=full / 3600
    )
    paused = msg(
        "the heaters pause to keep the pressure within its limit ({hours:.1f} h in all)", hours=held_back / 3600
    )
    for mark, kind, text, lasted in (
        (MARK_CHOKED, "choked", choked, math.inf),
        (MARK_FULL, "heater_full", weak, full),
        (MARK_HELD_BACK, "heater_held_back", paused, held_back),
    ):
        if load.pressure is None and not math.isnan(raw.marks[mark]) and lasted > WORTH_TELLING:
            found.append(Event(start + float(raw.marks[mark]), kind, None, text))
    if ENDINGS[raw.ending] == "trap_full":
        found.append(Event(start + raw.end, "trap_full", None, msg("the cold trap is full of ice")))
    return tuple(sorted(found, key=lambda event: event.time))


def _ended(ended_by: str, load: Load, trays: tuple[TrayResult, ...], raw: Raw) -> str:
    if ended_by == "melted":
        melted = [tray.name for tray, times in zip(trays, raw.times, strict=True) if not math.isnan(times[THAWED])]
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
        ice = quantity(load.dryer.trap_capacity, "mass")
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
    shelf = quantity(float(raw.state[0]), "temperature")
    pressure = quantity(float(raw.rows[-1, 2]) if len(raw.rows) else math.nan, "pressure")
    if load.program[-1].shelf - float(raw.state[0]) > 3.0:
        if raw.marks[MARK_HELD_BACK_TIME] > raw.marks[MARK_FULL_TIME]:
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
    if load.pressure is not None:
        notes.append(msg("pressure and shelf temperature were held for the whole run; no real dryer was simulated"))
        return notes
    water = sum(tray.water_start for tray in trays)
    if water > 0.9 * load.dryer.trap_capacity:
        notes.append(
            msg(
                "the load uses {share:.0%} of the trap's ice capacity: defrost before the run",
                share=water / load.dryer.trap_capacity,
            )
        )
    ends = [tray.dry_end for tray in trays if tray.dry_end is not None]
    if len(ends) == len(trays) and len(ends) > 1 and max(ends) > 1.4 * min(ends):
        slowest = max(trays, key=lambda tray: tray.dry_end or 0.0)
        notes.append(msg("the whole load waits for {food}: cut it thinner or give it another tray", food=slowest.name))
    return notes

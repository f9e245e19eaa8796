"""The course of a load in plain sentences."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import isinf

from drystow.days import day_text
from drystow.machine.load import Load, ProgramStep
from drystow.machine.result import LoadResult, TrayResult
from drystow.messages import Reader, Translate, english, msg, msg_many, told
from drystow.reports.text import duration_text, mass_text, sentence
from drystow.shown import show

_FROM_TRAYS = ("frozen", "ice_gone", "dry")
_WARNINGS = ("melting_limit", "collapse_limit", "trap_full", "choked", "heater_full", "thaw")


@dataclass(frozen=True)
class TimelineRow:
    """One line of the course of a load.

    time: since the food went in [s]
    when: the same in words, with the clock if the start is known
    what: one plain sentence
    kind: start, frozen, drying, ice_gone, dry, end, trap, or the kind of an event
    warning: something to act on
    item: number of the food that it is about, from 0, as in the load; None when it is about none or all
    """

    time: float
    when: str
    what: str
    kind: str
    warning: bool = False
    item: int | None = None


def timeline(
    result: LoadResult, units: str = "us", start: datetime | None = None, translate: Translate = english
) -> list[TimelineRow]:
    """Return what happens in a load, in order of time.

    result: of the simulated load
    units: ``us`` or ``si``
    start: when the food goes in, to show the clock
    translate: to the reader's language
    """
    reader = Reader.of(translate, units)
    rows: list[tuple[float, str, str, int | None]] = [(0.0, "start", _start_text(result, units), None)]
    freezing = {round(tray.freezing_end / 60) for tray in result.trays}
    together = len(result.trays) > 1 and len(freezing) == 1
    if together and max(freezing) > 0:
        rows.append((result.trays[0].freezing_end, "frozen", msg("All trays frozen through."), None))
    for number, tray in enumerate(result.trays):
        rows += [
            (*row, number)
            for row in _tray_rows(tray, tray_name(result, number), units)
            if not (together and row[1] == "frozen")
        ]
    if result.drying_start > 0:
        rows.append((result.drying_start, "drying", msg("Vacuum and heat on."), None))
    rows += [
        (event.time, event.kind, event.text, event.tray) for event in result.events if event.kind not in _FROM_TRAYS
    ]
    rows.sort(key=lambda row: row[0])
    rows.append((result.total_time, "end", result.ended_text, None))
    rows.append((result.total_time, "trap", _trap_text(result, units), None))
    return [
        TimelineRow(
            time,
            told(when_text(time, start), reader),
            sentence(what, reader),
            kind,
            kind in _WARNINGS or _ended_early(kind, result),
            item,
        )
        for time, kind, what, item in rows
    ]


def program_words(load: Load, units: str = "us") -> tuple[str, ...]:
    """Return the shelf program, one line a step."""
    return tuple(step_words(step, units) for step in load.rig.program)


def step_words(step: ProgramStep, units: str = "us") -> str:
    """Return one step of a shelf program."""
    shelf = show(step.shelf, "temperature", units)
    if isinf(step.duration):
        return msg("{shelf} until dry", shelf=shelf)
    return msg("{shelf} for {time}", shelf=shelf, time=duration_text(step.duration))


def tray_name(result: LoadResult, number: int) -> str:
    """Return a tray's food, with the tray's number where the load has several."""
    tray = result.trays[number]
    several = len(result.trays) > 1
    return msg("Tray {number}, {food}", number=tray.tray, food=tray.name) if several else tray.name


def when_text(seconds: float, start: datetime | None = None) -> str:
    """Return a time of the run as a span, with weekday and clock when the start is known.

    >>> from datetime import datetime
    >>> when_text(97200, datetime(2027, 3, 12, 20, 0))
    '27 h (Sat 23:00)'
    """
    span = duration_text(seconds) if seconds > 0 else msg("start")
    if start is None:
        return span
    clock = start + timedelta(seconds=seconds)
    return msg("{span} ({clock})", span=span, clock=day_text(clock, "name_clock"))


def _start_text(result: LoadResult, units: str) -> str:
    mass = sum(tray.mass for tray in result.trays)
    water = sum(tray.water_start for tray in result.trays)
    return msg(
        "Food in: {trays}, {mass}, of which {water} is water.",
        trays=tray_count(result),
        mass=mass_text(mass, units),
        water=mass_text(water, units),
    )


def tray_count(result: LoadResult) -> str:
    """Return how many trays a load has, in words."""
    count = len({tray.tray for tray in result.trays})
    return msg_many("{count} tray", "{count} trays", count)


def about_trays(result: LoadResult, numbers: Sequence[int]) -> str:
    """Return which trays something is about, in words; a food is named where it shares its tray with others.

    numbers: of the tray items, from 0
    """
    if len(numbers) == len(result.trays) > 1:
        return msg("Every tray")
    told_of: list[str] = []
    for number in numbers:
        tray = result.trays[number]
        here = [other for other, one in enumerate(result.trays) if one.tray == tray.tray]
        alone = set(here) <= set(numbers)
        told_of.append(str(tray.tray) if alone else f"{tray.tray} ({tray.name})")
    return msg("Tray {numbers}", numbers=", ".join(dict.fromkeys(told_of)))


def _tray_rows(tray: TrayResult, name: str, units: str) -> list[tuple[float, str, str]]:
    rows: list[tuple[float, str, str]] = []
    if tray.freezing_end > 0:
        rows.append((tray.freezing_end, "frozen", msg("{tray}: frozen through.", tray=name)))
    if tray.primary_end is not None:
        rows.append((tray.primary_end, "ice_gone", msg("{tray}: ice gone.", tray=name)))
    if tray.dry_end is not None:
        target = show(tray.target_moisture, "fraction", units)
        rows.append((tray.dry_end, "dry", msg("{tray}: dry to {target} moisture.", tray=name, target=target)))
    return rows


def _trap_text(result: LoadResult, units: str) -> str:
    machine = result.machine
    return msg(
        "Ice on the trap: {ice} of the {capacity} it holds.",
        ice=mass_text(machine.trap_ice, units),
        capacity=mass_text(machine.trap_capacity, units),
    )


def _ended_early(kind: str, result: LoadResult) -> bool:
    return kind == "end" and result.ended_by != "dry"

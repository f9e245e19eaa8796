"""The course of a load in plain sentences."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from math import isinf

from drystow.machine.load import Load
from drystow.machine.result import LoadResult, TrayResult
from drystow.reports.text import duration_text, mass_text, sentence
from drystow.units import show

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
    """

    time: float
    when: str
    what: str
    kind: str
    warning: bool = False


def timeline(result: LoadResult, units: str = "us", start: datetime | None = None) -> list[TimelineRow]:
    """Return what happens in a load, in order of time.

    result: of the simulated load
    units: ``us`` or ``si``
    start: when the food goes in, to show the clock
    """
    rows = [(0.0, "start", _start_text(result, units))]
    freezing = {round(tray.freezing_end / 60) for tray in result.trays}
    together = len(result.trays) > 1 and len(freezing) == 1
    if together and max(freezing) > 0:
        rows.append((result.trays[0].freezing_end, "frozen", "All trays: frozen through."))
    for number, tray in enumerate(result.trays):
        rows += [
            row for row in _tray_rows(tray, tray_name(result, number), units) if not (together and row[1] == "frozen")
        ]
    if result.drying_start > 0:
        rows.append((result.drying_start, "drying", "Vacuum and heat begin."))
    rows += [(event.time, event.kind, event.text) for event in result.events if event.kind not in _FROM_TRAYS]
    rows.sort(key=lambda row: row[0])
    rows.append((result.total_time, "end", result.ended_text))
    rows.append((result.total_time, "trap", _trap_text(result, units)))
    return [
        TimelineRow(time, when_text(time, start), sentence(what), kind, kind in _WARNINGS or _ended_early(kind, result))
        for time, kind, what in rows
    ]


def program_words(load: Load, units: str = "us") -> tuple[str, ...]:
    """Return the shelf program, one line a step."""
    return tuple(
        f"{show(step.shelf, 'temperature', units)} "
        + ("until dry" if isinf(step.duration) else f"for {duration_text(step.duration)}")
        for step in load.program
    )


def tray_name(result: LoadResult, number: int) -> str:
    """Return a tray's food, with the tray's number where the load has several."""
    name = result.trays[number].name
    return f"Tray {number + 1}, {name}" if len(result.trays) > 1 else name


def when_text(seconds: float, start: datetime | None = None) -> str:
    """Return a time of the run as a span, with weekday and clock when the start is known.

    >>> from datetime import datetime
    >>> when_text(97200, datetime(2027, 3, 12, 20, 0))
    '1 d 3 h (Sat 23:00)'
    """
    span = duration_text(seconds) if seconds > 0 else "start"
    if start is None:
        return span
    clock = start + timedelta(seconds=seconds)
    day = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")[clock.weekday()]
    return f"{span} ({day} {clock:%H:%M})"


def _start_text(result: LoadResult, units: str) -> str:
    mass = sum(tray.mass for tray in result.trays)
    water = sum(tray.water_start for tray in result.trays)
    count = f"{len(result.trays)} trays" if len(result.trays) > 1 else "1 tray"
    return f"Food goes in: {count}, {mass_text(mass, units)}, of it {mass_text(water, units)} water."


def _tray_rows(tray: TrayResult, name: str, units: str) -> list[tuple[float, str, str]]:
    rows = []
    if tray.freezing_end > 0:
        rows.append((tray.freezing_end, "frozen", f"{name}: frozen through."))
    if tray.primary_end is not None:
        rows.append((tray.primary_end, "ice_gone", f"{name}: ice gone."))
    if tray.dry_end is not None:
        target = show(tray.target_moisture, "fraction", units)
        rows.append((tray.dry_end, "dry", f"{name}: dry to {target} moisture."))
    return rows


def _trap_text(result: LoadResult, units: str) -> str:
    machine = result.machine
    return f"Trap holds {mass_text(machine.trap_ice, units)} of the {mass_text(machine.trap_capacity, units)} it can."


def _ended_early(kind: str, result: LoadResult) -> bool:
    return kind == "end" and result.ended_by != "dry"

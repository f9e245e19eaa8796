"""The sheet that goes on the dryer: what is in it, what to expect, and boxes to write down what was weighed."""

from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from drystow.errors import InputError
from drystow.machine.result import LoadResult
from drystow.reports.charts import chart_svg, drying_chart, temperature_chart
from drystow.reports.text import date_text, duration_text, mass_text, plain, sentence
from drystow.reports.timeline import timeline
from drystow.reports.typeset import typeset
from drystow.sources import MARKS, bibliography
from drystow.units import show

CHART_HEIGHT = 155  # px, for two charts on one page
SAFETY = (
    "Freeze-drying does not kill germs: cook what must be cooked, before drying or before eating, and label it so.",
    "Let the vacuum go and the heat fall before you open the door; cold surfaces burn bare skin.",
    "Local food and safety rules come first.",
)


def batch_sheet_pdf(
    result: LoadResult,
    *,
    units: str = "us",
    title: str = "",
    prepared_on: date | None = None,
    start: datetime | None = None,
    dryer: str = "",
    program: Sequence[str] = (),
    certainty: Sequence[str] = (),
    paper: str = "letter",
) -> bytes:
    """Return the batch sheet as a PDF.

    result: of the simulated load
    units: ``us`` or ``si``
    title: of the sheet; the load's own when empty
    prepared_on: printed in the header; today when left out
    start: when the food goes in, to print the clock
    dryer: name of the dryer
    program: what the operator sets, a line per step
    certainty: sentences on how sure the times are, for example from an ensemble
    paper: ``letter`` or ``a4``
    """
    if units not in ("us", "si"):
        raise InputError("units", f"'{units}' is not a unit system; write us or si")
    if paper not in ("letter", "a4"):
        raise InputError("paper", f"'{paper}' is not a paper; write letter or a4")
    return typeset(
        "batch_sheet.typ",
        {
            "paper": "us-letter" if paper == "letter" else "a4",
            "title": plain(title or result.title, 90),
            "prepared": date_text(prepared_on or date.today(), units),
            "facts": _facts(result, units, start, dryer),
            "trays": _trays(result, units),
            "program": [plain(step, 120) for step in program],
            "timeline": [
                {"when": row.when, "what": row.what, "warning": row.warning} for row in timeline(result, units, start)
            ],
            "charts": _charts(result, units),
            "over": _over(result, units),
            "notes": _all_notes(result),
            "energy": _energy(result, units),
            "certainty": [plain(line) for line in (*certainty, *_certainty(result))],
            "safety": SAFETY,
            "sources": _sources(result),
            "scale": "oz" if units == "us" else "g",
        },
    )


def _charts(result: LoadResult, units: str) -> list[str]:
    if len(result.time) < 2:
        return []
    charts = (drying_chart(result), temperature_chart(result, units))
    return [chart_svg({**chart, "height": CHART_HEIGHT}) for chart in charts]


def _facts(result: LoadResult, units: str, start: datetime | None, dryer: str) -> list[list[str]]:
    mass = sum(tray.mass for tray in result.trays)
    facts = [["Load", f"{len(result.trays)} {'tray' if len(result.trays) == 1 else 'trays'}, {mass_text(mass, units)}"]]
    if dryer:
        facts.append(["Dryer", plain(dryer, 60)])
    if start:
        facts.append(["Food goes in", f"{date_text(start.date(), units)}, {start:%H:%M}"])
    facts.append(["Expected length", duration_text(result.total_time)])
    machine = result.machine
    facts.append(
        ["Ice on the trap", f"{mass_text(machine.trap_ice, units)} of {mass_text(machine.trap_capacity, units)}"]
    )
    facts.append(["Electricity", show(machine.energy, "energy", units)])
    return facts


def _trays(result: LoadResult, units: str) -> list[list[str]]:
    return [
        [
            str(number + 1),
            plain(tray.name, 80),
            mass_text(tray.mass, units),
            mass_text(tray.water_start, units),
            mass_text(tray.ice_start, units),
            mass_text(tray.solids / (1.0 - tray.residual_moisture), units),
            show(tray.limit, "temperature", units),
            show(tray.front_temperature_max, "temperature", units),
            show(tray.target_moisture, "fraction", units),
            show(tray.residual_moisture, "fraction", units),
            duration_text(tray.dry_end) if tray.dry_end is not None else "not reached",
        ]
        for number, tray in enumerate(result.trays)
    ]


def _over(result: LoadResult, units: str) -> list[str]:
    """Return a sentence for every tray whose ice gets warmer than its limit."""
    return [
        f"Over the limit: tray {number}, {plain(tray.name, 60)}; ice as warm as "
        f"{show(tray.front_temperature_max, 'temperature', units)}, limit {show(tray.limit, 'temperature', units)}. "
        "It may melt or collapse: lower the shelf."
        for number, tray in enumerate(result.trays, start=1)
        if tray.front_temperature_max > tray.limit
    ]


def _all_notes(result: LoadResult) -> list[str]:
    """Return the notes of the load, then each note of a tray once, with the trays it is about."""
    about: dict[str, list[str]] = {}
    for number, tray in enumerate(result.trays, start=1):
        for note in tray.notes:
            about.setdefault(note, []).append(str(number))
    notes = list(map(sentence, result.notes))
    for note, trays in about.items():
        lead = "Every tray" if len(trays) == len(result.trays) > 1 else f"Tray {', '.join(trays)}"
        notes.append(f"{lead}: {sentence(note)}")
    return notes


def _energy(result: LoadResult, units: str) -> str:
    machine = result.machine
    parts = (
        ("shelf heaters", machine.heater_energy),
        ("refrigeration", machine.compressor_energy),
        ("vacuum pump", machine.pump_energy),
    )
    listed = ", ".join(f"{name} {show(energy, 'energy', units)}" for name, energy in parts)
    return f"Electricity: {listed}; together {show(machine.energy, 'energy', units)}."


def _certainty(result: LoadResult) -> list[str]:
    """Return sentences on what the forecast rests on."""
    marks = Counter(bibliography()[key].mark for key in result.sources)
    lines = [
        "This sheet is a forecast. Dry is what the scale says: weigh, warm on, weigh again, until nothing changes."
    ]
    if marks:
        parts = "; ".join(f"{marks[mark]} {MARKS[mark]}" for mark in MARKS if marks[mark])
        lines.append(f"Of the {sum(marks.values())} sources behind it: {parts}.")
    return lines


def _sources(result: LoadResult) -> list[dict[str, Any]]:
    known = bibliography()
    return [{"text": known[key].text, "mark": MARKS[known[key].mark]} for key in dict.fromkeys(result.sources)]

"""The sheet that goes on the dryer: what is in it, what to expect, and boxes to write down what was weighed."""

from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from drystow.days import day_text
from drystow.machine.result import LoadResult
from drystow.messages import Reader, Translate, english, msg, told
from drystow.reports.pictures import load_pictures, printed
from drystow.reports.text import duration_text, mass_text, plain, sentence
from drystow.reports.timeline import about_trays, timeline, tray_count
from drystow.reports.typeset import paper_name, typeset, words_of
from drystow.shown import show
from drystow.sources import MARKS, bibliography

CHARTS = ("drying", "temperature", "pressure", "energy")
CHART_SIZE = {"width": 300, "height": 128}  # px, for two charts side by side
SAFETY = (
    msg("Freeze-drying does not kill germs. Cook what must be cooked, before drying or before eating, and label it."),
    msg("Release the vacuum and let the heat drop before you open the door. Cold surfaces burn bare skin."),
    msg("Follow your local food and safety rules first."),
)
WORDS = (
    msg("en"), msg("Batch sheet"), msg("Page {page} of {count}", page="{page}", count="{count}"), msg("On the trays"),
    msg("Tray"), msg("Food"), msg("Fresh"), msg("Water"), msg("Ice"), msg("Dried"), msg("Limit"), msg("Warmest"),
    msg("Target"), msg("End"), msg("Dry after"),
    msg(
        "Limit: how warm the ice may get before it melts or the food collapses. Warmest: what to "
        "expect. Target and end: moisture."
    ),
    msg(
        "The number on a line is its tray; S is the shelf. Circle: ice gone. Square: dry. Dotted "
        "level lines: limits."
    ),
    msg("Program"), msg("What to expect"), msg("Watch out: "), msg("Weighings"), msg("Empty tray"),
    msg("Tray with food"), msg("1st check"), msg("2nd check"), msg("3rd check"), msg("Packed"),
    msg("Date and time"), msg("Lot"), msg("Initials"),
    msg("Notes"), msg("Safety"), msg("How sure this is"), msg("Sources"),
)  # fmt: skip
"""What the template says itself; ``en`` is the code of the language, for screen readers."""


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
    packed: Sequence[str] = (),
    translate: Translate = english,
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
    packed: sentences on what was packed without being known to be dry
    translate: to the reader's language
    """
    reader = Reader.of(translate, units)
    return typeset(
        "batch_sheet.typ",
        {
            "paper": paper_name(units, paper),
            "title": plain(title or result.title, 90),
            "words": words_of(WORDS, reader),
            "prepared": told(msg("Prepared {day}", day=day_text(prepared_on or date.today())), reader),
            "facts": _all_told(_facts(result, units, start, dryer), reader),
            "trays": _all_told(_trays(result, units), reader),
            "program": [plain(told(step, reader), 120) for step in program],
            "timeline": [
                {"when": row.when, "what": row.what, "warning": row.warning}
                for row in timeline(result, units, start, reader)
            ],
            "charts": _charts(result, units, reader),
            "over": [*(plain(told(line, reader), 200) for line in packed)]
            + [told(line, reader) for line in _over(result, units)],
            "notes": _all_notes(result, reader),
            "energy": told(_energy(result, units), reader),
            "certainty": [plain(told(line, reader)) for line in (*certainty, *_certainty(result))],
            "safety": [told(line, reader) for line in SAFETY],
            "sources": _sources(result, reader),
            "scale": told(msg("Write in {unit} or your scale's unit", unit="oz" if units == "us" else "g"), reader),
        },
    )


def _all_told(rows: Sequence[Sequence[str]], translate: Translate) -> list[list[str]]:
    return [[told(cell, translate) for cell in row] for row in rows]


def _charts(result: LoadResult, units: str, translate: Translate) -> list[dict[str, Any]]:
    return [
        printed(picture, CHART_SIZE, translate)
        | {"key": " · ".join(told(line.name, translate) for line in picture.lines)}
        for picture in load_pictures(result, units, CHARTS)
    ]


def _facts(result: LoadResult, units: str, start: datetime | None, dryer: str) -> list[list[str]]:
    mass = sum(tray.mass for tray in result.trays)
    load = msg("{trays}, {mass}", trays=tray_count(result), mass=mass_text(mass, units))
    facts: list[list[str]] = [[msg("Whole load"), load]]
    if dryer:
        facts.append([msg("Dryer"), plain(dryer, 60)])
    if start:
        facts.append([msg("Food in"), day_text(start, "moment")])
    facts.append([msg("Expected time"), duration_text(result.total_time)])
    machine = result.machine
    ice, capacity = mass_text(machine.trap_ice, units), mass_text(machine.trap_capacity, units)
    facts.append([msg("Ice on the trap"), msg("{part} of {whole}", part=ice, whole=capacity)])
    facts.append([msg("Electricity"), show(machine.energy, "energy", units)])
    return facts


def _trays(result: LoadResult, units: str) -> list[list[str]]:
    return [
        [
            str(tray.tray),
            plain(tray.name, 80),
            mass_text(tray.mass, units),
            mass_text(tray.water_start, units),
            mass_text(tray.ice_start, units),
            mass_text(tray.solids / (1.0 - tray.residual_moisture), units),
            show(tray.limit, "temperature", units),
            show(tray.front_temperature_max, "temperature", units),
            show(tray.target_moisture, "fraction", units),
            show(tray.residual_moisture, "fraction", units),
            duration_text(tray.dry_end) if tray.dry_end is not None else msg("not reached"),
        ]
        for tray in result.trays
    ]


def _over(result: LoadResult, units: str) -> list[str]:
    """Return a sentence for every tray whose ice gets warmer than its limit."""
    return [
        msg(
            "Over the limit: tray {number}, {food}; ice as warm as {warmest}, limit {limit}. It may "
            "melt or collapse: use a cooler shelf.",
            number=tray.tray,
            food=plain(tray.name, 60),
            warmest=show(tray.front_temperature_max, "temperature", units),
            limit=show(tray.limit, "temperature", units),
        )
        for tray in result.trays
        if tray.front_temperature_max > tray.limit
    ]


def _all_notes(result: LoadResult, translate: Translate) -> list[str]:
    """Return the notes of the load, then each note of a tray once, with the trays it is about."""
    about: dict[str, list[int]] = {}
    for number, tray in enumerate(result.trays):
        for note in tray.notes:
            about.setdefault(note, []).append(number)
    notes = [sentence(note, translate) for note in result.notes]
    for note, numbers in about.items():
        notes.append(f"{told(about_trays(result, numbers), translate)}: {sentence(note, translate)}")
    return notes


def _energy(result: LoadResult, units: str) -> str:
    machine = result.machine
    return msg(
        "Electricity: shelf heaters {heaters}, compressor {refrigeration}, vacuum pump {pump}; total {all}.",
        heaters=show(machine.heater_energy, "energy", units),
        refrigeration=show(machine.compressor_energy, "energy", units),
        pump=show(machine.pump_energy, "energy", units),
        all=show(machine.energy, "energy", units),
    )


def _certainty(result: LoadResult) -> list[str]:
    """Return sentences on what the forecast rests on."""
    marks = Counter(bibliography()[key].mark for key in result.sources)
    lines: list[str] = [
        msg(
            "This sheet is a forecast. The scale decides: weigh, keep drying warm, and weigh again "
            "until nothing changes."
        )
    ]
    if marks:
        lines.append(msg("Sources behind it: {count} ({parts}).", count=sum(marks.values()), parts=_listed(marks)))
    return lines


def _listed(marks: Counter[str]) -> str:
    parts: list[str] = [msg("{count} {mark}", count=marks[mark], mark=MARKS[mark]) for mark in MARKS if marks[mark]]
    listed = parts[0]
    for part in parts[1:]:
        listed = msg("{first}; {then}", first=listed, then=part)
    return listed


def _sources(result: LoadResult, translate: Translate) -> list[dict[str, Any]]:
    known = bibliography()
    return [
        {"text": known[key].text, "mark": told(MARKS[known[key].mark], translate)}
        for key in dict.fromkeys(result.sources)
    ]

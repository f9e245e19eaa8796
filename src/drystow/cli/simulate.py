"""``drystow simulate``: a load file -> its forecast."""

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.markup import escape

from drystow.cli.output import (
    JsonOption,
    SeedOption,
    Units,
    UnitsOption,
    console,
    here,
    print_json,
    print_remarks,
    progress_bar,
    reader,
    table,
    tell,
    write_whole,
)
from drystow.messages import listed, msg, ranged

if TYPE_CHECKING:
    from drystow.machine.ensemble import Spread
    from drystow.machine.result import LoadResult
    from drystow.numerics import Array

PROGRESS_FROM = 200  # members that take longer than a second
SHOWN_MEMBERS = 160  # members behind the ranges of the table for people


def simulate_command(
    load_file: Annotated[Path, typer.Argument(help="Load file (TOML).", metavar="LOAD.toml")],
    as_json: JsonOption = False,
    members: Annotated[
        int, typer.Option(min=0, max=20000, help="Simulated runs behind the ranges; 1 for no ranges.")
    ] = 0,
    seed: SeedOption = 1,
    series: Annotated[bool, typer.Option("--series", help="Add the hour-by-hour numbers to the JSON.")] = False,
    sheet: Annotated[Path | None, typer.Option(help="Also save the batch sheet as this PDF.")] = None,
    units: UnitsOption = Units.US,
) -> None:
    """Forecast freezing, drying and energy of a load."""
    from drystow.machine.ensemble import simulate_spread, with_middle_times
    from drystow.machine.loadfile import read_load
    from drystow.machine.run import simulate
    from drystow.reports.plain_data import load_json

    load = read_load(load_file)
    result = simulate(load)
    count = members or (1 if as_json or load.rig.pressure is not None else SHOWN_MEMBERS)
    spread: Spread | None = None
    if count > 1:
        with progress_bar(hidden=count < PROGRESS_FROM) as progress:
            task = progress.add_task("Drawing ranges", total=count)
            spread = simulate_spread(load, count, seed, tick=lambda done: progress.advance(task, done))
    told = result if spread is None else with_middle_times(result, spread)
    if sheet is not None:
        from drystow.reports.batch_sheet import batch_sheet_pdf
        from drystow.reports.timeline import program_words

        content = batch_sheet_pdf(
            told,
            units=units.value,
            dryer=here(load.rig.dryer.words),
            program=program_words(load, units.value),
            certainty=_certainty(spread),
            translate=reader(),
        )
        write_whole(sheet, content)
    if as_json:
        print_json(load_json(result, spread=spread, series=series))
    else:
        _tell(told, spread, units.value)


def _tell(result: "LoadResult", spread: "Spread | None", units: str) -> None:
    from drystow.reports.text import duration_text
    from drystow.reports.timeline import about_trays, timeline
    from drystow.shown import show

    out = console()
    out.print(result.title, style="bold", markup=False)
    rows = table("", ">Tray", "Food", ">Weight", ">Water", ">Frozen", ">Ice gone", ">Dry", ">Left", "Likely (8 in 10)")
    for number, tray in enumerate(result.trays):
        rows.add_row(
            str(tray.tray),
            escape(tray.name),
            show(tray.mass, "mass", units),
            show(tray.water_start, "mass", units),
            duration_text(tray.freezing_end) if tray.freezing_end > 0 else here(msg("came frozen")),
            _time(tray.primary_end),
            _time(tray.dry_end),
            show(tray.residual_moisture, "fraction", units),
            _range(spread.dry_end[number]) if spread and not tray.bursts else "",
        )
    out.print(rows)
    out.print()
    for row in timeline(result, units, translate=reader()):
        out.print(f"{row.when:>10}  {row.what}", style="bold" if row.warning else "", markup=False)
    machine = result.machine
    energy = msg(
        "Electricity {total}: compressor {compressor}, heaters {heaters}, pump {pump}. Highest pressure {pressure}.",
        total=show(machine.energy, "energy", units),
        compressor=show(machine.compressor_energy, "energy", units),
        heaters=show(machine.heater_energy, "energy", units),
        pump=show(machine.pump_energy, "energy", units),
        pressure=show(machine.peak_pressure, "pressure", units),
    )
    out.print()
    tell(out, energy)
    print_remarks(out, "How sure", _certainty(None if result.ended_by == "melted" else spread))
    for note in result.notes:
        tell(out, msg("Note: {line}.", line=note))
    notes: dict[str, list[int]] = {}
    for number, tray in enumerate(result.trays):
        for note in tray.notes:
            notes.setdefault(note, []).append(number)
    for note, numbers in notes.items():
        about = str(about_trays(result, numbers))
        tell(out, msg("Note, {about}: {line}.", about=about[0].lower() + about[1:], line=here(note).rstrip(".")))


def _certainty(spread: "Spread | None") -> tuple[str, ...]:
    from drystow.machine.ensemble import main_causes
    from drystow.reports.text import unending_text

    if spread is None:
        return ()
    words = [
        unending_text(float(spread.total[0]), float(spread.total[-1]))
        or msg(
            "In 8 of 10 simulated runs it takes {span} ({count} runs with uncertain food, cut and dryer).",
            span=_range(spread.total),
            count=spread.members,
        )
    ]
    main = main_causes(spread.runs, spread.runs.end)
    if main:
        words.append(msg("Most of that range comes from: {causes}.", causes=listed(main)))
    return tuple(words)


def _time(seconds: float | None) -> str:
    from drystow.reports.text import duration_text

    return "not reached" if seconds is None else duration_text(seconds)


def _range(three: "Array") -> str:
    from drystow.reports.text import duration_text

    low, high = float(three[0]), float(three[-1])
    if not math.isfinite(low):
        return "not reached"
    return ranged(duration_text(low), duration_text(high) if math.isfinite(high) else "never")

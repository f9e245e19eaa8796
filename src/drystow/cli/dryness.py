"""``drystow dryness`` and ``drystow outage``: is it dry, and what a power cut did."""

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
    table,
    tell,
)
from drystow.messages import ends, msg, ranged

if TYPE_CHECKING:
    from drystow.evidence.dryness.judge import TrayDryness

SHOWN = {
    "dry": "dry",
    "nearly": "nearly",
    "not_dry": "not yet",
    "not_enough_evidence": "cannot tell",
    "contradiction": "does not fit",
}


def dryness_command(
    batch_file: Annotated[
        Path, typer.Argument(help="Dryness file (TOML), see docs/dryness-file.md.", metavar="BATCH.toml")
    ],
    as_json: JsonOption = False,
    members: Annotated[int, typer.Option(min=20, max=20000, help="Simulated runs in the first round.")] = 600,
    seed: SeedOption = 1,
    units: UnitsOption = Units.US,
) -> None:
    """Is it dry? Tells how dry each tray is, and how sure that is, from weighings and other evidence."""
    from drystow.evidence.dryness.batch_file import read_batch
    from drystow.evidence.dryness.judge import DrynessQuestion, judge
    from drystow.reports.plain_data import dryness_json

    batch = read_batch(batch_file)
    with progress_bar(hidden=as_json) as progress:
        task = progress.add_task("Trying courses", total=None)
        asked = DrynessQuestion(batch.load, batch.evidence, batch.now, groups=batch.groups, members=members, seed=seed)
        trays = judge(asked, tick=lambda done: progress.advance(task, done))
    if as_json:
        print_json(dryness_json(batch, trays))
    else:
        _tell(batch.title, trays, units.value)


def _tell(title: str, trays: "tuple[TrayDryness, ...]", units: str) -> None:
    from drystow.figures import fixed
    from drystow.shown import between, show

    out = console()
    out.print(title, style="bold", markup=False)
    rows = table(
        "", ">Tray", "Food", "Verdict", ">Chance dry", ">Moisture left", ">Target", ">Water activity", ">More time"
    )
    for tray in trays:
        left, activity = tray.residual_moisture, tray.water_activity
        rows.add_row(
            str(tray.tray),
            escape(tray.name),
            SHOWN[tray.verdict],
            _chance(tray),
            between(left.low, left.high, "fraction", 1),
            show(tray.target_moisture, "fraction", units),
            f"{fixed(activity.low, 2)} to {fixed(activity.high, 2)}",
            _more(*tray.more_time),
        )
    out.print(rows)
    for tray in trays:
        out.print(f"\nTray {tray.tray}: {here(tray.words)}", markup=False)
        for piece in tray.pieces:
            side = "for dry" if piece.pull > 0.0 else "against"
            strength = "hardly tells" if abs(piece.pull) < 0.3 else f"speaks {side}"
            out.print(
                f"  Evidence: {here(piece.words)} ({strength}, {fixed(piece.pull, 1, signed=True)}).", markup=False
            )
        for note in tray.notes:
            out.print(f"  Note: {here(note)}.", markup=False)


def _chance(tray: "TrayDryness") -> str:
    from drystow.evidence.dryness.words import chance_words

    return "?" if tray.verdict == "contradiction" else here(chance_words(tray.probability_dry))


def _more(half: float, most: float) -> str:
    from drystow.reports.text import duration_text

    if half == 0.0 and most == 0.0:
        return "none"
    words = [duration_text(time) if math.isfinite(time) else "never" for time in (half, most)]
    return words[0] if words[0] == words[1] else " to ".join(ends(*words))


if TYPE_CHECKING:
    from drystow.evidence.band import Band
    from drystow.evidence.outage.advice import OutageResult


def outage_command(
    load_file: Annotated[Path, typer.Argument(help="Load file (TOML).", metavar="LOAD.toml")],
    at: Annotated[str, typer.Option("--at", help="When the power went out, counted from vacuum on: '9 h'.")],
    time: Annotated[str, typer.Option("--for", help="How long it was out: '3 h'.")],
    opened: Annotated[bool, typer.Option("--opened", help="The chamber was opened.")] = False,
    room: Annotated[str | None, typer.Option(help="Room temperature; the dryer's own if left out.")] = None,
    as_json: JsonOption = False,
    units: UnitsOption = Units.US,
) -> None:
    """Tell what a power outage did to each tray and what to do with it."""
    from drystow.evidence.outage.advice import Outage
    from drystow.evidence.outage.simulate import survive
    from drystow.machine.loadfile import read_load
    from drystow.units import parse

    load = read_load(load_file)
    outage = Outage(
        parse(at, "time", "--at"),
        parse(time, "time", "--for"),
        opened,
        load.rig.dryer.room if room is None else parse(room, "temperature", "--room"),
    )
    result = survive(load, outage)
    if as_json:
        print_json(_json(result))
    else:
        _tell_outage(load.title, result, units.value)


def _json(result: "OutageResult") -> dict[str, object]:
    return {
        "trays": [
            {
                "name": one.name,
                "advice": one.advice,
                "words": one.words,
                "ice_before_kg": _three(one.ice_before),
                "ice_left_kg": _three(one.ice_left),
                "melted_kg": _three(one.melted),
                "core_k": _three(one.core),
                "dried_k": _three(one.dried),
                "highest_k": _three(one.highest),
                "above_4_c_s": _three(one.above_cold),
                "above_freezing_s": _three(one.above_freezing),
                "later_s": _three(one.delay),
            }
            for one in result.trays
        ],
        "later_s": _three(result.delay),
        "refreezing_s": _three(result.refreezing),
        "cautions": list(result.cautions),
        "notes": list(result.notes),
        "sources": list(result.sources),
    }


def _three(band: "Band") -> dict[str, float]:
    return {"low": band.low, "middle": band.middle, "high": band.high}


def _tell_outage(title: str, result: "OutageResult", units: str) -> None:
    from drystow.evidence.outage.advice import NAMES
    from drystow.shown import REFRIGERATOR, show

    def span(band: "Band", kind: str) -> str:
        low, high = show(band.low, kind, units), show(band.high, kind, units)
        return ranged(low, high)

    out = console()
    rows = table(title, "Food", "Advice", ">Ice left", ">Core at the end", f">Moist above {here(REFRIGERATOR)}")
    for one in result.trays:
        rows.add_row(
            one.name, NAMES[one.advice], span(one.ice_left, "mass"), span(one.core, "temperature"),
            span(one.above_cold, "time"),
        )  # fmt: skip
    out.print(rows)
    for one in result.trays:
        tell(out, msg("{heading}: {line}", heading=one.name, line=one.words))
    later, again = span(result.delay, "time"), span(result.refreezing, "time")
    tell(out, msg("The run ends {later} later.", later=later))
    if result.refreezing.high > 0.0:
        tell(out, msg("Of this time, {again} go to refreezing food.", again=again))
    print_remarks(out, "Caution", result.cautions)
    print_remarks(out, "Note", result.notes)

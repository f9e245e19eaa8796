"""``drystow dryness``: a load and what you saw of it -> how dry each tray is."""

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
    progress_bar,
    table,
)
from drystow.messages import ends

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

"""``drystow outage``: a load file and a power outage -> what it did to each tray."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drystow.cli.output import (
    JsonOption,
    Units,
    UnitsOption,
    console,
    here,
    print_json,
    print_remarks,
    table,
    tell,
)
from drystow.messages import msg, ranged

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
        _tell(load.title, result, units.value)


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


def _tell(title: str, result: "OutageResult", units: str) -> None:
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

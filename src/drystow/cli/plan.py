"""``drystow best-load`` and ``drystow best-program``: what to load, and how to run it."""

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.markup import escape
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

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
    write_whole,
)
from drystow.messages import msg, ranged

if TYPE_CHECKING:
    from drystow.planning.load.load_plan import LoadPlan, Times
    from drystow.planning.program.best_program import ShelfProgram
    from drystow.planning.program.verifying import Verified

MembersOption = Annotated[int, typer.Option(min=20, max=2000, help="Simulated runs behind the times.")]


def plan_command(
    basket_file: Annotated[
        Path, typer.Argument(help="Basket file (TOML), see docs/basket-file.md.", metavar="BASKET.toml")
    ],
    as_json: JsonOption = False,
    load: Annotated[Path | None, typer.Option("--load", help="Also save the load file here.")] = None,
    members: MembersOption = 100,
    seed: SeedOption = 1,
    units: UnitsOption = Units.US,
) -> None:
    """Find the best load: cut, trays and amounts from what is in the basket."""
    from drystow.fields import toml_text
    from drystow.machine.loadfile import load_table
    from drystow.planning.load.basket import read_basket
    from drystow.planning.load.best_load import plan_load

    counter = read_basket(basket_file)
    with _progress() as progress:
        task = progress.add_task("Trying loads", total=None)
        plan = plan_load(counter, seed=seed, members=members, tick=lambda runs: progress.advance(task, runs))
    if load is not None:
        write_whole(load, toml_text(load_table(plan.spec)).encode())
    if as_json:
        print_json(_plan_json(plan))
    else:
        _tell_plan(plan, units.value)


def program_command(
    load_file: Annotated[Path, typer.Argument(help="Load file (TOML).", metavar="LOAD.toml")],
    as_json: JsonOption = False,
    confidence: Annotated[
        float, typer.Option(help="How many runs must keep every limit: 0.8 means 8 in 10 (0.8, 0.9, 0.95 or 0.99).")
    ] = 0.9,
    margin: Annotated[str, typer.Option(help="How far the ice must stay below its limits, such as '1 K'.")] = "1 K",
    steps: Annotated[int, typer.Option(min=1, max=4, help="Most steps in the program.")] = 3,
    highest: Annotated[str, typer.Option(help="Warmest shelf; the dryer's own if left out.")] = "",
    members: MembersOption = 100,
    seed: SeedOption = 1,
    units: UnitsOption = Units.US,
) -> None:
    """Find the fastest shelf program that keeps the ice cool enough."""
    from drystow.machine.loadfile import read_load
    from drystow.planning.program.best_program import ProgramWishes, find_program
    from drystow.units import parse

    load = read_load(load_file)
    apart = parse(margin, "temperature difference", "--margin")
    warmest = parse(highest, "temperature", "--highest") if highest else None
    with _progress() as progress:
        task = progress.add_task("Trying programs", total=None)
        found = find_program(
            load,
            ProgramWishes(confidence=confidence, margin=apart, most_steps=steps, highest=warmest),
            members=members,
            seed=seed,
            tick=lambda runs: progress.advance(task, runs),
        )
    if as_json:
        print_json(_program_json(found))
    else:
        _tell_program(found, units.value)


def _progress() -> Progress:
    columns = (SpinnerColumn(), TextColumn("{task.description}: {task.completed:.0f} runs"), TimeElapsedColumn())
    return progress_bar(*columns)


def _plan_json(plan: "LoadPlan") -> dict[str, Any]:
    from drystow.machine.loadfile import load_table
    from drystow.units import hours

    return {
        "title": plan.title,
        "wished_h": hours(plan.wished),
        "met": plan.refusal is None,
        "refusal": None
        if plan.refusal is None
        else {"rule": plan.refusal.rule, "words": plan.refusal.words, "instead": plan.refusal.instead},
        "trays": [
            {
                "tray": tray.tray,
                "name": tray.name,
                "shape": tray.shape,
                "size_mm": tray.size * 1000,
                "mass_kg": tray.mass,
                "dry_h": _times_json(tray.dry),
                "over_limit_k": tray.over,
            }
            for tray in plan.trays
        ],
        "left": [
            {"name": one.name, "mass_kg": one.mass, "rule": one.rule, "words": one.words} for one in plan.left
        ],
        "end_h": _times_json(plan.end),
        "mass_kg": plan.mass,
        "value": plan.value,
        "water_kg": plan.water,
        "trap_capacity_kg": plan.capacity,
        "energy_kwh": plan.energy / 3.6e6,
        "energy_kwh_per_kg": plan.energy_per_mass / 3.6e6,
        "costs": [
            {"name": _food(plan, cost.food), "kind": cost.kind, "later_h": hours(cost.time), "more_kg": cost.mass,
             "words": cost.words}
            for cost in plan.costs
        ],
        "cautions": list(plan.cautions),
        "notes": list(plan.notes),
        "load": load_table(plan.spec),
        "members": plan.members,
        "simulations": plan.runs,
    }  # fmt: skip


def _food(plan: "LoadPlan", number: int) -> str:
    return next(tray.name for tray in plan.trays if tray.food == number)


def _times_json(times: "Times") -> dict[str, float | None]:
    from drystow.units import hours

    values = {"p10": times.p10, "p50": times.p50, "p80": times.p80, "p90": times.p90}
    return {name: hours(value) if math.isfinite(value) else None for name, value in values.items()}


def _tell_plan(plan: "LoadPlan", units: str) -> None:
    from drystow.reports.text import duration_text, promised_text, sentence
    from drystow.shown import DISPLAY, show, to_display

    out = console()
    out.print(plan.title, style="bold", markup=False)
    if plan.refusal is not None:
        tell(out, msg("NOT WHAT YOU ASKED FOR: {why} {instead}", why=sentence(here(plan.refusal.words)),
                      instead=sentence(here(plan.refusal.instead))), "bold")  # fmt: skip
    rows = table("", ">Tray", "Food", "Cut", ">Weight", ">Dry", "Likely (8 in 10)")
    for tray in plan.trays:
        rows.add_row(
            str(tray.tray),
            escape(tray.name),
            f"{tray.shape} {show(tray.size, 'length', units)}",
            show(tray.mass, "mass", units),
            _hours(tray.dry.p50),
            here(ranged(_hours(tray.dry.p10), _hours(tray.dry.p90))),
        )
    out.print(rows)
    out.print()
    tell(out, msg("In 8 of 10 simulated runs it is dry within {time} (you asked for {asked}). {mass} of food,"
                  " {ice} of ice for a trap that takes {capacity}."
                  " Electricity {energy}, {each} per {unit} of fresh food.",
                  time=promised_text(plan.end.p80) if math.isfinite(plan.end.p80) else "never",
                  asked=duration_text(plan.wished), mass=show(plan.mass, "mass", units),
                  ice=show(plan.water, "mass", units), capacity=show(plan.capacity, "mass", units),
                  energy=show(plan.energy, "energy", units), unit=DISPLAY["mass"][units][0],
                  each=show(plan.energy_per_mass / to_display(1.0, "mass", units), "energy", units)))  # fmt: skip
    for left in plan.left:
        tell(out, msg("Left over, {mass} of {food}: {why}", mass=show(left.mass, "mass", units), food=left.name,
                      why=sentence(here(left.words))))  # fmt: skip
    print_remarks(out, "Else", (sentence(here(cost.words)) for cost in plan.costs))
    print_remarks(out, "Caution", map(sentence, map(here, plan.cautions)))
    print_remarks(out, "Note", map(sentence, map(here, plan.notes)))


def _hours(seconds: float) -> str:
    from drystow.reports.text import duration_text

    return duration_text(seconds) if math.isfinite(seconds) else "never"


def _program_json(found: "ShelfProgram") -> dict[str, Any]:
    return {
        "title": found.load.title,
        "safe": found.safe,
        "worst": None if found.safe else _worst(found),
        "program": _verified_json(found.found),
        "own_program": {**_verified_json(found.plain), "safe": found.plain_safe},
        "saved_h": _finite(found.time_saved / 3600),
        "saved_kwh": _finite(found.energy_saved / 3.6e6),
        "confidence": found.confidence,
        "margin_k": found.margin,
        "stops": [
            {"step": stop.step + 1, "limit": stop.limit,
             "tray": None if stop.tray is None else found.load.items[stop.tray].tray, "words": stop.words}
            for stop in found.stops
        ],
        "notes": list(found.notes),
        "members": found.members,
        "simulations": found.runs,
    }  # fmt: skip


def _worst(found: "ShelfProgram") -> dict[str, Any]:
    item = found.load.items[found.worst]
    return {"tray": item.tray, "name": item.food.name}


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _verified_json(one: "Verified") -> dict[str, Any]:
    from drystow.units import celsius

    return {
        "shelf": _steps(one),
        "total_h": _finite(one.time / 3600),
        "end_h": _times_json(one.end),
        "energy_kwh": _finite(one.energy / 3.6e6),
        "kept": one.kept,
        "trays": [{"over": over, "front_p90_c": celsius(hot)} for over, hot in zip(one.over, one.hottest, strict=True)],
    }


def _steps(one: "Verified") -> list[str]:
    """Return a program as a load file has it."""
    from drystow.units import celsius

    return [
        f"{celsius(step.shelf):.5g} degC "
        + (f"for {step.duration / 3600:.5g} h" if math.isfinite(step.duration) else "until dry")
        for step in one.program
    ]


def _tell_program(found: "ShelfProgram", units: str) -> None:
    from drystow.reports.text import sentence
    from drystow.reports.timeline import step_words
    from drystow.shown import show

    out = console()
    out.print(found.load.title, style="bold", markup=False)
    if not found.safe:
        rest = msg("Nothing cooler is better:") if not found.usable else msg("A cooler one is better:")
        worst = found.load.items[found.worst].food.name
        tell(out, msg("NO PROGRAM KEEPS EVERY LIMIT, least for {food}. {rest}", food=worst, rest=rest), "bold")
    rows = table("", "", "Shelf", ">Dry", ">8 in 10 dry", ">Electricity", ">Limits kept")
    for name, one in (("Found", found.found), ("As written", found.plain)):
        rows.add_row(
            name,
            "; ".join(step_words(step, units) for step in one.program),
            _hours(one.time),
            _hours(one.end.p80),
            show(one.energy, "energy", units),
            here(msg("{share:.0%} of the runs", share=one.kept)),
        )
    out.print(rows)
    out.print()
    tell(out, msg("Saved: {time}, {energy}.", time=show(found.time_saved, "time", units),
                  energy=show(found.energy_saved, "energy", units)))  # fmt: skip
    print_remarks(out, "Why not warmer", (sentence(here(stop.words)) for stop in found.stops))
    print_remarks(out, "Note", map(sentence, map(here, found.notes)))

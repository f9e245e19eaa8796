"""``drystow plan``: what arrives over the next days -> which batch starts when, what is saved and what is not."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.progress import BarColumn, TaskProgressColumn, TextColumn

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
    write_whole,
)

if TYPE_CHECKING:
    from drystow.packing.shopping import Shopping
    from drystow.planning.schedule import PlannedLot, Schedule


SIMPLE = {"first_come": "loading in order of arrival", "earliest_deadline": "loading what spoils first"}
"""Simple rule that a plan is compared with -> what it does."""


def schedule_command(
    plan_file: Annotated[Path, typer.Argument(help="Plan file (TOML), see docs/plan-file.md.", metavar="PLAN.toml")],
    calendar: Annotated[Path | None, typer.Option(help="Save a calendar file (iCalendar): load, unload, pack.")] = None,
    seconds: Annotated[float, typer.Option(min=0.5, max=3600, help="How long to search, in seconds.")] = 20.0,
    seed: SeedOption = 1,
    workers: Annotated[int, typer.Option(min=1, max=64, help="Threads; with 1 the answer is the same every time.")] = 2,
    as_json: JsonOption = False,
    units: UnitsOption = Units.US,
) -> None:
    """Plan many batches to save the most food by its worth, then use cheap hours; says how close to perfect it is."""
    from datetime import UTC, datetime

    from drystow.packing.shopping import packs_of, shopping_list
    from drystow.planning.calendar import calendar_bytes
    from drystow.planning.lotsfile import read_lots
    from drystow.planning.schedule import schedule
    from drystow.planning.solver import load_solver
    from drystow.reports.schedule_json import schedule_dict

    lots = read_lots(plan_file)
    load_solver()
    with progress_bar(TextColumn("{task.description}"), BarColumn(), TaskProgressColumn()) as bar:
        task = bar.add_task("Planning", total=1.0)
        made = schedule(lots, seconds, seed, workers, tick=lambda share: bar.update(task, completed=share))
    shopping = shopping_list(packs_of(lots, made))
    if calendar is not None:
        write_whole(calendar, calendar_bytes(made, datetime.now(UTC)))
    if as_json:
        print_json(schedule_dict(made, shopping))
        return
    _tell(made, shopping, units.value)
    if calendar is not None:
        console().print(f"Calendar: {calendar}", markup=False)


def _tell(made: "Schedule", shopping: "Shopping", units: str) -> None:
    from drystow.days import day_text
    from drystow.figures import fixed
    from drystow.shown import percent, show

    out = console()
    rows = table(made.title, "Load", "Dry", "Unload", "Dryer", ">Trays", "Food")
    for batch in made.batches:
        foods = ", ".join(f"{lot.trays} × {lot.name}{_beside(lot)}" for lot in batch.lots)
        times = [here(day_text(moment, "weekday_clock")) for moment in (batch.start, batch.dry, batch.end)]
        settled = " (fixed)" if batch.fixed else ""
        rows.add_row(*times, batch.dryer, f"{batch.trays}/{batch.places}", foods + settled)
    out.print(rows)
    out.print()
    out.print(
        f"Value saved: {fixed(made.saved_value, 2)} of {fixed(made.total_value, 2)};"
        f" no plan saves more than {fixed(made.bound, 2)}"
        f" (gap {percent(made.gap, 1)}).",
        markup=False,
    )
    cost = fixed(made.cost, 2) if made.priced else "not counted: no electricity price set"
    simple = ", ".join(f"{SIMPLE[name]} {fixed(value, 2)}" for name, value in made.compared.items())
    out.print(f"Simple rules would save: {simple}. Electricity: {cost}.", markup=False)
    for one in made.left_out:
        out.print(f"Left out, {show(one.mass, 'mass', units)}: {here(one.reason)}.", markup=False)
    if shopping.wanted:
        out.print("To buy: " + ", ".join(f"{one.count} × {one.name}" for one in shopping.wanted), markup=False)
    print_remarks(out, "Caution", made.cautions)
    print_remarks(out, "Note", (*made.notes, *shopping.notes))


def _beside(lot: "PlannedLot") -> str:
    from drystow.planning.too_old import verdict_words

    if lot.verdict:
        return f" ({verdict_words(lot.verdict)})"
    return " (frozen)" if lot.frozen else ""

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
    reader,
    table,
    tell,
    write_whole,
)
from drystow.messages import listed, msg

if TYPE_CHECKING:
    from drystow.packing.shopping import Shopping
    from drystow.planning.schedule.plan import PlannedLot, Schedule


SIMPLE = {
    "first_come": msg("loading in order of arrival"),
    "earliest_deadline": msg("loading what spoils first"),
}
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
    from drystow.planning.schedule.calendar import calendar_bytes
    from drystow.planning.schedule.model import load_solver
    from drystow.planning.schedule.plan import schedule
    from drystow.planning.schedule.plan_file import read_lots
    from drystow.reports.plain_data import schedule_dict

    lots = read_lots(plan_file)
    load_solver()
    with progress_bar(TextColumn("{task.description}"), BarColumn(), TaskProgressColumn()) as bar:
        task = bar.add_task("Planning", total=1.0)
        made = schedule(lots, seconds, seed, workers, tick=lambda share: bar.update(task, completed=share))
    shopping = shopping_list(packs_of(lots, made))
    if calendar is not None:
        write_whole(calendar, calendar_bytes(made, datetime.now(UTC), reader()))
    if as_json:
        print_json(schedule_dict(made, shopping))
        return
    _tell(made, shopping, units.value)
    if calendar is not None:
        tell(console(), msg("Calendar: {file}", file=str(calendar)))


def _tell(made: "Schedule", shopping: "Shopping", units: str) -> None:
    from drystow.days import day_text
    from drystow.shown import show

    out = console()
    rows = table(made.title, "Load", "Dry", "Unload", "Dryer", ">Trays", "Food")
    for batch in made.batches:
        foods = ", ".join(f"{lot.trays} × {lot.name}{_beside(lot)}" for lot in batch.lots)
        times = [here(day_text(moment, "weekday_clock")) for moment in (batch.start, batch.dry, batch.end)]
        settled = " (fixed)" if batch.fixed else ""
        rows.add_row(*times, batch.dryer, f"{batch.trays}/{batch.places}", foods + settled)
    out.print(rows)
    out.print()
    best = msg(
        "Value saved: {saved:.2f} of {total:.2f}; no plan saves more than {bound:.2f} (gap {gap:.1%}).",
        saved=made.saved_value,
        total=made.total_value,
        bound=made.bound,
        gap=made.gap,
    )
    tell(out, best)
    cost = msg("{cost:.2f}", cost=made.cost) if made.priced else msg("not counted; no electricity price set")
    simple = listed(msg("{rule} {value:.2f}", rule=SIMPLE[name], value=value) for name, value in made.compared.items())
    tell(out, msg("Simple rules would save: {simple}. Electricity: {cost}.", simple=simple, cost=cost))
    for one in made.left_out:
        tell(out, msg("Left out, {mass}: {why}.", mass=show(one.mass, "mass", units), why=one.reason))
    if shopping.wanted:
        wanted = listed(f"{one.count} × {one.name}" for one in shopping.wanted)
        tell(out, msg("To buy: {list}", list=wanted))
    print_remarks(out, "Caution", made.cautions)
    print_remarks(out, "Note", (*made.notes, *shopping.notes))


def _beside(lot: "PlannedLot") -> str:
    from drystow.planning.schedule.cold_storage import verdict_words

    if lot.verdict:
        return f" ({verdict_words(lot.verdict)})"
    return " (frozen)" if lot.frozen else ""

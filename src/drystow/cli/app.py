"""All commands in one place; each lives in a file of its own."""

from typing import Annotated

import typer

from drystow import __version__
from drystow.cli import (
    account,
    data,
    dryness,
    food,
    listen,
    outage,
    pack,
    plan,
    rehydrate,
    schedule,
    season,
    serve,
    simulate,
)
from drystow.cli.output import check_language
from drystow.cli.renamed import Commands

app = typer.Typer(
    name="drystow",
    cls=Commands,
    no_args_is_help=True,
    add_completion=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="From a tray of fresh food to a labeled, dated package of freeze-dried food.",
)
app.add_typer(food.app, name="food")
app.command(name="simulate")(simulate.simulate_command)
app.command(name="dryness")(dryness.dryness_command)
app.command(name="outage")(outage.outage_command)
app.command(name="best-load")(plan.plan_command)
app.command(name="best-program")(plan.program_command)
app.command(name="plan")(schedule.schedule_command)
app.command(name="season")(season.season_command)
app.command(name="pack")(pack.pack_command)
app.command(name="label")(pack.label_command)
app.command(name="rehydrate")(rehydrate.rehydrate_command)
app.add_typer(account.app, name="account")
app.command(name="serve")(serve.serve_command)
app.command(name="listen")(listen.listen_command)
app.command(name="backup")(data.backup_command)
app.command(name="restore")(data.restore_command)
app.command(name="doctor")(data.doctor_command)


def _print_version(wanted: bool) -> None:
    if wanted:
        typer.echo(__version__)
        raise typer.Exit


@app.callback()
def main(
    version: Annotated[
        bool, typer.Option("--version", callback=_print_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """From a tray of fresh food to a labeled, dated package of freeze-dried food."""
    check_language()


@app.command(name="version")
def version_command() -> None:
    """Print the version."""
    typer.echo(__version__)

"""All commands in one place; each lives in a file of its own."""

import re
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from drystow import __version__
from drystow.cli import (
    account,
    data,
    dryness,
    food,
    pack,
    plan,
    schedule,
    season,
    serve,
    simulate,
)
from drystow.cli.output import check_language, echo
from drystow.errors import InputError
from drystow.messages import msg

WHOLE = msg("write a whole number")
NUMBER = msg("write a number")
DAY = msg("write a day like 2026-03-14")


class Unreadable(typer.BadParameter):
    """An option or a word of a command, refused in the words of Drystow."""

    def format_message(self) -> str:
        """Return the message as it is."""
        return self.message


def in_our_words(error: typer.BadParameter) -> Unreadable:
    """Return the same refusal with what to write.

    error: as the command library tells it
    """
    name = max(error.param.opts, key=len) if error.param is not None else ""
    words = _advice(error.message.removeprefix("Value error, ").rstrip("."))
    return Unreadable(f"{name}: {words}" if name else words, ctx=error.ctx, param=error.param)


def _advice(message: str) -> Any:
    if found := re.fullmatch(r"(.*) is not one of (.*)", message):
        return msg("{value} is not possible; write one of {names}", value=found[1], names=found[2])
    if found := re.fullmatch(r"Input should be greater than or equal to (\S+)", message):
        return msg("this is too small; write {least} or more", least=found[1])
    if found := re.fullmatch(r"Input should be less than or equal to (\S+)", message):
        return msg("this is too large; write {most} or less", most=found[1])
    if "valid integer" in message:
        return WHOLE
    if "valid number" in message:
        return NUMBER
    return DAY if "'%Y-%m-%d'" in message else message


RENAMED = {"schedule": "plan", "program": "best-program"}
OF_BEST_LOAD = ("--load", "--members")
"""Options of ``best-load`` that ``plan`` had while it was the command for one load."""


class Commands(TyperGroup):
    """All commands; an old name is answered by the command under its new one."""

    def invoke(self, ctx: Any) -> Any:
        """Return the answer of the command; an option that it can't read is refused in the words of Drystow.

        ctx: of the call
        """
        try:
            return super().invoke(ctx)
        except typer.BadParameter as error:
            if not error.message:  # it is missing, which the command library says well
                raise
            raise in_our_words(error) from None

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Return the name of the command that is meant, the command, and the words after it.

        ctx: of the call
        args: the words, the name of the command first
        """
        name, *rest = args
        new = RENAMED.get(name)
        if new is not None:
            echo(msg("'drystow {old}' is now called 'drystow {new}'.", old=name, new=new), err=True)
        elif name == "plan" and any(word.partition("=")[0] in OF_BEST_LOAD for word in rest):
            raise InputError("", msg("'drystow plan' is for many batches; for one load, use 'drystow best-load'"))
        return super().resolve_command(ctx, [new or name, *rest])


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
app.command(name="outage")(dryness.outage_command)
app.command(name="best-load")(plan.plan_command)
app.command(name="best-program")(plan.program_command)
app.command(name="plan")(schedule.schedule_command)
app.command(name="season")(season.season_command)
app.command(name="pack")(pack.pack_command)
app.command(name="label")(pack.label_command)
app.command(name="rehydrate")(pack.rehydrate_command)
app.add_typer(account.app, name="account")
app.command(name="serve")(serve.serve_command)
app.command(name="listen")(serve.listen_command)
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

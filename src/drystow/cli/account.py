"""``drystow account``: who may sign in when other devices are let in."""

import sys
from enum import StrEnum
from typing import Annotated

import typer

from drystow.cli.output import (
    console,
    echo,
    table,
)
from drystow.errors import InputError
from drystow.messages import msg

app = typer.Typer(no_args_is_help=True, help="Manage who can sign in on other devices, and with which role.")


class Role(StrEnum):
    """What an account may do."""

    OWNER = "owner"
    HELPER = "helper"
    VIEWER = "viewer"


RoleOption = Annotated[
    Role,
    typer.Option(
        "--role", help="owner: everything. helper: batches, plans, readings, pantry and foods. viewer: can only look."
    ),
]
NameArgument = Annotated[str, typer.Argument(help="Name to sign in with.")]
StdinOption = Annotated[bool, typer.Option("--password-stdin", help="Read the password from the first line of input.")]


@app.callback()
def prepare(demo: Annotated[bool, typer.Option("--demo", help="Use the demo's accounts.")] = False) -> None:
    """Manage who can sign in on other devices, and with which role."""
    from drystow.web.server import start_django

    start_django(demo=demo)


@app.command(name="add")
def add_command(name: NameArgument, role: RoleOption = Role.HELPER, password_stdin: StdinOption = False) -> None:
    """Add an account; asks for its password."""
    from drystow.web.accounts import people

    person = people.add(name, role.value, _password(password_stdin))
    echo(msg("{person} can sign in as {role}.", person=person.name, role=person.role))


@app.command(name="list")
def list_command() -> None:
    """List all accounts."""
    from drystow.web.accounts import people

    known = people.everyone()
    if not known:
        echo(msg("No accounts yet. Make the first one an owner: drystow account add NAME --role owner"))
        return
    shown = table("Accounts", "name", "role", "last sign-in")
    for person in known:
        last = f"{person.last_sign_in:%Y-%m-%d %H:%M} UTC" if person.last_sign_in else "never"
        shown.add_row(person.name, person.role or "none", last)
    console().print(shown)


@app.command(name="remove")
def remove_command(name: NameArgument) -> None:
    """Remove an account; its changes stay in the history."""
    from drystow.web.accounts import people

    people.remove(name)
    echo(msg("The account of {person} was removed.", person=name))


@app.command(name="role")
def role_command(name: NameArgument, role: Annotated[Role, typer.Argument(help="The new role.")]) -> None:
    """Change an account's role."""
    from drystow.web.accounts import people

    people.give_role(name, role.value)
    echo(msg("{person} is {role} now.", person=name, role=role.value))


@app.command(name="password")
def password_command(name: NameArgument, password_stdin: StdinOption = False) -> None:
    """Change an account's password; it is signed out everywhere."""
    from drystow.web.accounts import people

    people.give_password(name, _password(password_stdin))
    echo(msg("Password of {person} changed.", person=name))


def _password(from_input: bool) -> str:
    if from_input:
        return sys.stdin.readline().rstrip("\r\n")
    if not sys.stdin.isatty():
        raise InputError("password", msg("no one is there to ask; give it with --password-stdin"))
    return str(typer.prompt("Password", hide_input=True, confirmation_prompt=True))

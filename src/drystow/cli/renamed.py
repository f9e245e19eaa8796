"""Commands that had another name: the old word still works and says the new one."""

from typing import Any

import typer
from typer.core import TyperGroup

from drystow.cli.output import echo
from drystow.cli.usage_errors import in_our_words
from drystow.errors import InputError
from drystow.messages import msg

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

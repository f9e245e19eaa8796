"""What a command says about an option or a word that it can't read: what was written, and what to write."""

import re
from typing import Any

import typer

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

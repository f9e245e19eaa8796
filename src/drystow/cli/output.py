"""What every command shares: output options, tables, JSON."""

import json
import os
import sys
from collections.abc import Iterable
from contextvars import ContextVar
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console
from rich.table import Table

import drystow
from drystow.errors import DrystowError, InputError
from drystow.messages import Late, Reader, msg, told

if TYPE_CHECKING:
    from rich.progress import Progress, ProgressColumn

LANGUAGE = "DRYSTOW_LANGUAGE"
"""Variable with the language that is printed, such as ``es``; without it English."""
LOCALE = Path(drystow.__file__).parent / "web" / "locale"
PIPED_WIDTH = 110  # columns when the output goes to a file or a pipe


class Units(StrEnum):
    """Systems of units for what is printed."""

    US = "us"
    SI = "si"


JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON object, for scripts.")]
SeedOption = Annotated[
    int, typer.Option(min=0, help="Random number to start from; the same one gives the same answer.")
]
_units: ContextVar[Units] = ContextVar("units", default=Units.US)


def _read_in(units: Units) -> Units:
    _units.set(units)
    return units


UnitsOption = Annotated[
    Units,
    typer.Option("--units", help="Units to print: us (°F, lb, mTorr) or si (°C, kg, Pa).", callback=_read_in),
]


@cache
def reader_in(language: str, units: str) -> Reader:
    """Return who reads a language in a system of units; English where it has no catalogue."""
    if language not in languages():
        return Reader(units=units)
    from gettext import translation

    texts = translation("django", LOCALE, [language])
    return Reader(texts.gettext, units, texts.ngettext)


def languages() -> list[str]:
    """Return the languages that have a catalogue beside English."""
    return sorted(path.parent.parent.name for path in LOCALE.glob("*/LC_MESSAGES/django.mo"))


def reader() -> Reader:
    """Return who reads what is printed: the language of the environment, the units that were asked for."""
    return reader_in(os.environ.get(LANGUAGE, "").strip(), _units.get().value)


def check_language() -> None:
    """Raise `InputError` where the environment asks for a language that has no catalogue."""
    written = os.environ.get(LANGUAGE, "").strip()
    known = ["en", *languages()]
    if written and written not in known:
        allowed = " or ".join(known)
        raise InputError(
            LANGUAGE, msg("'{language}' can't be used; write {allowed}", language=written, allowed=allowed)
        )


def here(text: str) -> str:
    """Return a text of the engine in the language and the units that were asked for."""
    return told(text, reader())


def echo(text: str, *, err: bool = False) -> None:
    """Print a sentence without a table or colors."""
    typer.echo(here(text), err=err)


def problem_here(problem: DrystowError) -> str:
    """Return an error of the engine in the units that were asked for."""
    if not isinstance(problem, InputError):
        return here(str(problem))
    return f"{problem.field}: {here(problem.message)}" if problem.field else here(problem.message)


def _all_here(data: Any) -> Any:
    """Return data with every text of the engine in the units that were asked for."""
    if isinstance(data, dict):
        return {name: _all_here(one) for name, one in data.items()}
    if isinstance(data, list | tuple):
        return [_all_here(one) for one in data]
    return here(data) if isinstance(data, Late) else data


def print_json(data: dict[str, Any]) -> None:
    """Print one JSON object, its sentences in the language and the units that were asked for."""
    sys.stdout.write(json.dumps(_all_here(data), indent=2, ensure_ascii=False, allow_nan=False) + "\n")


def console() -> Console:
    """Return the console for people: plain unwrapped text when piped."""
    wide = Console(highlight=False)
    return wide if wide.is_terminal else Console(highlight=False, width=PIPED_WIDTH, soft_wrap=True)


class Rows(Table):
    """A table whose cells are told in the language and the units that were asked for."""

    def add_row(self, *cells: Any, **style: Any) -> None:
        """Add a row."""
        super().add_row(*(here(cell) if isinstance(cell, Late) else cell for cell in cells), **style)


def table(title: str, *columns: str) -> Table:
    """Return a quiet table; a column name that begins with '>' is set right."""
    result = Rows(
        title=here(title), title_justify="left", box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold"
    )
    for column in columns:
        right = column.startswith(">")
        result.add_column(here(column.removeprefix(">")), justify="right" if right else "left", overflow="fold")
    return result


def tell(out: Console, text: str, style: str = "") -> None:
    """Print a sentence as it is, in the units that were asked for."""
    out.print(here(text), style=style, markup=False)


def print_remarks(out: Console, heading: str, lines: Iterable[str]) -> None:
    """Print sentences, each on a line of its own after its heading."""
    for line in lines:
        tell(out, msg("{heading}: {line}", heading=heading, line=line))


def progress_bar(*columns: "str | ProgressColumn", hidden: bool = False) -> "Progress":
    """Return a bar that shows on stderr how far the work is, and goes away after it."""
    from rich.progress import Progress

    return Progress(*columns, console=Console(stderr=True), transient=True, disable=hidden)


def write_whole(path: Path, content: bytes) -> None:
    """Write a file completely or not at all."""
    import os
    import tempfile

    if not path.parent.is_dir():
        raise InputError("output", msg("there is no folder '{folder}'; create it first", folder=path.parent))
    if path.is_dir():
        raise InputError("output", msg("'{path}' is a folder; name a file", path=path))
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".drystow-")
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except OSError as problem:
        raise InputError("output", msg("'{path}' cannot be written ({why})", path=path, why=problem.strerror)) from None

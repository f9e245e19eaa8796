"""Reads TOML files and writes them; reads their tables field by field, collecting every problem, not only the first."""

import tomllib
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any, TypeVar

from drystow.errors import InputError, InputErrors, unknown
from drystow.messages import msg
from drystow.ranges import Range, Ranges
from drystow.units import as_written, in_file, parse

Value = TypeVar("Value", bound=float | None)

NONE: Ranges = {}
TEXT_LIMIT = 300
SIZE_LIMIT = 1_000_000  # largest file that is read [bytes]
RENAMED = {"class": "like", "lot": "arrival", "ready_by": "needed_by"}
"""Old name of a field -> its name now; the old one is read wherever the new one is known."""


class Problems(list[InputError]):
    """What is wrong with a file or a spec; in ``notes`` what to know of how a file is written, and in ``written`` how
    it writes a quantity that is a number in the spec, by the name of its field."""

    def __init__(self) -> None:
        super().__init__()
        self.notes: list[str] = []
        self.written: dict[str, str] = {}

    def as_written(self, field: str, value: float, kind: str) -> str:
        """Return a quantity as the file writes it, or would write it."""
        return self.written.get(field) or in_file(value, kind)


def new_names(table: Mapping[str, Any]) -> dict[str, Any]:
    """Return a table of which every field has an old name or none, under the names of now."""
    return {RENAMED.get(key, key): value for key, value in table.items()}


def read_toml(path: Path, page: str) -> dict[str, Any]:
    """Return a TOML file as a table, or raise `InputErrors` with one sentence that names the page on the format."""
    name = path.name[:60]
    try:
        if path.is_dir():
            raise _problem(name, msg("this is a folder; give the .toml file inside it"))
        if not path.exists():
            raise _problem(name, msg("there is no such file; check the name and the folder"))
        if not path.is_file():
            raise _problem(name, msg("this is not a regular file; give a .toml file"))
        with path.open("rb") as stream:
            content = stream.read(SIZE_LIMIT + 1)
        text = content.decode("utf-8") if len(content) <= SIZE_LIMIT else "x" * len(content)
    except UnicodeDecodeError:
        raise _problem(name, msg("this is not a text file in UTF-8; is it the right file?")) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise _problem(name, msg("the file cannot be read ({reason})", reason=reason)) from None
    return toml_table(text, page, name)


def toml_table(text: str, page: str, name: str = "file") -> dict[str, Any]:
    """Return a TOML text as a table, or raise `InputErrors` with one clear sentence."""
    if len(text) > SIZE_LIMIT:
        raise _problem(
            name, msg("this file is over 1 MB, but input files are about a page of text; is it the right file?")
        )
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise _problem(
            name, msg("this is not TOML ({reason}); compare it with {page}", reason=str(error), page=page)
        ) from None


def toml_text(table: Mapping[str, Any]) -> str:
    """Return a table as TOML text: a list on one line, every table under a heading of its own.

    table: as read from TOML
    """
    import tomlkit  # takes longer to import than all else here, and few commands write a file

    return tomlkit.dumps(table)


def _problem(name: str, message: str) -> InputErrors:
    return InputErrors([InputError(name, message)])


class Fields:
    """One table of the file.

    table: the TOML table
    prefix: dotted name of the table, empty for the file itself
    known: fields that it may have, by their names of now
    problems: to which every problem is added, and a note for each old name
    ranges: what is allowed of its quantities
    """

    def __init__(
        self, table: object, prefix: str, known: Iterable[str], problems: Problems, ranges: Ranges = NONE
    ) -> None:
        self.prefix = prefix
        self.problems = problems
        self.ranges = ranges
        self.table: dict[str, Any] = {}
        self.written: dict[str, str] = {}  # name of a field now -> its old name, where the person wrote that
        self.readable = isinstance(table, dict)
        if not isinstance(table, dict):
            problems.append(
                InputError(prefix, msg("this must be a table; write [{name}] with its fields below it", name=prefix))
            )
            return
        names = list(known)
        self.table = self._by_new_names(table, names)
        for key in self.table:
            if key not in names:
                problems.append(unknown(self.name(key), key, names, msg("field")))

    def _by_new_names(self, table: dict[str, Any], known: list[str]) -> dict[str, Any]:
        """Return the table with its fields under their names of now; itself when it has no old name."""
        old = {key: RENAMED[key] for key in table if key not in known and RENAMED.get(key) in known}
        for key, new in old.items():
            if new in table:
                self.problem(key, msg("'{new}' says the same; leave '{old}' out", new=new, old=key))
                continue
            self.written[new] = key
            self.note(msg("The field '{old}' is now called '{new}'. The old name still works.", old=key, new=new))
        if not old:
            return table
        return {old.get(key, key): value for key, value in table.items() if old.get(key) not in table}

    def name(self, key: str) -> str:
        """Return the dotted name of a field, as the person wrote it."""
        key = self.written.get(key, key)
        return f"{self.prefix}.{key}" if self.prefix else key

    def part(self, known: Iterable[str]) -> dict[str, Any]:
        """Return some of the fields for another reader, under the names that the person wrote."""
        return {self.written.get(key, key): self.table[key] for key in known if key in self.table}

    def problem(self, key: str, message: str) -> None:
        """Add a problem with one field."""
        self.problems.append(InputError(self.name(key), message))

    def note(self, sentence: str) -> None:
        """Add a sentence that the result tells, once."""
        if sentence not in self.problems.notes:
            self.problems.notes.append(sentence)

    def has(self, *keys: str) -> bool:
        """Return whether any of the fields is given."""
        return any(key in self.table for key in keys)

    def quantity(self, key: str, default: Value) -> float | Value:
        """Return a quantity in SI units, the default when it is missing or wrong."""
        if key not in self.table:
            return default
        allowed, written = self.ranges[key], self.table[key]
        try:
            value = parse(written, allowed.kind, self.name(key))
        except InputError as error:
            self.problems.append(error)
            return default
        self.problems.written[self.name(key)] = as_written(written)
        if not allowed.holds(value):
            self.problems.append(allowed.problem(self.name(key), as_written(written)))
            return default
        return value

    def required(self, key: str) -> float:
        """Return a quantity in SI units that must be there; something harmless when it is missing or wrong."""
        allowed = self.ranges[key]
        if key not in self.table:
            self.problem(key, msg("is missing; write {allowed}", allowed=allowed.allowed))
        return self.quantity(key, max(allowed.low, 1e-6))

    def number(self, key: str, default: float, unit: float = 1.0) -> float:
        """Return a plain number in SI units, or one of money or a share; the default when it is missing or wrong.

        The table gets the number in place of a text.

        unit: of the number as it is written
        """
        if key not in self.table:
            return default
        allowed, value = self.ranges[key], self.table[key]
        if allowed.kind and isinstance(value, str):
            try:
                value = self.table[key] = parse(value, allowed.kind, "")
            except InputError as problem:
                self.problem(key, problem.message)
                return default
        if isinstance(value, bool) or not isinstance(value, int | float) or not allowed.holds(value * unit):
            words = msg(
                "{value} is out of range; enter a number from {low:,.9g} to {high:,.9g}",
                value=as_written(value),
                low=allowed.low / unit,
                high=allowed.high / unit,
            )
            self.problem(key, words)
            return default
        return float(value * unit)

    def text(self, key: str, default: str = "") -> str:
        """Return a text, the default when it is missing or wrong."""
        value = self.table.get(key, default)
        if not isinstance(value, str) or len(value) > TEXT_LIMIT:
            self.problem(key, msg("write up to {limit} characters of text in quotes", limit=TEXT_LIMIT))
            return default
        return value if value is default else value.strip()  # a default may be said

    def choice(self, key: str, options: Iterable[str], default: str, what: str) -> str:
        """Return one of the options, the default when it is missing or wrong."""
        value = self.text(key, default)
        names = list(options)
        if value not in names:
            self.problems.append(unknown(self.name(key), value, names, what))
            return default
        return value

    def whole(self, key: str, default: Value, allowed: Range | None = None) -> int | Value:
        """Return a whole number, the default when it is missing or wrong."""
        if key not in self.table:
            return default
        allowed, value = allowed or self.ranges[key], self.table[key]
        if isinstance(value, bool) or not isinstance(value, int) or not (allowed.holds(value) or value == default):
            self.problem(
                key,
                msg(
                    "{value} is not possible; write a whole number from {low} to {high}",
                    value=as_written(value),
                    low=allowed.low,
                    high=allowed.high,
                ),
            )
            return default
        return value

    def flag(self, key: str) -> bool:
        """Return true or false, false when it is missing or wrong."""
        value = self.table.get(key, False)
        if not isinstance(value, bool):
            self.problem(
                key,
                msg("{value} is neither true nor false; write true or false without quotes", value=as_written(value)),
            )
            return False
        return value

    def day(self, key: str) -> date | None:
        """Return a date, None when it is missing or wrong."""
        value = self.table.get(key)
        if value is None or (
            isinstance(value, date) and not isinstance(value, datetime) and 1950 <= value.year <= 2200
        ):
            return value
        self.problem(
            key,
            msg(
                "{value} is not a date from 1950 to 2200; write it without quotes, such as 2026-03-14", value=str(value)
            ),
        )
        return None

    def texts(self, key: str, most: int) -> tuple[str, ...]:
        """Return a list of texts, empty when it is missing or wrong."""
        value = self.table.get(key, [])
        good = isinstance(value, list) and len(value) <= most
        if not good or not all(isinstance(line, str) and len(line) <= TEXT_LIMIT for line in value):
            self.problem(
                key, msg('write a list of up to {most} texts, such as ["first line", "second line"]', most=most)
            )
            return ()
        return tuple(line.strip() for line in value)

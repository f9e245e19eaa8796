"""A file with its plan becomes readings: every row is looked at first, then all is written or nothing."""

import re
import secrets
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from django.conf import settings
from django.db import transaction

from drystow.errors import InputError
from drystow.messages import Message, msg
from drystow.numerics import Array
from drystow.web.dryers.models import Dryer
from drystow.web.readings.csvfile import Column, ReadingPlan, head_key, head_of, numbers_in, rows_of, to_json
from drystow.web.readings.models import FileWay
from drystow.web.readings.quantities import QUANTITIES, impossible_words, scale_of
from drystow.web.readings.storage import add_readings, channel_for
from drystow.web.readings.timestamps import check_moment, reader_of, utc_of_local

MOST_ROWS = 3_000_000


@dataclass(frozen=True)
class Wrong:
    """One thing that cannot be read.

    line: of the file
    column: its name, empty for the time
    words: what is wrong
    """

    line: int
    column: str
    words: str


@dataclass(frozen=True)
class Course:
    """The readings of one column.

    column: of the file
    moments: [ms since 1970]
    values: in SI
    """

    column: Column
    moments: Array
    values: Array


@dataclass(frozen=True)
class FileContent:
    """What a file holds.

    rows: how many lines with readings
    courses: one for each column that is read
    wrong: what cannot be read
    notes: what was decided about the clock
    """

    rows: int
    courses: tuple[Course, ...]
    wrong: tuple[Wrong, ...]
    notes: tuple[Message, ...]

    @property
    def wrong_lines(self) -> int:
        """How many lines have something that cannot be read."""
        return len({wrong.line for wrong in self.wrong})


def content_of(
    text: str, plan: ReadingPlan, zone: ZoneInfo, *, steady: bool = False, start: datetime | None = None
) -> FileContent:
    """Return everything that a file holds, in SI and UTC; raise `InputError` when the plan itself cannot be.

    text: of the file
    plan: how it is read
    zone: of the logger's clock
    steady: the clock is not changed for summer
    start: moment from which elapsed times count
    """
    wanted = [column for column in plan.columns if column.quantity]
    _check(plan, wanted)
    read = reader_of(plan.format, start)
    wrong: list[Wrong] = []
    lines: list[int] = []
    moments: list[datetime] = []
    zoned: list[bool] = []
    kept: list[list[str]] = []
    for line, row in rows_of(text, plan.way.delimiter):
        if line <= plan.way.head:
            continue
        if len(lines) >= MOST_ROWS:
            raise InputError("file", msg("more than {most} lines; split the file", most=MOST_ROWS))
        try:
            moment, is_utc = read(_time_text(row, plan))
            check_moment(moment)
        except InputError as problem:
            wrong.append(Wrong(line, "", problem.message))
            continue
        lines.append(line)
        moments.append(moment)
        zoned.append(is_utc)
        kept.append(row)
    at, unclear, notes = _moments(moments, zoned, zone, steady)
    wrong += [Wrong(lines[place], "", words) for place, words in unclear.items()]
    courses = tuple(_course(column, kept, lines, at, unclear, plan.way.decimal, wrong) for column in wanted)
    return FileContent(len(lines), courses, tuple(sorted(wrong, key=lambda one: one.line)), tuple(notes))


def write_content(
    content: FileContent, plan: ReadingPlan, dryer: Dryer, names: Sequence[str], who: str = ""
) -> dict[str, int]:
    """Write all readings or, on any problem, none; return how many are new for each column.

    names: head of the file, by which the plan is remembered
    """
    added: dict[str, int] = {}
    with transaction.atomic():
        for course in content.courses:
            column = course.column
            channel = channel_for(
                dryer, column.quantity, column.tray, column.name, column.unit, label=column.name, who=who
            )
            added[column.name] = add_readings(channel, course.moments.tolist(), course.values.tolist())
        FileWay.objects.update_or_create(head=head_key(names), defaults={"choices": to_json(plan)})
    return added


def names_of(text: str, plan: ReadingPlan) -> list[str]:
    """Return the head of the file."""
    return head_of(text, plan.way)


def _check(plan: ReadingPlan, wanted: list[Column]) -> None:
    if not wanted:
        raise InputError("columns", msg("no column chosen; say what at least one measures"))
    seen: dict[Any, str] = {}
    for column in wanted:
        quantity = QUANTITIES[column.quantity]
        key = (column.quantity, column.tray if column.quantity == "product" else 0, column.name)
        if key in seen:
            raise InputError("columns", msg("two columns are called '{name}'; leave one out", name=column.name))
        seen[key] = column.name
        if column.number in (plan.time, plan.clock):
            raise InputError("columns", msg("'{name}' is the time, so it can’t be a value too", name=column.name))
        if quantity.kind != _kind(column.unit):
            raise InputError(
                "columns",
                msg("'{unit}' is not a unit of {quantity}; choose another for '{name}'",
                    unit=column.unit, quantity=quantity.words, name=column.name),
            )  # fmt: skip


def _kind(unit: str) -> str:
    from drystow.web.readings.quantities import UNITS

    return UNITS[unit][0] if unit in UNITS else ""


def _time_text(row: list[str], plan: ReadingPlan) -> str:
    cells = [row[number] for number in (plan.time, plan.clock) if 0 <= number < len(row)]
    return " ".join(cell.strip() for cell in cells)


def _moments(
    moments: list[datetime], zoned: list[bool], zone: ZoneInfo, steady: bool
) -> tuple[Array, dict[int, Message], list[Message]]:
    at = np.array([moment.timestamp() * 1000 if utc else 0.0 for moment, utc in zip(moments, zoned, strict=True)])
    places = [place for place, utc in enumerate(zoned) if not utc]
    local, wrong, notes = utc_of_local([moments[place] for place in places], zone, steady)
    if places:
        at[places] = local
    return np.round(at), {places[place]: words for place, words in wrong.items()}, notes


def _course(
    column: Column, rows: list[list[str]], lines: list[int], at: Array, unclear: dict[int, Message], decimal: str,
    wrong: list[Wrong],
) -> Course:  # fmt: skip
    quantity, number = QUANTITIES[column.quantity], column.number
    factor, offset = scale_of(column.unit)
    numbers, unread = numbers_in([row[number] if number < len(row) else "" for row in rows], decimal)
    values = numbers * factor + offset
    wrong += [Wrong(lines[place], column.name, words) for place, words in unread.items()]
    there = np.isfinite(values)
    there[list(unclear)] = False
    true = there & (values >= quantity.low) & (values <= quantity.high)
    for place in np.flatnonzero(there & ~true):
        wrong.append(Wrong(lines[place], column.name, impossible_words(float(values[place]), quantity)))
    return Course(column, at[true], values[true])


A_DAY = 86_400.0
FOLDER = "uploads"
TOKEN = re.compile(r"[0-9a-f]{32}")
MOST_KEPT = 20


def keep(text: str) -> str:
    """Keep the text of a file and return the name under which it waits; what waited for a day is deleted."""
    folder = _folder()
    folder.mkdir(mode=0o700, exist_ok=True)
    _tidy(folder)
    token = secrets.token_hex(16)
    path = folder / token
    path.touch(mode=0o600)
    path.write_text(text, encoding="utf-8", newline="")
    return token


def waiting(token: str) -> str | None:
    """Return the text of a file that waits, None when it does not wait any more."""
    if not TOKEN.fullmatch(token):
        return None
    try:
        return (_folder() / token).read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError):
        return None


def forget(token: str) -> None:
    """Delete a file that waited."""
    if TOKEN.fullmatch(token):
        (_folder() / token).unlink(missing_ok=True)


def _folder() -> Path:
    return Path(settings.DATA_FOLDER) / FOLDER


def _tidy(folder: Path) -> None:
    waiting_files = sorted(folder.iterdir(), key=lambda path: path.stat().st_mtime, reverse=True)
    for place, path in enumerate(waiting_files):
        if place >= MOST_KEPT or path.stat().st_mtime < time.time() - A_DAY:
            path.unlink(missing_ok=True)

"""What is to be read from which column of a file: guessed first, corrected by the person, remembered for the next."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from hashlib import sha256
from typing import Any

from drystow.errors import InputError
from drystow.web.readings.csvfile import LOOKED_AT, CsvWay, guess_way, head_of, number_in, rows_of
from drystow.web.readings.quantities import QUANTITIES, guess_unit, quantity_in, unit_in
from drystow.web.readings.timestamps import Guess, guess_format

TIME_WORDS = ("time", "date", "timestamp", "fecha", "hora", "zeit", "datum", "utc", "clock", "when", "elapsed")
LATER = 200
"""Rows far down the file that are looked at too, for days beyond the twelfth."""


@dataclass(frozen=True)
class Column:
    """One column.

    number: from 0
    name: in the head
    quantity: of `QUANTITIES`, empty to leave it out
    tray: of a product temperature
    unit: of its numbers
    sure: nothing about it needs to be asked
    """

    number: int
    name: str
    quantity: str = ""
    tray: int = 0
    unit: str = ""
    sure: bool = True


@dataclass(frozen=True)
class ReadingPlan:
    """How a file is read.

    way: delimiter, decimal sign, head
    time: column with the time, or with the date
    clock: column with the time of the day where the first has only the date, else -1
    format: of the time, empty when nobody knows
    ask: day and month could be the other way round
    columns: all of them
    """

    way: CsvWay
    time: int
    clock: int
    format: str
    ask: bool
    columns: tuple[Column, ...]


def guess_plan(text: str, way: CsvWay | None = None) -> ReadingPlan:
    """Return how a file is best read.

    text: of the file
    way: as the person corrected it
    """
    way = way or guess_way(text)
    names = head_of(text, way)
    rows = samples(text, way)
    cells = [[row[number] if number < len(row) else "" for row in rows] for number in range(len(names))]
    time, clock, guess = _times(names, cells)
    columns = tuple(
        Column(number, name) if number in (time, clock) else _column(number, name, cells[number], way.decimal)
        for number, name in enumerate(names)
    )
    return ReadingPlan(way, time, clock, guess.format, guess.ask, _trays_apart(columns))


def samples(text: str, way: CsvWay) -> list[list[str]]:
    """Return rows from the start and from all over the file."""
    rows = [row for line, row in rows_of(text, way.delimiter) if line > way.head]
    if len(rows) <= LOOKED_AT + LATER:
        return rows
    stride = max((len(rows) - LOOKED_AT) // LATER, 1)
    return rows[:LOOKED_AT] + rows[LOOKED_AT::stride] + rows[-1:]


def head_key(names: Sequence[str]) -> str:
    """Return the hash by which the way of a file is remembered."""
    return sha256("\n".join(name.strip().lower() for name in names).encode()).hexdigest()


def to_json(plan: ReadingPlan) -> dict[str, Any]:
    """Return a plan as plain data."""
    return asdict(plan)


def from_json(data: dict[str, Any], text: str) -> ReadingPlan | None:
    """Return a remembered plan, None when it does not fit the file any more; the head may have moved."""
    try:
        found = guess_way(text)
        way = CsvWay(str(data["way"]["delimiter"]), str(data["way"]["decimal"]), found.head)
        columns = tuple(Column(**column) for column in data["columns"])
        names = head_of(text, way)
        if [column.name for column in columns] != names:
            return None
        return ReadingPlan(way, int(data["time"]), int(data["clock"]), str(data["format"]), False, columns)
    except (KeyError, TypeError, ValueError):
        return None


def _times(names: Sequence[str], cells: Sequence[Sequence[str]]) -> tuple[int, int, Guess]:
    """Return the columns of date and of the time of day, and how it is written."""
    order = sorted(range(len(names)), key=lambda number: not any(word in names[number].lower() for word in TIME_WORDS))
    for number in order:
        guess = guess_format(cells[number])
        named = any(word in names[number].lower() for word in TIME_WORDS)
        if not guess.format or (guess.format.startswith("elapsed") and not named):
            continue
        if guess.format in ("ymd", "dmy", "mdy") and not any(":" in cell for cell in cells[number][:20]):
            return number, _time_of_day(cells, number), guess
        return number, -1, _elapsed(names[number], guess)
    return 0, -1, Guess("")


def _time_of_day(cells: Sequence[Sequence[str]], date: int) -> int:
    for number, column in enumerate(cells):
        filled = [cell for cell in column[:20] if cell.strip()]
        if number != date and filled and all(":" in cell and "-" not in cell and "/" not in cell for cell in filled):
            return number
    return -1


def _elapsed(name: str, guess: Guess) -> Guess:
    if not guess.format.startswith("elapsed"):
        return guess
    word = name.lower()
    unit = "h" if "hour" in word or "(h" in word or "[h" in word else "min" if "min" in word else "s"
    return Guess(f"elapsed {unit}")


def _column(number: int, name: str, cells: Sequence[str], decimal: str) -> Column:
    values = []
    for cell in cells:
        try:
            if (value := number_in(cell, decimal)) is not None:
                values.append(value)
        except InputError:
            continue
    quantity, tray = quantity_in(name)
    written = unit_in(name)
    if not values or not quantity:
        return Column(number, name, sure=not values)
    kind = QUANTITIES[quantity].kind
    unit, sure = guess_unit(QUANTITIES[quantity], min(values), max(values))
    if written and unit_in(f" {written}") and _kind_of(written) == kind:
        return Column(number, name, quantity, tray, written)
    return Column(number, name, quantity, tray, unit, sure)


def _kind_of(unit: str) -> str:
    from drystow.web.readings.quantities import UNITS

    return UNITS[unit][0]


def _trays_apart(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Number product temperatures that nobody numbered: no two columns are the same tray."""
    used: set[int] = set()
    apart = []
    for column in columns:
        if column.quantity == "product":
            tray = column.tray if column.tray not in used else next(n for n in range(1, 300) if n not in used)
            used.add(tray)
            column = replace(column, tray=tray)
        apart.append(column)
    return tuple(apart)

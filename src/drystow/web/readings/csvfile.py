"""The text of a logger's file, guessed and corrected: its encoding, delimiter and head, and what its columns mean."""

import codecs
import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from hashlib import sha256
from typing import Any

import numpy as np

from drystow.errors import InputError
from drystow.messages import msg
from drystow.numerics import Array
from drystow.web.readings.quantities import QUANTITIES, guess_unit, quantity_in, unit_in
from drystow.web.readings.timestamps import Guess, guess_format

DELIMITERS = {",": msg("comma"), ";": msg("semicolon"), "\t": msg("tab"), "|": msg("vertical bar")}
MOST_BYTES = 50_000_000
MOST_COLUMNS = 200
LOOKED_AT = 200  # rows from which the way is guessed
MISSING = frozenset(
    ("", "-", "--", "---", "nan", "n/a", "na", "null", "none", "ol", "err", "error", "open", "fault",
     "#n/a", "inf", "-inf")
)  # fmt: skip
"""What loggers write when there is no value: it is left out and not complained about."""


@dataclass(frozen=True)
class CsvWay:
    """How a file is written.

    delimiter: between columns
    decimal: sign in numbers
    head: number of the line with the names of the columns, 0 when there is none
    """

    delimiter: str
    decimal: str
    head: int


def decoded(data: bytes) -> str:
    """Return the text of a file; raise `InputError` when it is none."""
    if len(data) > MOST_BYTES:
        raise InputError("file", msg("this is over {most} MB; split the file by month", most=MOST_BYTES // 1_000_000))
    if data[:4] == b"PK\x03\x04" or data[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        raise InputError("file", msg("this is a spreadsheet, not text; save it as CSV first"))
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
    else:
        encoding = "utf-8-sig"
        if b"\0" in data[:100_000]:
            raise InputError("file", msg("this is not a text file; export the readings as CSV or text"))
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
    if "\0" in text:
        raise InputError("file", msg("this is not a text file; export the readings as CSV or text"))
    if not text.strip():
        raise InputError("file", msg("the file is empty"))
    return text


def guess_way(text: str) -> CsvWay:
    """Return how a file seems to be written.

    >>> guess_way("Time;Shelf\\n1.2.2026 10:00;-12,5\\n1.2.2026 10:01;-12,6\\n")
    CsvWay(delimiter=';', decimal=',', head=1)
    """
    lines = text.splitlines()[:LOOKED_AT]
    delimiter = _delimiter(lines)
    rows = [row for _, row in rows_of(chr(10).join(lines), delimiter)]
    decimal = _decimal(rows, delimiter)
    return CsvWay(delimiter, decimal, _head(chr(10).join(lines), delimiter, decimal))


def rows_of(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Yield the number of the line and the cells of every row that is not empty."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    before = 0
    while True:
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error:
            raise InputError("file", msg("line {line} can’t be read as a row", line=reader.line_num)) from None
        line, before = before + 1, reader.line_num
        if len(row) > MOST_COLUMNS:
            words = msg("line {line} has {count} columns; is the separator right?", line=line, count=len(row))
            raise InputError("file", words)
        if row and (row[0] or any(cell.strip() for cell in row)):
            yield line, row


def number_in(cell: str, decimal: str) -> float | None:
    """Return the number of a cell, None where the logger had no value.

    >>> number_in("-12,5 ", ","), number_in("1,013.2", "."), number_in("---", ".")
    (-12.5, 1013.2, None)
    """
    try:
        return _finite(float(cell.replace(",", ".") if decimal == "," and "." not in cell else cell))
    except ValueError:
        pass
    plain = cell.strip().replace("\u00a0", "").replace(" ", "").replace("'", "").replace("−", "-")
    if plain.lower() in MISSING:
        return None
    other = "," if decimal == "." else "."
    try:
        return _finite(float(plain.replace(other, "").replace(decimal, ".")))
    except ValueError:
        number = re.fullmatch(r"([-+]?[\d.,]+)\s*[°º]?[A-Za-zµ%]{1,5}", plain)
        if number:
            return number_in(number.group(1), decimal)
        raise InputError("value", msg("'{text}' is not a number", text=cell.strip()[:40])) from None


def numbers_in(cells: list[str], decimal: str) -> tuple[Array, dict[int, str]]:
    """Return the numbers of a column, not-a-number where the logger had none, and what cannot be read by its place.

    cells: from top to bottom
    decimal: sign in numbers
    """
    joined = "\0".join(cells)
    try:
        plain = joined.replace(",", ".") if decimal == "," and "." not in joined else joined
        return np.array([float(cell) for cell in plain.split("\0")] if cells else []), {}
    except ValueError:
        pass
    numbers = np.full(len(cells), np.nan)
    wrong: dict[int, str] = {}
    for place, cell in enumerate(cells):
        try:
            number = number_in(cell, decimal)
        except InputError as problem:
            wrong[place] = problem.message
            continue
        if number is not None:
            numbers[place] = number
    return numbers, wrong


def _finite(number: float) -> float | None:
    return number if abs(number) < 1e30 else None


def head_of(text: str, way: CsvWay) -> list[str]:
    """Return the names of the columns; where the file has no head they are numbered."""
    widest: list[str] = []
    for line, row in rows_of(text, way.delimiter):
        if line == way.head:
            return [name.strip() or str(msg("column {number}", number=number)) for number, name in enumerate(row, 1)]
        if len(row) > len(widest):
            widest = row
        if not way.head and line > LOOKED_AT:
            break
    return [str(msg("column {number}", number=number)) for number in range(1, len(widest) + 1)]


def _delimiter(lines: Sequence[str]) -> str:
    """The delimiter that splits most lines alike into the most columns; `csv.Sniffer` takes digits for delimiters."""
    best, score = ",", 0.0
    for delimiter in DELIMITERS:
        widths = [len(row) for _, row in rows_of("\n".join(lines), delimiter)]
        usual = max(set(widths), key=widths.count) if widths else 1
        if usual > 1:
            share = widths.count(usual) / len(widths)
            found = share * (1.0 + min(usual, 20) / 20.0 + 2.0 * (delimiter != ","))
            if share > 0.5 and found > score:
                best, score = delimiter, found
    return best


def _decimal(rows: Sequence[Sequence[str]], delimiter: str) -> str:
    if delimiter == ",":
        return "."
    commas = points = 0
    for row in rows:
        for cell in row:
            if re.fullmatch(r"\s*[-+]?\d+,\d+\s*", cell):
                commas += 1
            elif re.fullmatch(r"\s*[-+]?\d+\.\d+\s*", cell):
                points += 1
    return "," if commas > points else "."


def _head(text: str, delimiter: str, decimal: str) -> int:
    """The head is the last line before the first two rows in a row that hold numbers, if it has as many cells."""
    before: tuple[int, list[str]] | None = None
    for line, row in rows_of(text, delimiter):
        if before is not None and _has_numbers(row, decimal):
            return 0 if _has_numbers(before[1], decimal) else before[0]
        if before is None and _has_numbers(row, decimal):
            return 0
        if len(row) > 1 or before is None:
            before = (line, row)
    return 0


def _has_numbers(row: Sequence[str], decimal: str) -> bool:
    cells = [cell for cell in row[1:] if cell.strip()] or list(row)
    numbers = 0
    for cell in cells:
        try:
            numbers += number_in(cell, decimal) is not None
        except InputError:
            continue
    return numbers >= max(1, len(cells) // 3)


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

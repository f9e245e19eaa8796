"""Rows as CSV, some lines at a time."""

import csv
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime

Cell = str | int | float | bool | date | datetime | None


BOM = "\N{ZERO WIDTH NO-BREAK SPACE}"
"""Tells spreadsheets that a CSV file is UTF-8."""


LINES_AT_ONCE = 500


class _Echo:
    """Hands back what the CSV writer writes."""

    def write(self, text: str) -> str:
        """Return the text."""
        return text


def csv_text(titles: Sequence[str], rows: Iterable[Sequence[Cell]], *, bom: bool = False) -> Iterator[str]:
    """Yield rows as CSV, some lines at a time.

    titles: of the columns
    rows: cells in the order of the titles
    bom: begin with the sign by which spreadsheets know UTF-8
    """
    writer = csv.writer(_Echo())
    text = [BOM if bom else "", writer.writerow(titles)]
    for row in rows:
        text.append(writer.writerow([_csv_cell(value) for value in row]))
        if len(text) >= LINES_AT_ONCE:
            yield "".join(text)
            text = []
    yield "".join(text)


def _csv_cell(value: Cell) -> Cell:
    return value.isoformat() if isinstance(value, datetime) else harmless(value)


FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")


def harmless(value: Cell) -> Cell:
    """Return a cell that no spreadsheet takes for a formula: text that begins like one gets an apostrophe in front.

    Numbers stay numbers, also negative ones.
    """
    return f"'{value}" if isinstance(value, str) and value.startswith(FORMULA_SIGNS) else value

"""Tables as CSV and as spreadsheet files."""

import tempfile
from collections.abc import Iterator
from datetime import datetime
from typing import IO

from drystow.errors import InputError
from drystow.messages import Message, msg
from drystow.web.data.tables import Table
from drystow.web.kit.csv_text import Cell, csv_text, harmless

MOST_SHEET_ROWS = 1_048_575  # the format's own limit, with one row for the titles
LONGEST_CELL = 32_767  # likewise


def csv_lines(table: Table, *, bom: bool = False) -> Iterator[str]:
    """Return a table as CSV, some lines at a time; times are UTC.

    table: to write
    bom: begin with the sign by which spreadsheets know UTF-8
    """
    return csv_text(table.titles, table.rows(), bom=bom)


def xlsx_file(tables: tuple[Table, ...]) -> IO[bytes]:
    """Return an open temporary file with one sheet per table; times are UTC. Among several, a table that is too long
    for a sheet says so in its place.

    tables: to write
    """
    from openpyxl import Workbook

    too_long = {table.name: _too_long(table) for table in tables if table.count() > MOST_SHEET_ROWS}
    if too_long and len(tables) == 1:
        raise InputError("table", too_long[tables[0].name])
    book = Workbook(write_only=True)
    for table in tables:
        sheet = book.create_sheet(table.words[:31])
        if table.name in too_long:
            sheet.append([str(too_long[table.name])])
            continue
        sheet.append(table.titles)
        for row in table.rows():
            sheet.append([_xlsx_cell(value) for value in row])
    file = tempfile.TemporaryFile()  # noqa: SIM115 (the response closes it)
    book.save(file)
    file.seek(0)
    return file


def _too_long(table: Table) -> Message:
    return msg(
        "'{table}' has more rows than a sheet can hold ({most}); download it as CSV",
        table=table.words,
        most=MOST_SHEET_ROWS,
    )


def _xlsx_cell(value: Cell) -> Cell:
    if isinstance(value, datetime):
        return value.replace(tzinfo=None)  # spreadsheets know no time zones
    if isinstance(value, str):
        safe = str(harmless(value))
        return "".join(sign for sign in safe if sign.isprintable() or sign in "\n\t")[:LONGEST_CELL]
    return value

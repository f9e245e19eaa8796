"""Every table of the kitchen: rows of plain values under headings with units, as CSV and as spreadsheet files."""

import json
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import IO, Any

from django.db.models import Model
from django.utils.translation import gettext_noop as _

from drystow.errors import InputError, unknown
from drystow.messages import Message, msg
from drystow.web.batches.models import Batch, Happening, Item, Load, PressureRise, Sample, Unproved, Weighing
from drystow.web.data.headings import heading
from drystow.web.dryers.models import Dryer, MachineTest, Service
from drystow.web.foods.models import OwnFood, Recipe, RecipeLine
from drystow.web.kit.csv_text import Cell, csv_text, harmless
from drystow.web.kit.models import Change
from drystow.web.pantry.models import Movement, Package, Place, PlaceReading
from drystow.web.plans.models import Booked, Choice, Crop, Lot, Plan, PlanDryer, Season
from drystow.web.readings.models import Channel, Reading

CHUNK = 2000


@dataclass(frozen=True)
class Table:
    """One table to take along.

    name: in addresses and file names
    words: for people
    model: its rows
    looked_up: columns of other tables that make the rows readable
    """

    name: str
    words: str
    model: type[Model]
    looked_up: tuple[str, ...] = ()

    @property
    def columns(self) -> list[str]:
        """Return the names of the columns as the database knows them."""
        return [*(field.attname for field in self.model._meta.concrete_fields), *self.looked_up]

    @property
    def titles(self) -> list[str]:
        """Return the headings of the columns in the language of the moment."""
        return [heading(self.model, name) for name in self.columns]

    def count(self) -> int:
        """Return how many rows there are."""
        return self.model._default_manager.count()

    def rows(self) -> Iterator[list[Cell]]:
        """Yield the rows in the order in which they were made, never all of them in memory."""
        found = self.model._default_manager.order_by("pk").values_list(*self.columns)
        for row in found.iterator(chunk_size=CHUNK):
            yield [_plain(value) for value in row]


TABLES = (
    Table("batches", _("Batches"), Batch, ("dryer__name",)),
    Table("items", _("Food in the batches"), Item, ("batch__lot",)),
    Table("loads", _("What was on which tray"), Load, ("item__name", "item__batch__lot")),
    Table("weighings", _("Weighings"), Weighing, ("batch__lot",)),
    Table("samples", _("Samples"), Sample, ("batch__lot",)),
    Table("pressure-rises", _("Pressure with the trap valve closed"), PressureRise, ("batch__lot",)),
    Table("happenings", _("Notes and events"), Happening, ("batch__lot",)),
    Table("not-known-dry", _("Packed without knowing that it was dry"), Unproved, ("item__name", "batch__lot")),
    Table("packages", _("Packages"), Package, ("place__name",)),
    Table("movements", _("Package history"), Movement, ("package__code", "package__name")),
    Table("places", _("Places"), Place),
    Table("readings", _("Logged temperatures"), PlaceReading, ("place__name",)),
    Table("own-foods", _("Your own foods"), OwnFood),
    Table("recipes", _("Recipes"), Recipe),
    Table("recipe-lines", _("Ingredients of recipes"), RecipeLine, ("recipe__name",)),
    Table("dryers", _("Dryers"), Dryer),
    Table("services", _("Service log"), Service, ("dryer__name",)),
    Table("machine-tests", _("Dryer tests"), MachineTest, ("dryer__name",)),
    Table("channels", _("Dryer sensors"), Channel, ("dryer__name",)),
    Table("dryer-readings", _("Dryer readings"), Reading, ("channel__quantity", "channel__dryer__name")),
    Table("plans", _("Plans"), Plan),
    Table("plan-dryers", _("Dryers in the plans"), PlanDryer, ("plan__title", "dryer__name")),
    Table("lots", _("Food coming in"), Lot, ("plan__title",)),
    Table("planned-batches", _("Batches made from plans"), Booked, ("plan__title", "batch__lot")),
    Table("seasons", _("Seasons"), Season),
    Table("crops", _("Crops"), Crop, ("season__title",)),
    Table("season-choices", _("Dryer choices for a season"), Choice, ("season__title",)),
    Table("changes", _("History of changes"), Change),
)
BY_NAME = {table.name: table for table in TABLES}


def table_named(name: str) -> Table:
    """Return a table by its name."""
    if name not in BY_NAME:
        raise unknown("table", name, BY_NAME, "table")
    return BY_NAME[name]


def _plain(value: Any) -> Cell:
    if isinstance(value, list | dict):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, datetime):
        return value.astimezone(UTC)
    return value if isinstance(value, Cell) else str(value)


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

"""Every table of the kitchen as rows of plain values, for spreadsheets."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db.models import Model
from django.utils.translation import gettext_noop as _

from drystow.errors import unknown
from drystow.web.batches.models import Batch, Happening, Item, Load, PressureRise, Sample, Unproved, Weighing
from drystow.web.data.headings import heading
from drystow.web.dryers.models import Dryer, MachineTest, Service
from drystow.web.foods.models import OwnFood, Recipe, RecipeLine
from drystow.web.kit.csv_text import Cell
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

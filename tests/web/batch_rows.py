"""Rows that the tests of the batches begin with: a bench dryer and a batch of Alder Lane Kitchen."""

from datetime import UTC, datetime
from typing import Any

from drystow.foods import table
from drystow.web.batches.adapters import USUAL_PROGRAM
from drystow.web.batches.models import Batch, Item, Load, Weighing
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records

BERRIES = table.get("Blueberries, raw")
CARROTS = table.get("Carrots, raw")
ONIONS = table.get("Onions, raw")
CHICKEN = table.get("Chicken, breast, boneless, skinless, raw")


def a_batch(**values: Any) -> Batch:
    dryer = Dryer.objects.first() or records.create(Dryer(name="Bench", profile="bench-4"))
    number = Batch.objects.count() + 1
    usual = {"lot": f"A{number}", "title": "Alder Lane, berries", "dryer": dryer, "program": USUAL_PROGRAM}
    return records.create(Batch(**(usual | values)))


def an_item(batch: Batch, food: Any = BERRIES, **values: Any) -> Item:
    usual = {"food": food.id, "name": food.name, "mass_kg": 1.6, "shape": "sphere", "size_m": 0.012}
    return records.create(Item(batch=batch, **(usual | values)))


def on_tray(item: Item, tray: int, mass: float) -> Load:
    return records.create(Load(item=item, tray=tray, mass_kg=mass))


def a_weighing(batch: Batch, hour: float, net: float, **values: Any) -> Weighing:
    """A weighing at an hour of 1 March 2026, on a tray of 500 g."""
    at = datetime(2026, 3, 1, int(hour), round(hour % 1 * 60), tzinfo=UTC)
    usual = {"tray": 1, "at": at, "gross_g": net + 500.0, "tare_g": 500.0, "resolution_g": 1.0}
    made: Weighing = Weighing.objects.create(batch=batch, **(usual | values))
    return made

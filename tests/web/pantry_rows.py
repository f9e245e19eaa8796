"""Rows of an invented pantry, for the tests of its pages."""

from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from drystow.web.kit import records
from drystow.web.pantry import actions
from drystow.web.pantry.actions import create_package
from drystow.web.pantry.adapters import contents_of, known_food
from drystow.web.pantry.models import Package, Place

STRAWBERRY = "Strawberries, raw"


def place(name: str = "Cellar", **values: Any) -> Place:
    """A place."""
    return records.create(Place(**({"name": name, "temperature_c": 15.0} | values)), who="Ana")


def package(where: Place, **values: Any) -> Package:
    """100 g of freeze-dried strawberries at 2% water, packed 30 days ago."""
    from drystow.foods.table import get

    food = known_food(str(values.get("food", ""))) or get(STRAWBERRY)
    usual: dict[str, Any] = {
        "lot": "A-1",
        "food": food.id,
        "name": "Strawberries",
        "place": where,
        "container": "jar-quart",
        "net_mass_kg": 0.1,
        "packed_on": today() - timedelta(days=30),
        "best_before": today() + timedelta(days=300),
        "basis": "planning estimate",
        "residual_moisture": 0.02,
    }
    usual |= contents_of(food, values.get("net_mass_kg", 0.1), 0.02)
    usual |= values
    usual.setdefault("left_mass_kg", usual["net_mass_kg"])
    made = create_package(Package(**usual), who="Ana", words="packed")
    actions.packed(made, who="Ana")
    return made


def today() -> date:
    """Today in the time zone of the kitchen."""
    return timezone.localdate()

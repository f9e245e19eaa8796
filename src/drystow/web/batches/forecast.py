"""The forecast that a batch keeps from the beginning of its run, and how it is told from what cannot be read."""

from functools import cache
from typing import Annotated, Any

from django.db import models
from pydantic import ConfigDict, Field, TypeAdapter, ValidationError
from typing_extensions import TypedDict

Hours = Annotated[float, Field(ge=-1e6, le=1e6)]
"""A time that a calendar can show [h]."""


class Total(TypedDict, total=False):
    """When a run was forecast to be over."""

    p10: Hours | None
    p50: Hours | None
    p90: Hours | None


class OnTray(TypedDict, total=False):
    """When a food on a tray was forecast to be dry."""

    tray: int | None
    item: int | None
    name: str
    dry_end_h: Hours | None
    p10: Hours | None
    p90: Hours | None
    dry_kg: float
    solids_kg: float


class Forecast(TypedDict, total=False):
    """What was forecast when a run began; nothing before."""

    total_h: Total | None
    energy_kwh: float | None
    drying_start_h: Hours | None
    trays: list[OnTray]


class ForecastField(models.JSONField):
    """Keeps a forecast; what is no JSON, however deep, comes out as the text that it is."""

    def from_db_value(self, value: Any, expression: Any, connection: Any) -> Any:
        """Return what was kept."""
        try:
            return super().from_db_value(value, expression, connection)
        except RecursionError:
            return str(value)

    def deconstruct(self) -> Any:
        """Return it as the field that it is for the database."""
        name, _path, arguments, options = super().deconstruct()
        return name, "django.db.models.JSONField", arguments, options


def is_forecast(value: object) -> bool:
    """Return whether this is a forecast."""
    try:
        _adapter().validate_python([value])
    except (ValidationError, RecursionError):
        return False
    return True


@cache
def _adapter() -> TypeAdapter[Any]:
    return TypeAdapter(list[Forecast], config=ConfigDict(strict=True, allow_inf_nan=False))

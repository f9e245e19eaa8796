"""What an answer rests on, as a hash: all columns of its rows, but for those that can change none.

A column that is added later counts by itself; one that cannot matter is written down in `NO_MATTER` with its reason.
"""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, datetime
from typing import Any

from django.db.models import Model

NO_MATTER: dict[str, frozenset[str]] = {
    # how a row is kept, not what it says
    "": frozenset({"version", "created_at", "changed_at"}),
    # what people call it and write about it; where it stands on its way to the package; what it cost and what it gave
    "batches.batch": frozenset(
        {"title", "lot", "notes", "stage", "opened_at", "done_at"}
        | {"energy_kwh", "packaging_cost", "servings", "servings_each"}
    ),
    # what it cost, how it was prepared, and what was weighed for packing
    "batches.item": frozenset({"price", "shop_price", "prepared", "dried_kg", "aside_kg"}),
    # who noted it, and in which words
    "batches.weighing": frozenset({"note", "who", "step_written"}),
    "batches.sample": frozenset({"note", "who"}),
    "batches.pressurerise": frozenset({"note", "who"}),
    "batches.happening": frozenset({"text", "photo"}),
    # its name stands beside what was worked out; its oil; which tests and signals it offers; whether forecasts use what
    # its batches taught, which counts as what is known of it
    "dryers.dryer": frozenset({"name", "notes", "oil_hours_limit", "trap_valve", "use_taught"}),
    # who lives there, and how they read and print
    "site.kitchen": frozenset(
        {"name", "units", "language", "people", "energy_kcal_day", "protein_g_day", "currency", "own_sheet"}
        | {"label_sheet", "paper", "guide_done"}
    ),
    "plans.plan": frozenset({"title", "notes"}),
    "plans.season": frozenset({"title"}),
}
"""Kind of row -> its columns that change no answer."""


def fingerprint(*parts: object) -> str:
    """Return a hash of rows and of other values.

    parts: rows, also in lists or as values of a dictionary, and values whose `repr` says all of them
    """
    return hashlib.sha256("\n".join(_told(part) for part in parts).encode()).hexdigest()


def columns_of(row: Model) -> Iterator[tuple[str, Any]]:
    """Yield the columns of a row that count, with their values."""
    out = NO_MATTER[""] | NO_MATTER.get(row._meta.label_lower, frozenset())
    for field in row._meta.concrete_fields:
        if field.attname not in out:
            yield field.attname, field.to_python(field.value_from_object(row))


def _told(part: object) -> str:
    if isinstance(part, Model):
        return f"{part._meta.label_lower} {_told(dict(columns_of(part)))}"
    if isinstance(part, Mapping):
        return repr(sorted((repr(name), _told(value)) for name, value in part.items()))
    if is_dataclass(part):
        return repr([_told(getattr(part, field.name)) for field in fields(part)])
    if isinstance(part, list | tuple):
        return repr([_told(one) for one in part])
    return part.astimezone(UTC).isoformat() if isinstance(part, datetime) else repr(part)

"""Numbers that an earlier version kept as a file writes them, in SI."""

from collections.abc import Mapping
from contextlib import suppress
from typing import Any

from drystow.errors import InputError
from drystow.fields import new_names
from drystow.ranges import RANGES, Range
from drystow.units import parse

TRAY_EXTRA = {**RANGES["tray"], **{part: RANGES[f"tray.{part}"] for part in ("dried_layer", "heat", "areas")}}
COLUMNS: dict[str, tuple[str, Mapping[str, Any]]] = {
    # kind of record: column with such numbers, what is in it
    "dryers.dryer": ("numbers", RANGES["dryer"]),
    "batches.batch": ("extra", RANGES["program"]),
    "batches.item": ("extra", TRAY_EXTRA),
    "plans.plan": ("extra", RANGES["plan"]),
    "plans.plandryer": ("extra", RANGES["program"]),
    "plans.lot": ("extra", RANGES["tray"]),
}


def row_in_si(kind: str, row: Mapping[str, Any]) -> dict[str, Any]:
    """Return the columns of a record with its numbers in SI and its fields under the names of now.

    kind: of the record, such as ``dryers.dryer``
    row: its columns, or some of them
    """
    column, known = COLUMNS.get(kind, ("", {}))
    return {name: in_si(value, known) if name == column else value for name, value in row.items()}


def in_si(table: Any, known: Mapping[str, Any]) -> Any:
    """Return a table in which every quantity is a number; one that cannot be read is left out.

    table: with texts or numbers
    known: its quantities, and those of the tables in it
    """
    if not isinstance(table, Mapping):
        return table
    found: dict[str, Any] = {}
    for name, value in new_names(table).items():
        allowed = known.get(name)
        if isinstance(value, str) and isinstance(allowed, Range) and allowed.kind:
            with suppress(InputError):
                found[name] = parse(value, allowed.kind, name)
        else:
            found[name] = in_si(value, allowed) if isinstance(allowed, Mapping) else value
    return found

"""Answers as they were kept before there was one table for them; migrations and older backups still have them.

What a person wished for goes over as it is. An answer itself has another form now, so only that there was one is noted:
it is worked out anew when it is needed.
"""

import json
from collections.abc import Mapping
from contextlib import suppress
from datetime import datetime
from typing import Any

OLD = {
    "dryers.learned": ("lessons", "dryer_id"),
    "batches.judgement": ("dryness", "batch_id"),
    "plans.made": ("plan", "plan_id"),
    "plans.search": ("best", "batch_id"),
    "plans.tried": ("season", "season_id"),
}
"""Table -> kind of answer, and the column with the number of the row that it is about."""


def fields_of(label: str, row: Mapping[str, Any]) -> dict[str, Any]:
    """Return the fields of an answer.

    label: table in which it stood
    row: its columns
    """
    kind, subject = OLD[label]
    fields = {"kind": kind, "subject": row[subject], "at": row["at"]}
    if label == "plans.search":
        return fields | {"kind": f"best {row['kind']}", "asked": json.dumps([row["asked"]])}
    return fields


def dry_times(made: Any) -> dict[int, datetime]:
    """Return when the batches that came from a plan were to be dry, by their numbers.

    made: the plan, as it was kept
    """
    batches = made.get("batches") if isinstance(made, dict) else None
    found = {}
    for one in batches if isinstance(batches, list) else ():
        with suppress(AttributeError, KeyError, TypeError, ValueError):  # it was never read by anybody but a page
            if one.get("batch"):
                found[int(one["batch"])] = datetime.fromisoformat(one["dry"])
    return found

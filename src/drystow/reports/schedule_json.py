"""A schedule as plain data with units in the names, for JSON."""

from typing import Any

from drystow.packing.shopping import Shopping
from drystow.planning.schedule.plan import PlannedBatch, Schedule


def schedule_dict(made: Schedule, shopping: Shopping) -> dict[str, Any]:
    """Return a schedule and its shopping list; money is in the currency of the plan file."""
    return {
        "title": made.title,
        "begin": made.begin.isoformat(),
        "end": made.end.isoformat(),
        "step_h": made.step / 3600,
        "batches": [_batch(batch) for batch in made.batches],
        "saved_value": round(made.saved_value, 5),
        "bound": round(made.bound, 5),
        "gap": made.gap,
        "total_value": made.total_value,
        "electricity_cost": made.cost,
        "idle_h": made.idle / 3600,
        "left_out": [
            {
                "lot": one.name,
                "trays": one.trays,
                "mass_kg": one.mass,
                "rule": one.rule,
                "reason": one.reason,
                "wished": one.wished,
                "verdict": one.verdict,
            }
            for one in made.left_out
        ],
        "wishes_met": made.wishes_met,
        "compared": dict(made.compared),
        "shopping": [{"kind": one.kind, "name": one.name, "count": one.count} for one in shopping.wanted],
        "cautions": list(made.cautions),
        "notes": [*made.notes, *shopping.notes],
        "sources": list(made.sources),
    }


def _batch(batch: PlannedBatch) -> dict[str, Any]:
    return {
        "dryer": batch.dryer,
        "start": batch.start.isoformat(),
        "dry": batch.dry.isoformat(),
        "end": batch.end.isoformat(),
        "free": batch.free.isoformat(),
        "trays": batch.trays,
        "places": batch.places,
        "lots": [
            {
                "lot": lot.name,
                "food": lot.food,
                "trays": lot.trays,
                "mass_kg": lot.mass,
                "frozen": lot.frozen,
                "verdict": lot.verdict,
            }
            for lot in batch.lots
        ],
        "electricity_cost": batch.cost,
        "fixed": batch.fixed,
        "begun": batch.begun,
    }

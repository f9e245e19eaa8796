"""What the engine made of a plan, as it is kept in a row: plain values, moments, sentences with their patterns."""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any

from drystow.errors import DrystowError, InputError
from drystow.packing.shopping import Shopping
from drystow.planning.schedule.arrivals import Lots
from drystow.planning.schedule.plan import PlannedBatch, Schedule
from drystow.reports.plain_data import schedule_dict
from drystow.web.kit.words import sentence_json
from drystow.web.plans.adapters import Basis, planned_batches
from drystow.web.plans.local_time import moment, spans
from drystow.web.plans.lots_table import lot_names
from drystow.web.plans.running import BatchNow
from drystow.web.plans.waiting import Limits, limits_of

FIELD = re.compile(r"^(arrival|dryer|fixed)\[(\d+)\]")
PAGES = {"home": "plan-edit", "tariff": "plan-edit", "freezer": "plan-edit", "rules": "plan-edit",
         "begin": "plan-edit", "days": "plan-edit", "step": "plan-edit", "arrival": "plan-lots",
         "dryer": "plan-dryers"}  # fmt: skip
"""Page on which a field of the engine is written."""


def plan_json(
    basis: Basis, lots: Lots, made: Schedule, shopping: Shopping, before: Mapping[str, Any]
) -> dict[str, Any]:
    """Return a plan as it is kept.

    basis: that it rests on
    lots: that the engine planned with
    made: by the engine
    shopping: what has to be bought
    before: what was kept of the plan until now
    """
    zone, rows = basis.zone, {row.dryer.name: row for row in basis.dryers}
    numbers = dict(zip(lot_names(basis.lots), (lot.pk for lot in basis.lots), strict=True))
    fixed = {
        (lots.dryers[one.dryer].name, one.start, one.end): now
        for one, now in zip(lots.fixed, planned_batches(basis), strict=True)
    }
    took = {one["batch"]: _took(one) for one in before.get("batches", ()) if one.get("batch")}
    data = schedule_dict(made, shopping)
    dried: defaultdict[str, float] = defaultdict(float)
    for lot in (lot for batch in made.batches for lot in batch.lots if not lot.verdict):
        dried[lot.name] += lot.mass
    saved = [(min(dried[lot.name], lot.mass), lot.value) for lot in lots.lots]
    batches = [
        one
        | _times(batch, fixed.get((batch.dryer, batch.start, batch.end)), took, zone)
        | {"row": rows[batch.dryer].pk, "lots": [lot | {"pk": numbers[lot["lot"]]} for lot in one["lots"]]}
        for one, batch in zip(data["batches"], made.batches, strict=True)
    ]
    return data | {
        "begin": basis.begin.isoformat(),
        "end": basis.end.isoformat(),
        "batches": sorted(batches, key=lambda one: (one["start"], one["row"])),
        "saved_kg": sum(mass for mass, _value in saved),
        "saved_worth": sum(mass * value for mass, value in saved),  # the engine's own counts in whole cents a kilogram
        "total_kg": sum(lot.mass for lot in lots.lots),
        "valued": len({lot.value for lot in lots.lots}) > 1,
        "home": lots.home,
        "stops": _stops(basis),
        "came_frozen": [lot.pk for lot in basis.lots if lot.frozen],
        "arrivals": {str(lot.pk): lot.arrives.isoformat() for lot in basis.lots},
        "limits": {str(lot.pk): _limits(limits_of(lot, basis.foods[lot.food])) for lot in basis.lots},
        "left_out": [
            one | {"pk": numbers[one["lot"]], "reason": sentence_json(left.reason)}
            for one, left in zip(data["left_out"], made.left_out, strict=True)
        ],
        "shopping": [
            {"kind": one.kind, "name": sentence_json(one.name), "count": one.count} for one in shopping.wanted
        ],
        "cautions": [sentence_json(one) for one in made.cautions],
        "notes": [sentence_json(one) for one in (*made.notes, *shopping.notes)],
        "clock_changes": _clock_changes(basis),
    }


def problems_json(problem: DrystowError, basis: Basis | None) -> list[dict[str, Any]]:
    """Return the problems of a plan that the engine refuses, each with the page on which it is mended.

    basis: of the plan, None when it could not even be read
    """
    return [_problem(one, basis) for one in problem.problems]


def _problem(one: DrystowError, basis: Basis | None) -> dict[str, Any]:
    if not isinstance(one, InputError):
        return sentence_json(str(one)) | {"page": ""}
    told = sentence_json(one.message) | {
        "page": PAGES.get(one.field.split(".")[0].split("[")[0], ""),
        "name": "",
        "pk": None,
    }
    match = FIELD.match(one.field)
    if match is None or basis is None:
        return told
    kind, place = match[1], int(match[2]) - 1
    if kind == "arrival" and place < len(basis.lots):
        return told | {"page": "plan-lot", "name": basis.lots[place].name, "pk": basis.lots[place].pk}
    if kind == "dryer" and place < len(basis.dryers):
        return told | {"name": basis.dryers[place].dryer.name}
    batches = planned_batches(basis)
    if kind == "fixed" and place < len(batches):
        return told | {"page": "batch", "name": batches[place].row.lot, "pk": batches[place].pk}
    return told


def _times(batch: PlannedBatch, now: BatchNow | None, took: Mapping[int, timedelta], zone: Any) -> dict[str, Any]:
    """Return the moments of a batch; one that is booked was not told to the engine when it is dry."""
    start, dry, end = spans(batch.start, batch.dry, batch.end, zone)
    if now is not None and now.state == "planned":
        dry = min(start + took.get(now.pk, end - start), end)
    if now is not None and now.state == "running":
        dry = min(now.end, end)
    free = end + (batch.free - batch.end)
    moments = {"start": start, "dry": dry, "end": end, "free": free}
    return {name: at.isoformat() for name, at in moments.items()} | {"batch": None if now is None else now.pk}


def _limits(limits: Limits) -> dict[str, Any]:
    freezer = limits.freezer
    return {
        "fridge": limits.fridge.isoformat(),
        "freezer": None if freezer is None else freezer.isoformat(),
        "verdict": limits.verdict,
    }


def _took(entry: Mapping[str, Any]) -> timedelta:
    return datetime.fromisoformat(entry["dry"]) - datetime.fromisoformat(entry["start"])


def _stops(basis: Basis) -> list[dict[str, Any]]:
    """Return when dryers are not to be had: service, and batches that did not come from the plan."""
    numbers = {row.dryer_id: row.pk for row in basis.dryers}
    found: list[dict[str, Any]] = [
        {"row": row.pk, "lot": ""}
        | {name: moment(datetime.fromisoformat(stop[name]), basis.zone).isoformat() for name in ("from", "to")}
        for row in basis.dryers
        for stop in row.stops
    ]
    found += [
        {"row": numbers[one.dryer], "lot": one.lot, "from": one.start.isoformat(), "to": one.end.isoformat()}
        for one in basis.others
    ]
    return found


def _clock_changes(basis: Basis) -> list[dict[str, Any]]:
    """Return the days of the plan on which clocks are changed, and by how many hours."""
    days: Iterable[datetime] = (basis.begin + timedelta(days=day) for day in range(basis.plan.days))
    found = []
    for day in days:
        change = (day + timedelta(days=1)).utcoffset() or timedelta()
        hours = (change - (day.utcoffset() or timedelta())).total_seconds() / 3600.0
        if hours:
            found.append({"day": day.date().isoformat(), "hours": hours})
    return found

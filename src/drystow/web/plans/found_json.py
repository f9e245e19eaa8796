"""What the engine found for a batch, as it is kept in a row: plain values, hours, sentences with their patterns."""

import math
from collections import defaultdict
from dataclasses import replace
from typing import Any

import numpy as np

from drystow.errors import DrystowError, InputError, InputErrors
from drystow.machine.load import Load, ProgramStep
from drystow.machine.result import LoadResult
from drystow.machine.run import simulate
from drystow.machine.sampling import Calibration, calibrated
from drystow.messages import Message, msg
from drystow.planning.load.load_plan import LoadPlan, Times
from drystow.planning.program.best_program import ShelfProgram
from drystow.planning.program.verifying import Verified
from drystow.reports.charts import thin
from drystow.units import celsius, hours
from drystow.web.kit.words import sentence_json
from drystow.web.plans.batch_adapters import LoadQuestion, ProgramQuestion

FULL = 0.999  # share of a tray from which on a food covers all of it
KWH = 3.6e6  # joules


def load_json(question: LoadQuestion, plan: LoadPlan) -> dict[str, Any]:
    """Return a load that was found.

    question: that was asked
    plan: the answer
    """
    numbers = [item.pk for item in question.items]
    return {
        "wished_h": hours(plan.wished),
        "refusal": None
        if plan.refusal is None
        else {"words": sentence_json(plan.refusal.words), "instead": sentence_json(plan.refusal.instead)},
        "parts": _parts(question, plan),
        "left": [{"item": numbers[one.food], "mass_kg": one.mass, **sentence_json(one.words)} for one in plan.left],
        "end_h": _times(plan.end),
        "mass_kg": plan.mass,
        "water_kg": plan.water,
        "capacity_kg": plan.capacity,
        "energy_kwh": plan.energy / KWH,
        "costs": [sentence_json(one.words) for one in sorted(plan.costs, key=lambda one: one.time)],
        "cautions": [sentence_json(one) for one in plan.cautions],
        "notes": [sentence_json(one) for one in (*plan.notes, *_not_looked_at(question))],
        "runs": plan.runs,
        "members": plan.members,
    }


def program_json(question: ProgramQuestion, found: ShelfProgram) -> dict[str, Any]:
    """Return a program that was found, beside the batch's own.

    question: that was asked
    found: the answer
    """
    load = question.load
    return {
        "safe": found.safe,
        "own_safe": found.plain_safe,
        "usable": found.usable,
        "confidence": found.confidence,
        "margin_k": found.margin,
        "found": _verified(found.found),
        "own": _verified(found.plain),
        "same": found.found.program == found.plain.program,
        "stops": [sentence_json(one.words) for one in found.stops],
        "notes": [sentence_json(one) for one in found.notes],
        "lines": {
            "found": _line(load, found.found.program, question.known),
            "own": _line(load, found.plain.program, question.known),
        },
        "runs": found.runs,
        "members": found.members,
    }


def problems_json(problem: DrystowError) -> dict[str, Any]:
    """Return what is kept when the engine refuses: its problems."""
    words = [one.message if isinstance(one, InputError) else str(one) for one in problem.problems]
    return {"problems": [sentence_json(one) for one in words]}


def _parts(question: LoadQuestion, plan: LoadPlan) -> list[dict[str, Any]]:
    """Return what lies on the trays, one entry for each food on each tray."""
    places: dict[tuple[int, int], list[int]] = defaultdict(list)
    for at, tray in enumerate(plan.trays):
        places[tray.tray, tray.food].append(at)
    alone = {food: all(len(places[key]) == 1 for key in places if key[1] == food) for _tray, food in places}
    parts = []
    for (number, food), here in places.items():
        first = plan.trays[here[0]]
        parts.append(
            {
                "tray": number,
                "item": question.items[food].pk,
                "size_m": first.size,
                "mass_kg": sum(plan.trays[at].mass for at in here),
                "area_m2": _covered(question, plan, here[0]) if alone[food] else None,
                "too_warm": any(plan.trays[at].over > 0.0 for at in here),
                "p80_h": _hours(max(plan.trays[at].dry.p80 for at in here)),
            }
        )
    return parts


def _covered(question: LoadQuestion, plan: LoadPlan, at: int) -> float | None:
    """Return the part of its tray that a food covers [m2], None for all of it."""
    item, counter = plan.load.items[at], question.counter
    area = item.areas.above if item.shape == "slab" else counter.place_area
    return None if area > FULL * plan.load.dryer.tray_area else area


def _not_looked_at(question: LoadQuestion) -> list[Message]:
    words = "{food}: what a load file set for its heat transfer is not looked at in this search"
    return [msg(words, food=item.name) for item in question.items if "heat" in item.extra]


def _verified(one: Verified) -> dict[str, Any]:
    return {
        "program": [
            {
                "shelf_c": round(celsius(step.shelf), 2),
                "hours": None if math.isinf(step.duration) else round(hours(step.duration), 4),
            }
            for step in one.program
        ],
        "time_h": _hours(one.time),
        "end_h": _times(one.end),
        "energy_kwh": _finite(one.energy / KWH),
        "kept": one.kept,
    }


def _line(load: Load, program: tuple[ProgramStep, ...], known: Calibration) -> list[list[float]]:
    """Return how far the warmest ice front is over its limit [h, K], as long as there is ice; nothing when refused."""
    try:
        result = simulate(calibrated(replace(load, program=program), known))
    except (InputError, InputErrors):
        return []
    times, over = _over_limit(result)
    return [[round(hours(float(at)), 3), round(float(value), 3)] for at, value in zip(*thin(times, over), strict=True)]


def _over_limit(result: LoadResult) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    rows = []
    for tray in result.trays:
        ice = (result.time >= result.drying_start) & (tray.dried_fraction < 1.0)
        rows.append(np.where(ice, tray.front_temperature - tray.limit, -np.inf))
    over = np.max(rows, axis=0)
    there = np.isfinite(over)
    return result.time[there], over[there]


def _times(times: Times) -> dict[str, float | None]:
    return {name: _hours(getattr(times, name)) for name in ("p10", "p50", "p80", "p90")}


def _hours(seconds: float) -> float | None:
    return _finite(seconds / 3600.0)


def _finite(value: float) -> float | None:
    return round(value, 4) if math.isfinite(value) else None

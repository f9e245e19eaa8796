"""Answers as plain data: the documented JSON of the commands and of the interface for programs, units in the names."""

import math
from typing import Any

from drystow.costs.batch import JOULES_PER_KWH
from drystow.evidence.band import Band
from drystow.evidence.dryness.batch_file import BatchSpec
from drystow.evidence.dryness.judge import DECISION_LEVEL, TrayDryness
from drystow.foods.classify import written_like
from drystow.foods.model import Food
from drystow.machine.ensemble import Spread, causes_of
from drystow.machine.pieces import Lie
from drystow.machine.result import LoadResult, TrayResult
from drystow.numerics import Array
from drystow.packing.shopping import Shopping
from drystow.planning.schedule.plan import PlannedBatch, Schedule
from drystow.planning.season.answer import ChoiceAnswer, Pay, SeasonAnswer
from drystow.planning.season.garden import OverSeasons
from drystow.sources import cite
from drystow.units import celsius, hours


def load_json(result: LoadResult, *, spread: Spread | None = None, series: bool = False) -> dict[str, Any]:
    """Return a result as plain data with units in the names; times become ranges when a spread is given."""
    machine = result.machine
    data: dict[str, Any] = {
        "title": result.title,
        "trays": [_tray(number, tray, spread) for number, tray in enumerate(result.trays)],
        "machine": {
            "trap_ice_kg": machine.trap_ice,
            "trap_capacity_kg": machine.trap_capacity,
            "peak_vapour_kg_h": machine.peak_vapour * 3600,
            "peak_pressure_pa": machine.peak_pressure,
            "energy_kwh": machine.energy / JOULES_PER_KWH,
            "energy_parts_kwh": {
                "compressor": machine.compressor_energy / JOULES_PER_KWH,
                "heaters": machine.heater_energy / JOULES_PER_KWH,
                "pump": machine.pump_energy / JOULES_PER_KWH,
            },
        },
        "drying_start_h": hours(result.drying_start),
        "total_h": hours(result.total_time) if spread is None else _range(spread.total),
        "ended_by": result.ended_by,
        "ended_text": result.ended_text,
        "events": [
            {"time_h": hours(event.time), "kind": event.kind, "item": event.tray}
            | {"tray": None if event.tray is None else result.trays[event.tray].tray, "text": event.text}
            for event in result.events
        ],
        "notes": list(result.notes),
        "sources": [{"key": key, "text": cite(key).text, "mark": cite(key).mark} for key in result.sources],
    }
    if spread is not None:
        data["members"] = spread.members
        data["causes"] = [
            {"key": cause.key, "words": str(cause.words), "share": round(cause.share, 3)}
            for cause in causes_of(spread.runs, spread.runs.end)
        ]
    if series:
        data["series"] = _series(result)
    return data


def _tray(number: int, tray: TrayResult, spread: Spread | None) -> dict[str, Any]:
    times = {"freezing_end_h": tray.freezing_end, "primary_end_h": tray.primary_end, "dry_end_h": tray.dry_end}
    shown: dict[str, Any] = {name: None if time is None else hours(time) for name, time in times.items()}
    if spread is not None:
        ranges = zip(times, (spread.freezing_end, spread.primary_end, spread.dry_end), strict=True)
        # food that bursts under its skin gets no time, and so no range
        shown |= {
            name: _range(three[number]) for name, three in ranges if not (tray.bursts and name != "freezing_end_h")
        }
    return {
        "tray": tray.tray,
        "name": tray.name,
        "mass_kg": tray.mass,
        "water_start_kg": tray.water_start,
        "ice_start_kg": tray.ice_start,
        **shown,
        "front_temperature_c": {
            "start": celsius(tray.front_temperature_start),
            "max": celsius(tray.front_temperature_max),
            "end": celsius(tray.front_temperature_end),
        },
        "limit_c": celsius(tray.limit),
        "target_moisture": tray.target_moisture,
        "residual_moisture": tray.residual_moisture,
        "lies": _lies(tray.lie),
        "wrapper_kg": tray.wrapper_mass,
        "notes": list(tray.notes),
    }


def _lies(lie: Lie | None) -> dict[str, Any] | None:
    """Return how food lies on its tray, None where there is no tray."""
    if lie is None:
        return None
    return {
        "packing": lie.packing,
        "pieces": lie.count,
        "room_m2": lie.room,
        "coverage": lie.coverage,
        "layers": lie.layers,
        "height_m": lie.height,
        "drying_length_m": lie.length,
        "dimension": lie.dimension,
    }


def _range(three: Array) -> dict[str, float | None]:
    values = [None if not math.isfinite(value) else hours(float(value)) for value in three]
    return dict(zip(("p10", "p50", "p90"), values, strict=True))


def _series(result: LoadResult) -> dict[str, Any]:
    return {
        "time_h": [hours(float(time)) for time in result.time],
        "shelf_c": [celsius(float(value)) for value in result.shelf_temperature],
        "pressure_pa": result.chamber_pressure.tolist(),
        "trap_c": [celsius(float(value)) for value in result.trap_temperature],
        "vapour_kg_h": (result.vapour * 3600).tolist(),
        "trays": [
            {
                "tray": tray.tray,
                "name": tray.name,
                "dried_fraction": tray.dried_fraction.tolist(),
                "front_temperature_c": [celsius(float(value)) for value in tray.front_temperature],
                "moisture": tray.moisture.tolist(),
            }
            for tray in result.trays
        ],
    }


def food_summary(food: Food) -> dict[str, Any]:
    """Return what identifies a food, what it behaves like, and its water."""
    return {
        "id": food.id,
        "name": food.name,
        "class": food.food_class,
        "like": written_like(food.food_class, food.like),
        "category": food.category,
        "water": food.composition.water,
    }


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


BASE_SOURCES = ("drystow-default", "gab", "cornuet2012", "pikal1990", "target-practice")


def dryness_json(batch: BatchSpec, trays: tuple[TrayDryness, ...]) -> dict[str, Any]:
    """Return what was judged as plain data with units in the names.

    batch: the file that was asked about
    trays: the answers
    """
    items = batch.load.items
    used = {key for item in items for key in (*item.layer.sources, item.isotherm.source, item.food.source)}
    keys = sorted({*used, *BASE_SOURCES} - {"definition"})
    return {
        "title": batch.title,
        "now_h": hours(batch.now),
        "decision_level": DECISION_LEVEL,
        "trays": [_tray_dryness(tray) for tray in trays],
        "sources": [{"key": key, "text": cite(key).text, "mark": cite(key).mark} for key in keys],
    }


def _tray_dryness(tray: TrayDryness) -> dict[str, Any]:
    half, most = tray.more_time
    return {
        "tray": tray.tray,
        "name": tray.name,
        "residual_moisture": _band(tray.residual_moisture),
        "water_activity": _band(tray.water_activity),
        "wettest_water_activity": None if tray.wettest_activity is None else _band(tray.wettest_activity),
        "target_moisture": tray.target_moisture,
        "probability_dry": tray.probability_dry,
        "more_hours": {"p50": _hours(half), "p90": _hours(most)},
        "next_weighing_h": None if tray.next_weighing is None else hours(tray.next_weighing),
        "evidence": [
            {"kind": piece.kind, "words": str(piece.words), "pull": round(piece.pull, 3)} for piece in tray.pieces
        ],
        "wet_piece": str(tray.wet_piece) or None,
        "verdict": tray.verdict,
        "words": str(tray.words),
        "notes": [str(note) for note in tray.notes],
    }


def _hours(time: float) -> float | None:
    return hours(time) if math.isfinite(time) else None


def _band(three: Band) -> dict[str, float]:
    return {"p05": three.low, "p50": three.middle, "p95": three.high}


def season_dict(answer: SeasonAnswer) -> dict[str, Any]:
    """Return the answer; a range is {p10, p50, p90, mean}, what never ends or cannot be told is null."""
    return {
        "title": answer.title,
        "begin": answer.begin.isoformat(),
        "seasons": answer.seasons,
        "came_kg": _over_seasons(answer.came),
        "value": _over_seasons(answer.value),
        "choices": [_choice(one) for one in answer.choices],
        "notes": list(answer.notes),
        "cautions": list(answer.cautions),
        "sources": list(answer.sources),
    }


def _over_seasons(one: OverSeasons, unit: float = 1.0) -> dict[str, float | None]:
    values = {"p10": one.low, "p50": one.middle, "p90": one.high, "mean": one.mean}
    return {name: value / unit if math.isfinite(value) else None for name, value in values.items()}


def _choice(one: ChoiceAnswer) -> dict[str, Any]:
    return {
        "name": one.name,
        "dryers": list(one.dryers),
        "price": one.price,
        "years": one.years,
        "enough_seasons": one.enough,
        "dried_kg": _over_seasons(one.dried),
        "lost_kg": _over_seasons(one.lost),
        "lost_value": _over_seasons(one.value),
        "lost_share": _over_seasons(one.share),
        "batches": _over_seasons(one.batches),
        "running_h": _over_seasons(one.time, 3600.0),
        "electricity_kwh": _over_seasons(one.energy, 3.6e6),
        "electricity_cost": _over_seasons(one.cost),
        "freezer_share": _over_seasons(one.freezer),
        "freezer_full_days": _over_seasons(one.freezer_days),
        "weeks_with_losses": _over_seasons(one.weeks_lost),
        "cost_per_kg": one.per_kg,
        "weeks": [
            {
                "begin": week.begin.isoformat(),
                "came_kg": _over_seasons(week.came),
                "dried_kg": _over_seasons(week.dried),
                "lost_kg": _over_seasons(week.lost),
                "seasons_with_losses": week.tight,
            }
            for week in one.weeks
        ],
        "crops": [
            {
                "name": crop.name,
                "came_kg": _over_seasons(crop.came),
                "lost_kg": _over_seasons(crop.lost),
                "never_dry_in": list(crop.never),
            }
            for crop in one.crops
        ],
        "pay": None if one.pay is None else _pay(one.pay),
    }


def _pay(pay: Pay) -> dict[str, Any]:
    return {
        "more_kg": _over_seasons(pay.more),
        "more_value": pay.worth,
        "more_cost": _over_seasons(pay.cost),
        "price_per_more_kg": pay.price,
        "prices_per_more_kg": None if pay.prices is None else _over_seasons(pay.prices),
        "value_per_more_kg": pay.value,
        "break_even_per_kg": pay.price,
        "years_until_paid_back": pay.years,
        "pays": pay.pays,
    }

"""A simulated load as plain data: the documented JSON of ``drystow simulate``."""

import math
from typing import Any

from drystow.costs.batch import JOULES_PER_KWH
from drystow.machine.causes import causes_of
from drystow.machine.ensemble import Spread
from drystow.machine.result import LoadResult, TrayResult
from drystow.numerics import Array
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
        shown = {
            "freezing_end_h": _range(spread.freezing_end[number]),
            "primary_end_h": _range(spread.primary_end[number]),
            "dry_end_h": _range(spread.dry_end[number]),
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
        "notes": list(tray.notes),
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

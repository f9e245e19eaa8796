"""How dry the trays of a batch are as plain data: the documented JSON of ``drystow dryness``."""

import math
from typing import Any

from drystow.evidence.band import Band
from drystow.evidence.dryness.batch_file import BatchFile
from drystow.evidence.dryness.judge import DECISION_LEVEL, TrayDryness
from drystow.sources import cite
from drystow.units import hours

BASE_SOURCES = ("drystow-default", "gab", "cornuet2012", "pikal1990", "target-practice")


def dryness_json(batch: BatchFile, trays: tuple[TrayDryness, ...]) -> dict[str, Any]:
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
        "trays": [_tray(tray) for tray in trays],
        "sources": [{"key": key, "text": cite(key).text, "mark": cite(key).mark} for key in keys],
    }


def _tray(tray: TrayDryness) -> dict[str, Any]:
    half, most = tray.more_time
    return {
        "tray": tray.tray,
        "name": tray.name,
        "residual_moisture": _range(tray.residual_moisture),
        "water_activity": _range(tray.water_activity),
        "wettest_water_activity": None if tray.wettest_activity is None else _range(tray.wettest_activity),
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


def _range(three: Band) -> dict[str, float]:
    return {"p05": three.low, "p50": three.middle, "p95": three.high}

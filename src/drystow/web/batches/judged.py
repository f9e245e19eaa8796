"""What the engine said of a batch, as it is kept in a row and as a page reads it."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from drystow.errors import DrystowError, InputError
from drystow.evidence.band import Band
from drystow.evidence.dryness.judge import TrayDryness, last_dry
from drystow.web.batches.evidence_adapters import Question
from drystow.web.batches.models import Judgement
from drystow.web.kit.words import sentence_again, sentence_json

HOUR = 3600.0


def result_json(question: Question, now: float, trays: tuple[TrayDryness, ...]) -> dict[str, Any]:
    """Return what is kept: plain values, hours, sentences with their patterns.

    question: that was asked
    now: moment that it was asked about [s]
    trays: the answers
    """
    return {
        "began_at": question.clock.began.isoformat(),
        "dried_h": _hours(now),
        "unheard": question.unheard,
        "finish_h": [_hours(time) for time in last_dry([tray.times for tray in trays])],
        "trays": [_tray_json(question.trays[tray.tray - 1], tray) for tray in trays],
    }


def problem_json(problem: DrystowError) -> dict[str, Any]:
    """Return what is kept when the engine refuses: its problems."""
    return {
        "problems": [
            {"field": one.field, **sentence_json(one.message)}
            if isinstance(one, InputError)
            else sentence_json(str(one))
            for one in problem.problems
        ]
    }


def _tray_json(number: int, tray: TrayDryness) -> dict[str, Any]:
    return {
        "tray": number,
        "name": sentence_json(tray.name),
        "verdict": tray.verdict,
        "words": sentence_json(tray.words),
        "probability_dry": round(tray.probability_dry, 5),
        "residual_moisture": _range_json(tray.residual_moisture),
        "water_activity": _range_json(tray.water_activity),
        "wettest_activity": [] if tray.wettest_activity is None else _range_json(tray.wettest_activity),
        "wet_piece": sentence_json(tray.wet_piece) if tray.wet_piece else {},
        "target_moisture": round(tray.target_moisture, 5),
        "more_h": [_hours(time) for time in tray.more_time],
        "next_weighing_h": None if tray.next_weighing is None else _hours(tray.next_weighing),
        "evidence": [
            {"kind": piece.kind, "pull": round(piece.pull, 3), **sentence_json(piece.words)} for piece in tray.pieces
        ],
        "notes": [sentence_json(note) for note in tray.notes],
        "moistures": [round(value, 5) for value in tray.moistures],
    }


def _range_json(three: Band) -> list[float]:
    return [round(value, 5) for value in (three.low, three.middle, three.high)]


def _hours(time: float) -> float | None:
    return round(time / HOUR, 3) if math.isfinite(time) else None


@dataclass(frozen=True)
class EvidenceWords:
    """One piece of evidence.

    words: what it says
    pull: how strongly it speaks for dry, in powers of ten of the odds [-]
    """

    words: str
    pull: float


@dataclass(frozen=True)
class TrayJudged:
    """How dry a tray is.

    number: of the tray
    name: of its food
    verdict: dry, nearly, not_dry, not_enough_evidence or contradiction
    words: the verdict in one or two sentences
    chance: that it is dry [-]
    moisture: low, middle and high, wet basis [-]
    activity: low, middle and high water activity [-]
    target: wished moisture, wet basis [-]
    moistures: equally likely moistures, the driest first [-]
    ready: by when half and nine in ten are dry, None: never
    weigh: when to weigh next, None when that tells nothing
    pieces: the evidence
    notes: on the limits of the answer
    wettest: low, middle and high water activity of its wettest pieces [-], empty: not known
    wet_piece: what was found in its worst piece that speaks against dry, empty: nothing
    """

    number: int
    name: str
    verdict: str
    words: str
    chance: float
    moisture: tuple[float, ...]
    activity: tuple[float, ...]
    target: float
    moistures: tuple[float, ...]
    ready: tuple[datetime | None, ...]
    weigh: datetime | None
    pieces: tuple[EvidenceWords, ...]
    notes: tuple[str, ...]
    wettest: tuple[float, ...] = ()
    wet_piece: str = ""


@dataclass(frozen=True)
class Judged:
    """How dry a batch is.

    at: the moment that was asked about
    began: when drying began
    ready: by when one in ten, half and nine in ten runs are dry, None: never
    unheard: how many things were seen before drying began
    trays: from the top
    problems: why the engine refused, each with its field
    """

    at: datetime
    began: datetime | None
    ready: tuple[datetime | None, ...]
    unheard: int
    trays: tuple[TrayJudged, ...]
    problems: tuple[str, ...]

    @property
    def slowest(self) -> TrayJudged | None:
        """Return the tray that is dry last, None when all are."""
        left = [tray for tray in self.trays if tray.verdict != "dry"]
        return max(left, key=_lateness, default=None)

    @property
    def seen(self) -> bool:
        """Return whether anything was seen of the batch."""
        return any(tray.pieces for tray in self.trays)


def judged(row: Judgement) -> Judged:
    """Return what was kept of a batch, for a page."""
    data = row.result
    began = data.get("began_at")
    return Judged(
        at=row.at,
        began=datetime.fromisoformat(began) if began else None,
        ready=tuple(_later(row.at, hours) for hours in data.get("finish_h", ())),
        unheard=data.get("unheard", 0),
        trays=tuple(_tray(row.at, tray) for tray in data.get("trays", ())),
        problems=tuple(_sentences(data.get("problems", ()))),
    )


def _tray(at: datetime, data: dict[str, Any]) -> TrayJudged:
    next_h = data["next_weighing_h"]
    return TrayJudged(
        number=data["tray"],
        name=sentence_again(data["name"]),
        verdict=data["verdict"],
        words=sentence_again(data["words"]),
        chance=data["probability_dry"],
        moisture=tuple(data["residual_moisture"]),
        activity=tuple(data["water_activity"]),
        target=data["target_moisture"],
        moistures=tuple(data["moistures"]),
        ready=tuple(_later(at, hours) for hours in data["more_h"]),
        weigh=None if next_h is None else _later(at, next_h),
        pieces=tuple(EvidenceWords(sentence_again(one), one["pull"]) for one in data["evidence"]),
        notes=tuple(_sentences(data["notes"])),
        wettest=tuple(data.get("wettest_activity", ())),
        wet_piece=sentence_again(data["wet_piece"]) if data.get("wet_piece") else "",
    )


def _lateness(tray: TrayJudged) -> tuple[float, float]:
    half, most = (math.inf if moment is None else moment.timestamp() for moment in tray.ready)
    return half, most


def _later(at: datetime, hours: float | None) -> datetime | None:
    return None if hours is None else at + timedelta(hours=hours)


def _sentences(rows: Iterable[dict[str, Any]]) -> list[str]:
    return [sentence_again(row) for row in rows]

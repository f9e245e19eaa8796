"""How dry a batch is, as it is kept and as a page reads it."""

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from drystow.evidence.band import Band
from drystow.evidence.dryness.judge import TrayDryness, last_dry
from drystow.web.batches.evidence_adapters import Question
from drystow.web.kit.codec import Sentence

HOUR = 3600.0


@dataclass(frozen=True)
class EvidenceWords:
    """One piece of evidence.

    kind: of evidence
    words: what it says
    pull: how strongly it speaks for dry, in powers of ten of the odds [-]
    """

    kind: str
    words: Sentence
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
    name: Sentence
    verdict: str
    words: Sentence
    chance: float
    moisture: tuple[float, ...]
    activity: tuple[float, ...]
    target: float
    moistures: tuple[float, ...]
    ready: tuple[datetime | None, ...]
    weigh: datetime | None
    pieces: tuple[EvidenceWords, ...]
    notes: tuple[Sentence, ...]
    wettest: tuple[float, ...] = ()
    wet_piece: Sentence = ""


@dataclass(frozen=True)
class Judged:
    """How dry a batch is.

    at: the moment that was asked about
    began: when drying began
    dried: until that moment [s]
    ready: by when one in ten, half and nine in ten runs are dry, None: never
    unheard: how many things were seen before drying began
    trays: from the top
    """

    at: datetime
    began: datetime
    dried: float
    ready: tuple[datetime | None, ...]
    unheard: int
    trays: tuple[TrayJudged, ...]

    @property
    def slowest(self) -> TrayJudged | None:
        """Return the tray that is dry last, None when all are."""
        left = [tray for tray in self.trays if tray.verdict != "dry"]
        return max(left, key=_lateness, default=None)

    @property
    def seen(self) -> bool:
        """Return whether anything was seen of the batch."""
        return any(tray.pieces for tray in self.trays)


def judged(question: Question, at: datetime, trays: tuple[TrayDryness, ...]) -> Judged:
    """Return how dry a batch is.

    question: that was asked
    at: the moment that was asked about
    trays: the engine's answers
    """
    return Judged(
        at=at,
        began=question.clock.began,
        dried=question.now(at),
        ready=tuple(_later(at, time) for time in last_dry([tray.times for tray in trays])),
        unheard=question.unheard,
        trays=tuple(_tray(at, question.trays[tray.tray - 1], tray) for tray in trays),
    )


def _tray(at: datetime, number: int, tray: TrayDryness) -> TrayJudged:
    return TrayJudged(
        number=number,
        name=tray.name,
        verdict=tray.verdict,
        words=tray.words,
        chance=round(tray.probability_dry, 5),
        moisture=_three(tray.residual_moisture),
        activity=_three(tray.water_activity),
        target=round(tray.target_moisture, 5),
        moistures=tuple(round(value, 5) for value in tray.moistures),
        ready=tuple(_later(at, time) for time in tray.more_time),
        weigh=None if tray.next_weighing is None else _later(at, tray.next_weighing),
        pieces=tuple(EvidenceWords(piece.kind, piece.words, round(piece.pull, 3)) for piece in tray.pieces),
        notes=tray.notes,
        wettest=() if tray.wettest_activity is None else _three(tray.wettest_activity),
        wet_piece=tray.wet_piece,
    )


def _three(band: Band) -> tuple[float, ...]:
    return tuple(round(value, 5) for value in (band.low, band.middle, band.high))


def _lateness(tray: TrayJudged) -> tuple[float, float]:
    half, most = (math.inf if moment is None else moment.timestamp() for moment in tray.ready)
    return half, most


def _later(at: datetime, time: float) -> datetime | None:
    return at + timedelta(hours=round(time / HOUR, 3)) if math.isfinite(time) else None

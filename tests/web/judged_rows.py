"""How dry trays are, as a test says it."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from drystow.web.batches.judged import EvidenceWords, Judged, TrayJudged


def later(at: datetime, hours: float | None) -> datetime | None:
    """A moment some hours later, None: never."""
    return None if hours is None else at + timedelta(hours=hours)


def a_tray(at: datetime, more_h: Sequence[float | None] = (3.0, 5.0), **values: Any) -> TrayJudged:
    """A tray with carrots that were weighed twice and are not dry."""
    usual: dict[str, Any] = {
        "number": 1,
        "name": "Carrots",
        "verdict": "not_dry",
        "words": "As weighed.",
        "chance": 0.2,
        "moisture": (0.02, 0.05, 0.1),
        "activity": (0.2, 0.3, 0.5),
        "target": 0.03,
        "moistures": (0.1,),
        "ready": tuple(later(at, hours) for hours in more_h),
        "weigh": later(at, 1.0),
        "pieces": (EvidenceWords("weighing", "2 weighings", -1.0),),
        "notes": (),
    }
    return TrayJudged(**(usual | values))


def judged_trays(at: datetime, trays: Sequence[TrayJudged], finish_h: Sequence[float | None] = ()) -> Judged:
    """Trays of a batch that began to dry ten hours before."""
    ready = tuple(later(at, hours) for hours in finish_h)
    return Judged(at, at - timedelta(hours=10), 36000.0, ready, 0, tuple(trays))

"""When a run is over and where it is now: from what was seen of it, else as it was forecast."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.errors import InputError, InputErrors
from drystow.reports.timeline import timeline
from drystow.web.batches.adapters import predict
from drystow.web.batches.judged import Judged
from drystow.web.batches.models import Batch, Load
from drystow.web.batches.outage_adapters import PowerCut


@dataclass(frozen=True)
class Finish:
    """When a run is expected to be over.

    early: one in ten runs is dry before
    middle: half are
    late: nine in ten are; None: not in sight
    passed_h: since the food went in
    share: how far it is, 0 to 100
    overdue: now is later than `late`
    seen: it rests on what was seen, not on the forecast alone
    """

    early: datetime
    middle: datetime
    late: datetime | None
    passed_h: float
    share: int
    overdue: bool
    seen: bool = False


def forecast_finish(batch: Batch, cuts: Iterable[PowerCut] = ()) -> Finish | None:
    """Return when a running batch was forecast to be over, later by what power cuts took; None when nobody knows."""
    total = batch.prediction.get("total_h") if batch.started_at and not batch.ended_at else None
    if not total or None in (total.get("p10"), total.get("p50"), total.get("p90")):
        return None
    early, middle, late = (batch.started_at + timedelta(hours=total[name]) for name in ("p10", "p50", "p90"))
    for shift in filter(None, (cut.shift for cut in cuts)):
        early, middle, late = early + shift[0], middle + shift[1], late + shift[2]
    return _finish(batch.started_at, early, middle, late)


def finish_of(batch: Batch, found: Judged | None, cuts: Iterable[PowerCut] = ()) -> Finish | None:
    """Return when a running batch is expected to be over, by what was seen of it when there is something.

    found: how dry it is
    cuts: power cuts so far; what was seen tells of them already
    """
    if found is None or not found.seen or batch.started_at is None or batch.ended_at or len(found.ready) < 3:
        return forecast_finish(batch, cuts)
    early, middle, late = found.ready
    if early is None or middle is None:
        return None
    return _finish(batch.started_at, early, middle, late, seen=True)


def _finish(
    started: datetime, early: datetime, middle: datetime, late: datetime | None, *, seen: bool = False
) -> Finish:
    now = timezone.now()
    whole = (middle - started).total_seconds()
    passed = (now - started).total_seconds()
    return Finish(
        early=early,
        middle=middle,
        late=late,
        passed_h=passed / 3600.0,
        share=round(100 * min(passed / whole, 1.0)) if whole > 0 else 100,
        overdue=late is not None and now > late,
        seen=seen,
    )


def course(batch: Batch, loads: list[Load], units: str, cuts: Iterable[PowerCut] = ()) -> list[dict[str, Any]]:
    """Return the expected course with the clock of the house and, between its lines, now.

    loads: from `tray_loads`
    cuts: power cuts so far, in order; what comes after one comes later
    """
    if batch.started_at is None:
        return []
    try:
        result = predict(batch, loads)
    except (InputError, InputErrors):
        return []
    now = batch.ended_at or timezone.now()
    later = timedelta(0)
    if batch.drying_began_at is not None:
        later = batch.drying_began_at - batch.started_at - timedelta(seconds=result.drying_start)
    told = [(cut.row.at, cut.took) for cut in cuts if cut.took is not None]
    rows: list[dict[str, Any]] = [{"at": at, "what": _("power cut"), "past": at <= now} for at, _took in told]
    for row in timeline(result, units, translate=_):
        began = batch.drying_began_at if row.time >= result.drying_start > 0 else None
        at = batch.started_at + timedelta(seconds=row.time) + (later if began else timedelta(0))
        for gone, took in told:
            if at > gone and (began is None or gone >= began):  # what came before is in the written time already
                at += took
        rows.append({"at": at, "what": row.what, "past": at <= now})
    rows.sort(key=lambda row: row["at"])
    place = sum(row["past"] for row in rows)
    rows.insert(place, {"at": now, "what": _("the run ended") if batch.ended_at else _("now"), "now": True})
    return rows

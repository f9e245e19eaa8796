"""When a run is over and where it is now: from what was seen of it, else as it was forecast."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.errors import InputError, InputErrors
from drystow.machine.result import LoadResult
from drystow.reports.timeline import timeline
from drystow.web.batches.adapters import predict
from drystow.web.batches.judged import Judged
from drystow.web.batches.models import Batch, Load
from drystow.web.batches.outage_adapters import PowerCut
from drystow.web.kit.reader import reader


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
    started, total = batch.started_at, batch.prediction.get("total_h")
    if started is None or batch.ended_at or not total or None in (total.get("p10"), total.get("p50"), total.get("p90")):
        return None
    early, middle, late = (started + timedelta(hours=total[name]) for name in ("p10", "p50", "p90"))
    began, forecast = batch.drying_began_at, batch.prediction.get("drying_start_h")
    if began is not None and forecast is not None:
        later = began - started - timedelta(hours=forecast)
        early, middle, late = early + later, middle + later, late + later
    for cut in cuts:
        # a cut before the written start of drying is in that time already
        if cut.shift is not None and (began is None or forecast is None or cut.row.at >= began):
            early, middle, late = early + cut.shift[0], middle + cut.shift[1], late + cut.shift[2]
    return _finish(started, early, middle, late)


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


def course(
    batch: Batch,
    loads: list[Load],
    units: str,
    cuts: Iterable[PowerCut] = (),
    finish: Finish | None = None,
    found: Judged | None = None,
) -> list[dict[str, Any]]:
    """Return the course of a run with the clock of the kitchen and, between its lines, now.

    What is still to come ends when the run is expected to: each line keeps its place between now and `finish`, and a
    tray is dry when what was seen of it says so. Of a run that ended nothing is still to come.

    loads: from `tray_loads`
    cuts: power cuts so far, in order; what comes after one comes later
    finish: from `finish_of`
    found: how dry it is, None while that is not known
    """
    if batch.started_at is None:
        return []
    try:
        result = predict(batch, loads)[0]
    except (InputError, InputErrors):
        return []
    now = batch.ended_at or timezone.now()
    told = [(cut.row.at, cut.took) for cut in cuts if cut.took is not None]
    rows = [_Line(at, _("power outage"), "power") for at, _took in told]
    rows += [
        _Line(_moment(batch, result, row.time, told), row.what, row.kind, row.item)
        for row in timeline(result, units, translate=reader())
    ]
    if batch.ended_at is not None:
        rows = [row for row in rows if row.at <= now]
    elif finish is not None:
        seen, last = found if finish.seen else None, max(row.at for row in rows)
        rows = [_as_expected(row, now, last, finish, seen, loads) for row in rows]
    rows.sort(key=lambda row: row.at)
    shown: list[dict[str, Any]] = [{"at": row.at, "what": row.what, "past": row.at <= now} for row in rows]
    place = sum(row["past"] for row in shown)
    shown.insert(place, {"at": now, "what": _("Run ended.") if batch.ended_at else _("Now"), "now": True})
    return shown


@dataclass(frozen=True)
class _Line:
    """A line of a course, with the food of the load that it is about."""

    at: datetime
    what: str
    kind: str
    item: int | None = None


def _moment(batch: Batch, result: LoadResult, time: float, cuts: Iterable[tuple[datetime, timedelta]]) -> datetime:
    """Return when something of the forecast comes: later by a late start of drying and by the power cuts before it."""
    assert batch.started_at is not None
    began = batch.drying_began_at if time >= result.drying_start > 0 else None
    later = began - batch.started_at - timedelta(seconds=result.drying_start) if began else timedelta(0)
    at = batch.started_at + timedelta(seconds=time) + later
    for gone, took in cuts:
        if at > gone and (began is None or gone >= began):  # what came before is in the written time already
            at += took
    return at


def _as_expected(
    row: _Line, now: datetime, last: datetime, finish: Finish, found: Judged | None, loads: list[Load]
) -> _Line:
    """Return a line of the forecast at the moment at which it is now expected."""
    if row.kind in ("end", "trap"):
        return replace(row, at=finish.middle)
    if row.kind == "dry" and row.item is not None and found is not None:
        tray = next((tray for tray in found.trays if tray.number == loads[row.item].tray), None)
        if tray is not None and tray.verdict == "dry":
            return replace(row, at=min(row.at, found.at))
        if tray is not None and tray.ready[0] is not None:
            return replace(row, at=tray.ready[0])
    if row.at <= now:
        return row
    return replace(row, at=now + (row.at - now) * (max(finish.middle - now, timedelta(0)) / (last - now)))

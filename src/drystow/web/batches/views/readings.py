"""What was measured at a dryer: charts of any span, last values, the way out as CSV."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from drystow.numerals import whole_in
from drystow.web.accounts.rights import right
from drystow.web.batches.models import Batch
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.csv_text import csv_text
from drystow.web.kit.reader import wished_units
from drystow.web.readings.models import Channel
from drystow.web.readings.storage import (
    MOST_LINES,
    Span,
    clock_words,
    csv_rows,
    drawings_of,
    kitchen_zone,
    span_before,
    span_names,
    with_ends,
)

WRITTEN = "%Y-%m-%dT%H:%M"
TITLES = ["at", "quantity", "tray", "value_si", "label", "source"]


@right(reads="viewer", forms="helper")
def show_readings(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the readings of a dryer: of a span of time, or of a batch."""
    dryer = get_object_or_404(Dryer, pk=pk)
    kitchen = records.kitchen()
    zone, units = kitchen_zone(kitchen.time_zone), wished_units(request, kitchen.units)
    channels = list(with_ends(Channel.objects.kept().filter(dryer=dryer)))
    full = [channel for channel in channels if channel.last_ms is not None]
    batch = _batch(request, dryer)
    span, problem = span_of(request, full, batch, zone)
    chosen = _chosen(request, full)
    context: dict[str, Any] = {
        "dryer": dryer,
        "batch": batch,
        "channels": [(channel, channel in chosen, _at(channel.last_ms, zone)) for channel in channels],
        "spans": span_names(),
        "wished": "" if request.GET.get("from") or batch else request.GET.get("span", "day"),
        "span": span,
        "problem": problem,
        "too_many": len(chosen) > MOST_LINES,
        "most_lines": MOST_LINES,
        "query": request.GET.urlencode(),
    }
    if span is not None:
        context |= {
            "start": span.start.astimezone(zone).strftime(WRITTEN),
            "end": span.end.astimezone(zone).strftime(WRITTEN),
            "clock": clock_words(span, zone),
            "drawings": drawings_of(chosen, span, zone, units),
        }
    return render(request, "readings/readings.html", context)


@right(reads="viewer")
def readings_csv(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Send the readings of the span that the page shows, in SI and UTC, as they are kept."""
    dryer = get_object_or_404(Dryer, pk=pk)
    channels = list(with_ends(Channel.objects.kept().filter(dryer=dryer)))
    full = [channel for channel in channels if channel.last_ms is not None]
    span, _problem = span_of(request, full, _batch(request, dryer), kitchen_zone(records.kitchen().time_zone))
    rows = csv_rows(_chosen(request, full), *((span.start_ms, span.end_ms) if span else (0, 0)))
    lines = csv_text(TITLES, rows, bom=request.GET.get("bom") == "1")
    response = StreamingHttpResponse(lines, content_type="text/csv; charset=utf-8")
    name = f"drystow-readings-{dryer.pk}-{timezone.localdate().isoformat()}.csv"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def span_of(request: HttpRequest, channels: list[Any], batch: Batch | None, zone: ZoneInfo) -> tuple[Span | None, bool]:
    """Return the span that a request wishes, and whether it could not be understood.

    channels: with their ends, at least one reading each
    batch: whose run is shown
    zone: of the kitchen
    """
    if not channels:
        return None, False
    first, last = min(one.first_ms for one in channels), max(one.last_ms for one in channels)
    if batch is not None and batch.started_at is not None:
        return Span(_ms(batch.started_at), _ms(batch.ended_at or timezone.now())), False
    usual = span_before(last, first, request.GET.get("span", "day"))
    wished = [request.GET.get(name, "") for name in ("from", "to")]
    if not any(wished):
        return usual, False
    try:
        start, end = (
            _ms(datetime.fromisoformat(text).replace(tzinfo=zone)) if text else other
            for text, other in zip(wished, (first, last), strict=True)
        )
    except (ValueError, OverflowError):
        return usual, True
    return (usual, True) if start >= end else (Span(start, end), False)


def _batch(request: HttpRequest, dryer: Dryer) -> Batch | None:
    number = whole_in(request.GET.get("batch", ""))
    return None if number is None else get_object_or_404(Batch.objects.kept(), pk=number, dryer=dryer)


def _chosen(request: HttpRequest, channels: list[Any]) -> list[Any]:
    wished = set(request.GET.getlist("channel"))
    return [channel for channel in channels if not wished or str(channel.pk) in wished]


def _ms(moment: datetime) -> int:
    return round(moment.timestamp() * 1000)


def _at(at_ms: int | None, zone: ZoneInfo) -> datetime | None:
    return None if at_ms is None else datetime.fromtimestamp(at_ms / 1000, zone)

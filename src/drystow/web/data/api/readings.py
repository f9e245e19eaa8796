"""Readings of a dryer for programs: send some, ask for a span."""

from datetime import datetime
from typing import Annotated, Any, Literal

from django.db import transaction
from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from ninja import Field, Query, Router, Schema, Status
from pydantic import AwareDatetime

from drystow.errors import InputError
from drystow.messages import msg
from drystow.web.data.api.access import READ, WRITE, who
from drystow.web.dryers.models import Dryer
from drystow.web.readings.models import Channel, Reading
from drystow.web.readings.quantities import QUANTITIES, UNITS, impossible_words, possible, to_si, unit_named
from drystow.web.readings.storage import add_readings, channel_for, course, thinned, with_ends
from drystow.web.readings.timestamps import check_moment

router = Router(tags=["readings"])
MOST_SENT = 5000  # in one request
MOST_ASKED = 20_000  # of one channel in one answer
Name = Literal["shelf", "product", "pressure", "trap", "power", "room"]


class NewReading(Schema):
    """A value of a sensor."""

    quantity: Name
    at: AwareDatetime
    value: Annotated[float, Field(allow_inf_nan=False)]
    unit: Annotated[str, Field(max_length=12, description="Left out: °C, Pa, W.")] = ""
    tray: Annotated[int, Field(ge=0, le=40, description="Of a product temperature.")] = 0


class NewReadings(Schema):
    """Some values of a dryer."""

    source: Annotated[str, Field(min_length=1, max_length=200, description="Name of the logger or program.")]
    readings: Annotated[list[NewReading], Field(min_length=1, max_length=MOST_SENT)]


@router.get("/dryers", auth=READ, summary="Dryers")
def list_dryers(request: HttpRequest) -> dict[str, Any]:
    """Return every dryer."""
    rows = Dryer.objects.kept().order_by("pk")
    return {"results": [{"id": row.pk, "name": row.name, "profile": row.profile} for row in rows]}


@router.get("/dryers/{int:pk}/channels", auth=READ, summary="Channels of a dryer")
def list_channels(request: HttpRequest, pk: int) -> dict[str, Any]:
    """Return what is measured at a dryer and from when to when."""
    rows = with_ends(Channel.objects.kept().filter(dryer=get_object_or_404(Dryer.objects.kept(), pk=pk)))
    return {"results": [_channel(row) | {"first": _at(row.first_ms), "last": _at(row.last_ms)} for row in rows]}


@router.get("/channels/{int:pk}/readings", auth=READ, summary="Readings of a span")
def list_readings(
    request: HttpRequest,
    pk: int,
    start: AwareDatetime,
    end: AwareDatetime,
    most: Annotated[int, Query(ge=4, le=MOST_ASKED, description="More are thinned to lowest and highest.")] = 1000,
) -> dict[str, Any]:
    """Return the readings of a channel between two moments in SI; when they are too many, lowest and highest of each
    stretch.
    """
    channel = get_object_or_404(Channel.objects.kept(), pk=pk)
    moments, values = course(channel, _ms(start), _ms(end))
    shown, numbers = thinned(moments, values, most)
    readings = [{"at": _at(int(at)), "value": float(value)} for at, value in zip(shown, numbers, strict=True)]
    return {
        "channel": _channel(channel),
        "count": len(moments),
        "thinned": len(shown) < len(moments),
        "readings": readings,
    }


@router.post("/dryers/{int:pk}/readings", auth=WRITE, summary="Add readings", response={201: dict[str, Any]})
def send_readings(request: HttpRequest, pk: int, sent: NewReadings) -> Status[dict[str, Any]]:
    """Add readings of a dryer, all or none; those that are there already change nothing."""
    dryer = get_object_or_404(Dryer.objects.kept(), pk=pk)
    groups: dict[tuple[str, int], list[tuple[int, float, str]]] = {}
    for number, reading in enumerate(sent.readings):
        tray = (reading.tray or 1) if reading.quantity == "product" else 0
        groups.setdefault((reading.quantity, tray), []).append(_checked(reading, f"readings.{number}"))
    added = 0
    with transaction.atomic():
        for (quantity, tray), rows in groups.items():
            channel = channel_for(dryer, quantity, tray, sent.source, rows[0][2], label=sent.source, who=who(request))
            added += add_readings(channel, [row[0] for row in rows], [row[1] for row in rows])
    return Status(201, {"dryer": dryer.pk, "added": added, "known": len(sent.readings) - added})


def _checked(reading: NewReading, field: str) -> tuple[int, float, str]:
    quantity = QUANTITIES[reading.quantity]
    unit = unit_named(reading.unit, f"{field}.unit") if reading.unit else quantity.unit
    if UNITS[unit][0] != quantity.kind:
        raise InputError(
            f"{field}.unit", msg("'{unit}' is not a unit of {quantity}", unit=unit, quantity=quantity.words)
        )
    value = to_si(reading.value, unit)
    if not possible(value, quantity):
        raise InputError(f"{field}.value", impossible_words(value, quantity))
    check_moment(reading.at)
    return _ms(reading.at), value, unit


def _channel(row: Channel) -> dict[str, Any]:
    return {"id": row.pk, "quantity": row.quantity, "tray": row.tray or None, "label": row.label, "source": row.source}


def _ms(moment: datetime) -> int:
    return round(moment.timestamp() * 1000)


def _at(at_ms: int | None) -> str | None:
    return None if at_ms is None else Reading(at_ms=at_ms).at.isoformat()

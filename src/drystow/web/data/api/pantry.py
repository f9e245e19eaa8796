"""The pantry for programs: packages, and temperatures of places."""

from typing import Annotated, Any, Literal

from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from ninja import Field, Query, Router, Schema, Status
from pydantic import AwareDatetime

from drystow.errors import InputError
from drystow.web.data.api.access import READ, WRITE, PageNumber, page_of, who
from drystow.web.pantry import actions, stock
from drystow.web.pantry.dates import keeps_of
from drystow.web.pantry.models import Package, Place
from drystow.web.pantry.readings import add_readings as write_readings

router = Router(tags=["pantry"])
MOST_READINGS = 1000  # in one request
Version = Annotated[int | None, Field(description="As it was read; left out, the newest counts.")]


class Use(Schema):
    """Food that is taken out of a package."""

    mass_kg: Annotated[float, Field(gt=0, le=500, allow_inf_nan=False)]
    kind: Literal["used", "given", "discarded"] = "used"
    to: Annotated[str, Field(max_length=120)] = ""
    note: Annotated[str, Field(max_length=200)] = ""
    version: Version = None


class Move(Schema):
    """Another place for a package."""

    place: int
    version: Version = None


class PlaceTemperature(Schema):
    """A temperature of a place."""

    at: AwareDatetime
    temperature_c: Annotated[float, Field(ge=-60, le=60, allow_inf_nan=False)]


class Readings(Schema):
    """Some temperatures of a place."""

    readings: Annotated[list[PlaceTemperature], Field(min_length=1, max_length=MOST_READINGS)]


@router.get("/packages", auth=READ, summary="Packages, the earliest best-before date first")
def list_packages(
    request: HttpRequest, page: PageNumber = 1, q: Annotated[str, Query(max_length=80)] = "", state: str = ""
) -> dict[str, Any]:
    """Return a page of packages, those in which every word is found in name, lot, code or place."""
    rows = stock.searched(Package.objects.kept().select_related("place"), q)
    if state:
        states = [name for name, _ in Package.STATES]
        if state not in states:
            raise InputError("state", f"'{state[:20]}' is not a state; the states are {', '.join(states)}")
        rows = rows.filter(state=state)
    return page_of(rows, page, _package)


@router.get("/packages/{code}", auth=READ, summary="One package by the code on its label")
def one_package(request: HttpRequest, code: str) -> dict[str, Any]:
    """Return a package and what was done with it."""
    package = _found(code)
    moves = [
        {"kind": row.kind, "at": row.at, "mass_kg": row.mass_kg, "place": row.place_id, "to": row.to, "note": row.note}
        for row in package.movements.all()
    ]
    return _package(package) | {"movements": moves}


@router.post("/packages/{code}/use", auth=WRITE, summary="Use, give away or discard")
def use_package(request: HttpRequest, code: str, use: Use) -> dict[str, Any]:
    """Take food out of a package."""
    package = _found(code)
    taken = actions.take(
        package, use.kind, use.mass_kg, expected=use.version, who=who(request), to=use.to, note=use.note
    )
    return _package(taken)


@router.post("/packages/{code}/move", auth=WRITE, summary="Move to another place")
def move_package(request: HttpRequest, code: str, move: Move) -> dict[str, Any]:
    """Put a package in another place."""
    package, place = _found(code), _place(move.place)
    return _package(actions.move(package, place, expected=move.version, who=who(request)))


@router.get("/places", auth=READ, summary="Places")
def list_places(request: HttpRequest) -> dict[str, Any]:
    """Return every place."""
    rows = Place.objects.kept()
    return {"results": [{"id": row.pk, "name": row.name, "temperature_c": row.temperature_c} for row in rows]}


@router.post("/places/{int:pk}/readings", auth=WRITE, summary="Add temperatures", response={201: dict[str, Any]})
def add_readings(request: HttpRequest, pk: int, readings: Readings) -> Status[dict[str, Any]]:
    """Add logged temperatures of a place, all or none."""
    place = get_object_or_404(Place.objects.kept(), pk=pk)
    added = write_readings(place, [(reading.at, reading.temperature_c) for reading in readings.readings])
    return Status(201, {"place": place.pk, "added": added})


def _found(code: str) -> Package:
    package: Package = get_object_or_404(Package.objects.kept().select_related("place"), code=code.strip().upper())
    return package


def _place(pk: int) -> Place:
    place = Place.objects.kept().filter(pk=pk).first()
    if place is None:
        raise InputError("place", f"there is no place number {pk}; see /api/v1/places")
    return place


def _package(row: Package) -> dict[str, Any]:
    keeps = keeps_of(row)
    return {
        "code": row.code,
        "version": row.version,
        "name": row.name,
        "food": row.food,
        "lot": row.lot,
        "batch": row.batch_id,
        "place": {"id": row.place_id, "name": row.place.name},
        "container": row.container,
        "state": row.state,
        "net_mass_kg": row.net_mass_kg,
        "left_mass_kg": row.left_mass_kg,
        "packed_on": row.packed_on,
        "best_before": keeps.best_before if keeps else None,
        "keeps": keeps
        and {
            "text": keeps.text,
            "days": keeps.days,
            "since": keeps.since,
            "verdict": keeps.verdict,
            "limit": keeps.limit,
            "evidence": keeps.evidence,
        },
        "water_to_add_kg": row.water_to_add_kg,
        "raw_animal": row.raw_animal,
        "allergens": row.allergens,
    }

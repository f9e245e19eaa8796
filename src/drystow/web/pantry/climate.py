"""What temperatures a package has met and will meet: months of logged readings, else the usual course of the place."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import cos, pi

from drystow.packing.seasons import DAY, YEAR, StoreSeason
from drystow.units import kelvin

AHEAD_YEARS = 26
"""How far the usual course is carried on: beyond the longest life that is claimed."""

Readings = Mapping[tuple[int, int, int], float]
"""(place, year, month) -> mean of the logged temperatures [°C]."""


@dataclass(frozen=True)
class Climate:
    """The usual course of a place over the year.

    place: its number
    warm_c: usual temperature, or of the warmest month where the place follows the seasons [°C]
    cold_c: of the coldest month, None for the same all year [°C]
    coldest_month: 1 to 12
    humidity: relative humidity of its air [-]
    """

    place: int
    warm_c: float
    cold_c: float | None
    coldest_month: int
    humidity: float

    def usual_c(self, month: int) -> float:
        """Return the usual temperature of a month [°C], a cosine between the coldest and the warmest month."""
        if self.cold_c is None:
            return self.warm_c
        middle, swing = (self.warm_c + self.cold_c) / 2, (self.warm_c - self.cold_c) / 2
        return middle - swing * cos(2 * pi * (month - self.coldest_month) / 12)


def seasons_of(
    stays: Sequence[tuple[date, Climate]], readings: Readings, packed_on: date, today: date
) -> tuple[StoreSeason, ...]:
    """Return the seasons of a package from the day of packing: as logged until today, as usual afterwards.

    stays: (since, place), oldest first, at least one; the first counts from the day of packing
    readings: monthly means of the places
    """
    past = list(_past(stays, readings, packed_on, today))
    last = stays[-1][1]
    if last.cold_c is None:
        return (*past, _season(AHEAD_YEARS * YEAR, last.warm_c, last))
    months = [(today.month - 1 + step) % 12 + 1 for step in range(12)]
    return (*past, *[_season(YEAR / 12, last.usual_c(month), last) for month in months] * AHEAD_YEARS)


def _past(
    stays: Sequence[tuple[date, Climate]], readings: Readings, packed_on: date, today: date
) -> Iterator[StoreSeason]:
    day = packed_on
    while day < today:
        place = next((place for since, place in reversed(stays) if since <= day), stays[0][1])
        ends = [_next_month(day), today, *(since for since, _ in stays if since > day)]
        end = min(ends)
        logged = readings.get((place.place, day.year, day.month))
        yield _season((end - day).days * DAY, place.usual_c(day.month) if logged is None else logged, place)
        day = end


def _next_month(day: date) -> date:
    return (day.replace(day=28) + timedelta(days=4)).replace(day=1)


def _season(duration: float, celsius: float, place: Climate) -> StoreSeason:
    return StoreSeason(duration, kelvin(celsius), place.humidity)

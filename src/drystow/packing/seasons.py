"""The store: temperature and humidity, the same all year or by season."""

from collections.abc import Iterator
from dataclasses import dataclass

from drystow.errors import CELSIUS_HINT, InputError, check_range
from drystow.messages import msg
from drystow.shown import between, quantity

DAY = 86400.0
"""One day [s]. Source: definition."""

YEAR = 365.25 * DAY
"""One year [s]. Source: definition."""


@dataclass(frozen=True)
class StoreSeason:
    """A part of the year in the store.

    duration: how long it lasts [s]
    temperature: of the store [K]
    humidity: relative humidity of its air [-]
    """

    duration: float
    temperature: float
    humidity: float

    def __post_init__(self) -> None:
        check_range("duration", self.duration, 0, 50 * YEAR, "s", above=True)
        check_range("temperature", self.temperature, 233, 333, "temperature", hint=CELSIUS_HINT)
        check_range("humidity", self.humidity, 0, 1, "", hint=msg("write 50% as 0.5"))


def constant(temperature: float, humidity: float) -> tuple[StoreSeason, ...]:
    """Return a store that is the same all year.

    temperature: of the store [K]
    humidity: relative humidity of its air [-]
    """
    return (StoreSeason(YEAR, temperature, humidity),)


def course(seasons: tuple[StoreSeason, ...], end: float) -> Iterator[tuple[float, StoreSeason]]:
    """Yield (start, season) over and over until `end`; the last piece is not cut short.

    seasons: of one turn, in order from the day of packing
    end: time at which to stop [s]
    """
    if not seasons:
        raise InputError("storage", msg("no season is given; write a temperature and a humidity"))
    start = 0.0
    while start < end:
        for season in seasons:
            yield start, season
            start += season.duration
            if start >= end:
                return


def mean_temperature(seasons: tuple[StoreSeason, ...]) -> float:
    """Mean temperature of the store over one turn of the seasons [K].

    seasons: of one turn
    Source: definition.
    """
    return sum(s.temperature * s.duration for s in seasons) / sum(s.duration for s in seasons)


def describe(seasons: tuple[StoreSeason, ...]) -> str:
    """Return the store in words.

    seasons: of one turn
    """
    warmest = max(season.temperature for season in seasons)
    coldest = min(season.temperature for season in seasons)
    if warmest - coldest < 0.5:
        return quantity(coldest, "temperature")
    return msg("{span} over the year", span=between(coldest, warmest, "temperature"))

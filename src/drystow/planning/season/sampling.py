"""Seasons drawn by lot: how much ripens when, in a year that may be early or late, good or bad."""

import math

import numpy as np

from drystow.planning.schedule.cold_storage import DAY
from drystow.planning.season.garden import Garden, GardenCrop, Picking

SAME_WEATHER = 0.8  # of the variance of early and late that all crops share: a warm year is early for all
SAME_YIELD = 0.3  # of the variance of the mass that all crops share; both drystow-default
LEAST = 0.05  # a smaller picking waits for the next [kg]


def draw_season(garden: Garden, number: int) -> tuple[Picking, ...]:
    """Return what is picked in one season, in the order of days.

    garden: what ripens
    number: of the season, from 0; the same seed and number give the same season
    """
    dice = np.random.default_rng([garden.seed, number, 0])  # numpy takes a missing number for a zero
    warm, good = dice.standard_normal(2)
    found: list[Picking] = []
    for place, crop in enumerate(garden.crops):
        own = np.random.default_rng([garden.seed, number, place + 1])
        when, much = own.standard_normal(2)
        shift = garden.shift / DAY * _shared(warm, when, SAME_WEATHER)
        mass = crop.mass * _growth(crop.uncertain, _shared(good, much, SAME_YIELD))
        found += _pickings(garden, place, crop, shift, mass, own)
    return tuple(sorted(found, key=lambda one: (one.day, one.crop)))


def picked_share(low: float, high: float, first: float, peak: float, last: float) -> float:
    """Return which part of a crop ripens between two moments: a triangle that is highest at the peak [-].

    low: earlier moment [day]
    high: later moment [day]
    first: begin of ripening [day]
    peak: when most ripens [day]
    last: end of ripening [day]

    >>> picked_share(0.0, 2.0, 0.0, 2.0, 8.0)
    0.25
    """
    return _ripe(high, first, peak, last) - _ripe(low, first, peak, last)


def _ripe(at: float, first: float, peak: float, last: float) -> float:
    if at <= first:
        return 0.0
    if at >= last:
        return 1.0
    if at <= peak:
        return (at - first) ** 2 / ((last - first) * (peak - first))
    return 1.0 - (last - at) ** 2 / ((last - first) * (last - peak))


def _shared(common: float, own: float, part: float) -> float:
    """Return a standard normal number of which all crops share a part of the variance."""
    return math.sqrt(part) * common + math.sqrt(1.0 - part) * own


def _growth(uncertain: float, normal: float) -> float:
    """Return a lognormal factor with mean 1."""
    variance = math.log1p(uncertain**2)
    return math.exp(math.sqrt(variance) * normal - variance / 2)


def _pickings(
    garden: Garden, place: int, crop: GardenCrop, shift: float, mass: float, dice: np.random.Generator
) -> list[Picking]:
    """Return the pickings of a crop: the time from the first day to the last in equal parts, one in each."""
    begin = garden.begin.date()
    first, last = (crop.first - begin).days, (crop.last - begin).days + 1
    peak = (crop.peak - begin).days + 0.5
    count = max(round((last - first) / 7 * crop.per_week), 1)
    step = (last - first) / count
    phase = float(dice.random())
    latest = 7 * garden.weeks - 1
    masses: dict[int, float] = {}
    waiting, day = 0.0, 0
    for number in range(count):
        day = math.floor(first + shift + (number + phase) * step)
        day = min(max(day, 0), latest)  # what ripens outside the season counts on its first or last day
        waiting += mass * picked_share(first + number * step, first + (number + 1) * step, first, peak, last)
        if waiting >= LEAST:
            masses[day] = masses.get(day, 0.0) + waiting
            waiting = 0.0
    if waiting:
        last_day = max(masses, default=day)
        masses[last_day] = masses.get(last_day, 0.0) + waiting
    return [Picking(place, day, mass) for day, mass in masses.items()]

"""A garden over a season: what ripens when, and which dryers might be there for it."""

from dataclasses import dataclass
from datetime import date, datetime

from drystow.planning.schedule.arrivals import Lots


@dataclass(frozen=True)
class GardenCrop:
    """Food that ripens over some weeks.

    name: of the crop
    first: first day of picking, in a usual year
    peak: day on which most is picked
    last: last day of picking
    mass: fresh mass of the whole season, on average [kg]
    uncertain: standard deviation of that mass, as a part of it [-]
    per_week: pickings
    """

    name: str
    first: date
    peak: date
    last: date
    mass: float
    uncertain: float
    per_week: float


@dataclass(frozen=True)
class DryerChoice:
    """Dryers that might do the work.

    name: of the choice
    price: of what has to be bought for it [currency]
    years: that it lasts
    frame: kitchen with its dryers, one lot for each crop, in the order of the crops
    """

    name: str
    price: float
    years: float
    frame: Lots


@dataclass(frozen=True)
class Garden:
    """Everything that a season is tried out with.

    title: of the garden
    begin: first moment of the season
    weeks: in which food is picked
    seed: of the random numbers
    rounds: seasons that are tried
    shift: how much earlier or later a year is, standard deviation [s]
    crops: what ripens
    choices: of dryers; the first is what there is now
    """

    title: str
    begin: datetime
    weeks: int
    seed: int
    rounds: int
    shift: float
    crops: tuple[GardenCrop, ...]
    choices: tuple[DryerChoice, ...]


@dataclass(frozen=True)
class Picking:
    """Food of one crop that is picked on one day.

    crop: number of the crop
    day: of the season, from 0
    mass: fresh [kg]
    """

    crop: int
    day: int
    mass: float


@dataclass(frozen=True)
class Range:
    """A number over the seasons.

    low: below it in one of ten seasons
    middle: below it in half of them
    high: below it in nine of ten
    mean: over all
    """

    low: float
    middle: float
    high: float
    mean: float


@dataclass(frozen=True)
class SeasonOutcome:
    """One season with one choice of dryers.

    came: food of each crop [kg]
    lost: of each crop, not dried [kg]
    value_came: of all food [currency]
    value_lost: of what was not dried [currency]
    weeks_came: food by the week in which it is picked [kg]
    weeks_lost: that was picked in the week and never dried [kg]
    weeks_dried: food by the week in which it is loaded [kg]
    batches: number
    time: that the dryers run, from loading to unloading, together [s]
    energy: electricity of all batches [J]
    cost: of that electricity [currency]
    freezer: largest part of its space that is taken, 0 without a freezer [-]
    freezer_days: days on which it is full
    """

    came: tuple[float, ...]
    lost: tuple[float, ...]
    value_came: float
    value_lost: float
    weeks_came: tuple[float, ...]
    weeks_lost: tuple[float, ...]
    weeks_dried: tuple[float, ...]
    batches: int
    time: float
    energy: float
    cost: float
    freezer: float
    freezer_days: int

"""A garden over a season: what ripens when, and which dryers might be there for it; as it is asked for too."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from drystow.errors import InputError, InputErrors
from drystow.fields import Problems
from drystow.messages import msg
from drystow.planning.schedule.arrivals import ArrivalSpec, DryerSpec, Lots, PlanSpec, lots_of
from drystow.ranges import DAY, RANGES, check

CLEARING = 4  # weeks after the season in which the dryers still empty the freezer


@dataclass(frozen=True)
class GardenCrop:
    """Food that ripens over some weeks.

    arrival: the food, its cut, its worth and how long it may wait; amount and moment are those of each picking
    first: first day of picking, in a usual year
    peak: day on which most is picked
    last: last day of picking
    mass: fresh mass of the whole season, on average [kg]
    uncertain: standard deviation of that mass, as a part of it [-]
    per_week: pickings
    """

    arrival: ArrivalSpec
    first: date
    peak: date
    last: date
    mass: float
    uncertain: float = 0.25
    per_week: float = 2.0

    @property
    def name(self) -> str:
        """What the crop is called."""
        return self.arrival.name


@dataclass(frozen=True)
class ChoiceSpec:
    """Dryers that might do the work, as they are asked for.

    name: of the choice
    dryers: machines and programs
    price: of what has to be bought for it [currency]
    years: that it lasts
    """

    name: str
    dryers: tuple[DryerSpec, ...]
    price: float = 0.0
    years: float = 10.0


@dataclass(frozen=True)
class GardenSpec:
    """What a season is tried out with, as it is asked for.

    kitchen: what all choices share, without dryers and food: begin, hours, tariff, freezer, rules and grid of times
    crops: what ripens
    choices: of dryers; the first is what there is now
    title: of the garden
    weeks: in which food is picked
    seed: of the random numbers
    rounds: seasons that are tried
    early_or_late: how much earlier or later a year is, standard deviation [s]
    """

    kitchen: PlanSpec
    crops: tuple[GardenCrop, ...]
    choices: tuple[ChoiceSpec, ...]
    title: str = msg("Untitled garden")
    weeks: int = 22
    seed: int = 1
    rounds: int = 20
    early_or_late: float = 6 * DAY


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


def garden_of(spec: GardenSpec, problems: Problems | None = None) -> Garden:
    """Return everything that a season is tried out with; raises `InputErrors` with every problem found.

    spec: what is asked for
    problems: that were found in reading it
    """
    problems = Problems() if problems is None else problems
    check(spec, RANGES["garden"], "", problems)
    for place, crop in enumerate(spec.crops, start=1):
        check(crop, RANGES["crop"], f"crop[{place}]", problems)
        days = {"first": crop.first, "peak": crop.peak, "last": crop.last}
        check_days(days, f"crop[{place}]", spec.kitchen.begin.date(), spec.weeks, problems)
    choices = []
    for place, choice in enumerate(spec.choices, start=1):
        prefix = f"choice[{place}]"
        check(choice, RANGES["choice"], prefix, problems)
        arrivals = tuple(crop.arrival for crop in spec.crops)
        frame, inner = replace(spec.kitchen, dryers=choice.dryers, arrivals=arrivals), Problems()
        inner.notes = problems.notes
        inner.written = {key.removeprefix(f"{prefix}."): text for key, text in problems.written.items()}
        try:
            lots = lots_of(frame, inner, "crop")
        except InputErrors:
            problems += [one.under(prefix) if one.field.startswith("dryer") else one for one in inner]
            continue
        lots = replace(lots, days=7 * (spec.weeks + CLEARING))
        choices.append(DryerChoice(choice.name, choice.price, choice.years, lots))
    if problems:
        raise InputErrors({str(problem): problem for problem in problems}.values())
    return Garden(
        title=spec.title,
        begin=spec.kitchen.begin,
        weeks=spec.weeks,
        seed=spec.seed,
        rounds=spec.rounds,
        shift=spec.early_or_late,
        crops=spec.crops,
        choices=tuple(choices),
    )


def check_days(
    days: Mapping[str, date | None], prefix: str, begin: date, weeks: int, problems: list[InputError]
) -> None:
    """Add a problem for each day of a crop that is not in the season, and one when they are out of order.

    days: the first, the peak and the last, None for one that is not known
    prefix: name of the crop in problems
    begin: first day of the season
    weeks: that it lasts
    problems: to which every problem is added
    """
    if any(one.field == "begin" for one in problems):
        return
    before, end = len(problems), begin + timedelta(weeks=weeks, days=-1)
    for key, day in days.items():
        if day is not None and not begin <= day <= end:
            words = msg("{day} is not in the season; write a day from {begin} to {end}", day=day, begin=begin, end=end)
            problems.append(InputError(f"{prefix}.{key}", words))
    known = [day for day in days.values() if day is not None]
    if len(problems) == before and known != sorted(known):
        words = msg("{peak} is not between the first day and the last", peak=days["peak"])
        problems.append(InputError(f"{prefix}.peak", words))


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
class OverSeasons:
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

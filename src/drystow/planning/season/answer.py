"""Is one dryer enough, would a larger one pay: many seasons with each choice of dryers, and what they come to."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from drystow.messages import msg, msg_many
from drystow.planning.schedule.batch_time import Reckoning
from drystow.planning.season.days import Equipment, draw_season, equipment_of, try_one
from drystow.planning.season.garden import DryerChoice, Garden, OverSeasons, SeasonOutcome
from drystow.shown import FREEZER, REFRIGERATOR

LITTLE = 0.1  # a smaller amount more in a year counts as nothing [kg]


@dataclass(frozen=True)
class Pay:
    """A choice against what there is now, over a year.

    more: food that it dries beyond what the first choice dries [kg]
    worth: value of that food [currency]
    cost: beyond what the first choice costs: its price spread evenly over its years, and its electricity [currency]
    price: of a kilogram more, all seasons together; a kilogram has to be worth this much for it to pay; None when
        nothing more is dried [currency/kg]
    prices: the same season by season; infinite where nothing more is dried [currency/kg]
    value: of a kilogram more, on average; None when nothing more is dried [currency/kg]
    years: until its price is paid back, None when it never is
    pays: it is paid back before it is worn out
    """

    more: OverSeasons
    worth: float
    cost: OverSeasons
    price: float | None
    prices: OverSeasons | None
    value: float | None
    years: float | None
    pays: bool


def spread(values: Sequence[float]) -> OverSeasons:
    """Return a number over the seasons."""
    low, middle, high = np.percentile(values, (10.0, 50.0, 90.0), method="inverted_cdf")
    return OverSeasons(float(low), float(middle), float(high), float(np.mean(values)))


def yearly(price: float, years: float) -> float:
    """Return what a dryer costs in a year when its price is spread evenly over its life, without interest [currency].

    price: to buy it [currency]
    years: that it lasts
    Source: straight-line depreciation, textbook (memory).

    >>> yearly(2400.0, 10.0)
    240.0
    """
    return price / years


def payback(price: float, gain: float) -> float | None:
    """Return after how many years a price is paid back, None when it never is.

    price: paid once [currency]
    gain: of every year, before the price [currency]
    Source: simple payback time, textbook (memory).

    >>> payback(2400.0, 600.0)
    4.0
    """
    if price <= 0.0:
        return 0.0 if gain >= 0.0 else None
    return price / gain if gain > 0.0 else None


def dried(outcome: SeasonOutcome) -> float:
    """Return what is dried in a season [kg]."""
    return sum(outcome.came) - sum(outcome.lost)


def year_cost(choice: DryerChoice, outcome: SeasonOutcome) -> float:
    """Return what a choice costs in one year: its price spread over its years, and electricity [currency]."""
    return yearly(choice.price, choice.years) + outcome.cost


def does_it_pay(
    first: DryerChoice, now: Sequence[SeasonOutcome], choice: DryerChoice, then: Sequence[SeasonOutcome]
) -> Pay:
    """Return what a choice costs and brings against what there is now.

    first: what there is now
    now: its seasons
    choice: to be bought
    then: the same seasons with it
    """
    more = np.array([dried(b) - dried(a) for a, b in zip(now, then, strict=True)])
    worth = np.array([a.value_lost - b.value_lost for a, b in zip(now, then, strict=True)])
    cost = np.array([year_cost(choice, b) - year_cost(first, a) for a, b in zip(now, then, strict=True)])
    power = np.array([b.cost - a.cost for a, b in zip(now, then, strict=True)])
    years = payback(choice.price - first.price, float(np.mean(worth - power)))
    mean = float(np.mean(more))
    some = mean >= LITTLE
    prices = [c / kg if kg >= LITTLE else np.inf for c, kg in zip(cost, more, strict=True)]
    return Pay(
        more=spread(more.tolist()),
        worth=float(np.mean(worth)),
        cost=spread(cost.tolist()),
        price=float(np.mean(cost)) / mean if some else None,
        prices=spread(prices) if some else None,
        value=float(np.mean(worth)) / mean if some else None,
        years=years,
        pays=years is not None and years <= choice.years and float(np.mean(worth - cost)) >= 0.0,
    )


ENOUGH = 0.02  # part of the food's value that may be lost while the dryers are still enough [-]
TIGHT = 0.1  # part of the seasons from which a week is told as one in which food is lost [-]
SOME = 0.05  # less lost in a week does not count [kg]
KITCHENS_SHARE = 0.1  # of the whole work

Told = Callable[[float], None]
"""Is told how far the work is, 0 to 1."""


@dataclass(frozen=True)
class Week:
    """One week over the seasons.

    begin: its first day
    came: food that is picked in it [kg]
    dried: food that is loaded in it [kg]
    lost: food picked in it that is never dried [kg]
    tight: part of the seasons in which some is lost [-]
    """

    begin: date
    came: OverSeasons
    dried: OverSeasons
    lost: OverSeasons
    tight: float


@dataclass(frozen=True)
class LostCrop:
    """A crop with one choice of dryers.

    name: of the crop
    came: in a season [kg]
    lost: of it [kg]
    never: dryers with whose program it never gets dry
    """

    name: str
    came: OverSeasons
    lost: OverSeasons
    never: tuple[str, ...]


@dataclass(frozen=True)
class ChoiceAnswer:
    """What one choice of dryers comes to, as ranges over the seasons.

    name: of the choice
    dryers: their names
    price: of what has to be bought [currency]
    years: that it lasts
    dried: food [kg]
    lost: food [kg]
    value: of the food that is lost [currency]
    share: of the food's value that is lost [-]
    batches: number
    time: that the dryers run, together [s]
    energy: electricity [J]
    cost: of the electricity [currency]
    freezer: largest part of its space that is taken [-]
    freezer_days: days on which it is full
    weeks_lost: weeks in which food is lost
    enough: seasons in which it is enough
    per_kg: price and electricity of a kilogram dried, all seasons together, None when nothing is dried [currency/kg]
    weeks: one by one
    crops: one by one
    pay: against the first choice, None for the first
    """

    name: str
    dryers: tuple[str, ...]
    price: float
    years: float
    dried: OverSeasons
    lost: OverSeasons
    value: OverSeasons
    share: OverSeasons
    batches: OverSeasons
    time: OverSeasons
    energy: OverSeasons
    cost: OverSeasons
    freezer: OverSeasons
    freezer_days: OverSeasons
    weeks_lost: OverSeasons
    enough: int
    per_kg: float | None
    weeks: tuple[Week, ...]
    crops: tuple[LostCrop, ...]
    pay: Pay | None

    @property
    def tight_weeks(self) -> tuple[Week, ...]:
        """The weeks in which food is lost in some of the seasons, worst first."""
        tight = [week for week in self.weeks if week.tight >= TIGHT]
        return tuple(sorted(tight, key=lambda week: (-week.lost.mean, week.begin)))


@dataclass(frozen=True)
class SeasonAnswer:
    """A garden season tried out.

    title: of the garden
    begin: first day
    seasons: that were tried
    came: food of a season [kg]
    value: of it [currency]
    priced: a tariff is set; without one electricity is not counted
    choices: what each comes to
    notes: sentences
    cautions: sentences on safe handling
    sources: keys in sources.toml
    """

    title: str
    begin: date
    seasons: int
    came: OverSeasons
    value: OverSeasons
    priced: bool
    choices: tuple[ChoiceAnswer, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[str, ...]


def try_seasons(garden: Garden, told: Told = lambda share: None, how: Reckoning | None = None) -> SeasonAnswer:
    """Return what each choice of dryers comes to in the same seasons.

    garden: what ripens, and the choices
    told: is told how far the work is
    how: members and seed of the drying times
    """
    how = how or Reckoning(seed=garden.seed)
    seasons = [draw_season(garden, number) for number in range(garden.rounds)]
    ready = []
    for place, choice in enumerate(garden.choices, start=1):
        ready.append(equipment_of(choice.frame, how))
        told(KITCHENS_SHARE * place / len(garden.choices))
    tried: list[list[SeasonOutcome]] = [[] for _choice in ready]
    for number, pickings in enumerate(seasons):
        for place, (equipment, outcomes) in enumerate(zip(ready, tried, strict=True), start=1):
            outcomes.append(try_one(garden, equipment, pickings, how))
            done = (number + place / len(ready)) / len(seasons)
            told(KITCHENS_SHARE + (1.0 - KITCHENS_SHARE) * done)
    now = tried[0]
    return SeasonAnswer(
        title=garden.title,
        begin=garden.begin.date(),
        seasons=garden.rounds,
        came=spread([sum(one.came) for one in now]),
        value=spread([one.value_came for one in now]),
        priced=ready[0].lots.priced,
        choices=tuple(
            _choice(garden, choice, equipment, outcomes, now if place else None)
            for place, (choice, equipment, outcomes) in enumerate(zip(garden.choices, ready, tried, strict=True))
        ),
        notes=_notes(garden, ready),
        cautions=(
            msg(
                "Keep waiting food at {cold} or colder and frozen food at {frozen} or colder. "
                "Refrigerator times are the short end of public food-safety guidance. When in doubt, "
                "throw it out, and follow your local rules.",
                cold=REFRIGERATOR,
                frozen=FREEZER,
            ),
        ),
        sources=tuple(dict.fromkeys((*(lot.window.source for lot in ready[0].lots.lots), "drystow-default"))),
    )


def lost_share(outcome: SeasonOutcome) -> float:
    """Return which part of the value of a season's food is lost; of its mass when it has no value [-]."""
    if outcome.value_came > 0.0:
        return outcome.value_lost / outcome.value_came
    return sum(outcome.lost) / max(sum(outcome.came), 1e-9)


def _choice(
    garden: Garden,
    choice: DryerChoice,
    equipment: Equipment,
    outcomes: Sequence[SeasonOutcome],
    now: Sequence[SeasonOutcome] | None,
) -> ChoiceAnswer:
    total = sum(dried(one) for one in outcomes)
    return ChoiceAnswer(
        name=choice.name,
        dryers=tuple(dryer.name for dryer in choice.frame.dryers),
        price=choice.price,
        years=choice.years,
        dried=spread([dried(one) for one in outcomes]),
        lost=spread([sum(one.lost) for one in outcomes]),
        value=spread([one.value_lost for one in outcomes]),
        share=spread([lost_share(one) for one in outcomes]),
        batches=spread([one.batches for one in outcomes]),
        time=spread([one.time for one in outcomes]),
        energy=spread([one.energy for one in outcomes]),
        cost=spread([one.cost for one in outcomes]),
        freezer=spread([one.freezer for one in outcomes]),
        freezer_days=spread([one.freezer_days for one in outcomes]),
        weeks_lost=spread([sum(lost > SOME for lost in one.weeks_lost) for one in outcomes]),
        enough=sum(lost_share(one) <= ENOUGH for one in outcomes),
        per_kg=sum(year_cost(choice, one) for one in outcomes) / total if total > 0.0 else None,
        weeks=tuple(_week(garden, number, outcomes) for number in range(len(outcomes[0].weeks_came))),
        crops=tuple(
            LostCrop(
                crop.name,
                spread([one.came[number] for one in outcomes]),
                spread([one.lost[number] for one in outcomes]),
                tuple(
                    dryer.name
                    for dryer, times in zip(choice.frame.dryers, equipment.times, strict=True)
                    if not times[number]
                ),
            )
            for number, crop in enumerate(garden.crops)
        ),
        pay=None if now is None else does_it_pay(garden.choices[0], now, choice, outcomes),
    )


def _week(garden: Garden, number: int, outcomes: Sequence[SeasonOutcome]) -> Week:
    return Week(
        begin=(garden.begin + timedelta(weeks=number)).date(),
        came=spread([one.weeks_came[number] for one in outcomes]),
        dried=spread([one.weeks_dried[number] for one in outcomes]),
        lost=spread([one.weeks_lost[number] for one in outcomes]),
        tight=sum(one.weeks_lost[number] > SOME for one in outcomes) / len(outcomes),
    )


def _notes(garden: Garden, ready: Sequence[Equipment]) -> tuple[str, ...]:
    notes: list[str] = [
        *dict.fromkeys(note for choice in garden.choices for note in choice.frame.notes),
        msg_many(
            "The season is made up: amounts and dates vary around what the garden file says, and "
            "every choice dries the same one.",
            "The seasons are made up: amounts and dates vary around what the garden file says, and "
            "every choice dries the same {count} seasons.",
            garden.rounds,
        ),
        msg(
            "Each season is dried day by day, the way a careful cook would, not by the best plan. In "
            "a full week, a plan saves some of what is lost here."
        ),
        msg("The price of a dryer is spread evenly over its years, without interest."),
    ]
    if not ready[0].lots.priced:
        notes.append(msg("With no electricity price set, electricity costs nothing here."))
    for choice, equipment in zip(garden.choices, ready, strict=True):
        for dryer, times in zip(choice.frame.dryers, equipment.times, strict=True):
            for crop, time in zip(garden.crops, times, strict=True):
                if not time:
                    notes.append(
                        msg(
                            "'{dryer}' ({choice}) never gets {crop} dry with its program; load less per tray or "
                            "change the program.",
                            crop=crop.name,
                            dryer=dryer.name,
                            choice=choice.name,
                        )
                    )
    return tuple(notes)

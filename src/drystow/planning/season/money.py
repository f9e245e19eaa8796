"""What a choice of dryers costs for each kilogram that it dries more."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drystow.planning.season.garden import DryerChoice, Range, SeasonOutcome

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

    more: Range
    worth: float
    cost: Range
    price: float | None
    prices: Range | None
    value: float | None
    years: float | None
    pays: bool


def spread(values: Sequence[float]) -> Range:
    """Return a number over the seasons."""
    low, middle, high = np.percentile(values, (10.0, 50.0, 90.0), method="inverted_cdf")
    return Range(float(low), float(middle), float(high), float(np.mean(values)))


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

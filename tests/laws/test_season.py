"""Food is neither made nor lost in a season, and what is drawn has the mean of its distribution."""

from dataclasses import replace
from datetime import date, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from drystow.foods.table import get
from drystow.machine.load import TraySpec
from drystow.planning.schedule.arrivals import ArrivalSpec
from drystow.planning.schedule.batch_time import Reckoning
from drystow.planning.season.answer import payback, yearly
from drystow.planning.season.days import draw_season, equipment_of, picked_share, try_one
from drystow.planning.season.garden import Garden, GardenCrop
from drystow.planning.season.garden_file import parse_garden
from tests.engine.test_planning_season import table

QUICK = Reckoning(members=5)
DAY = 24 * 3600.0


def plain(**changes: object) -> Garden:
    begin = datetime(2026, 4, 1)
    peas = ArrivalSpec("peas", TraySpec(get("Peas, green, raw"), 1.0, 0.01), 1.0, begin)
    crop = GardenCrop(peas, date(2026, 6, 1), date(2026, 6, 20), date(2026, 7, 20), 50.0, 0.3, 3.0)
    other = replace(crop, arrival=replace(crop.arrival, name="beans"), mass=80.0, uncertain=0.5)
    whole = Garden("laws", begin, 30, 7, 1, 5 * DAY, (crop, other), ())
    return replace(whole, **changes)  # type: ignore[arg-type]


@settings(max_examples=60)
@given(first=st.floats(0, 50), up=st.floats(0.5, 40), down=st.floats(0.5, 40), a=st.floats(0, 140), b=st.floats(0, 140))
def test_ripening_follows_the_triangular_distribution(first: float, up: float, down: float, a: float, b: float) -> None:
    """Outside check: scipy.stats.triang."""
    low, high = min(a, b), max(a, b)
    curve = stats.triang(up / (up + down), first, up + down)
    expected = curve.cdf(high) - curve.cdf(low)
    assert picked_share(low, high, first, first + up, first + up + down) == pytest.approx(expected, abs=1e-9)


def test_the_masses_of_many_seasons_have_the_mean_and_the_spread_that_were_written() -> None:
    """Outside check: scipy.stats.lognorm with the same mean and standard deviation."""
    garden, count = plain(), 3000
    totals = np.zeros((count, 2))
    for number in range(count):
        for one in draw_season(garden, number):
            totals[number, one.crop] += one.mass
    for place, crop in enumerate(garden.crops):
        sigma = np.sqrt(np.log1p(crop.uncertain**2))
        law = stats.lognorm(sigma, scale=crop.mass * np.exp(-(sigma**2) / 2))
        assert law.mean() == pytest.approx(crop.mass)
        error = 4 * law.std() / np.sqrt(count)  # four standard errors
        assert totals[:, place].mean() == pytest.approx(law.mean(), abs=error)
        assert stats.kstest(totals[:, place], law.cdf).pvalue > 1e-3


def test_the_days_of_many_seasons_lie_around_the_mean_of_the_triangle() -> None:
    """Outside check: scipy.stats.triang; days are whole, so the mean lies half a day before the moment."""
    garden, count = plain(), 1500
    crop = garden.crops[0]
    first, last = (crop.first - date(2026, 4, 1)).days, (crop.last - date(2026, 4, 1)).days + 1
    peak = (crop.peak - date(2026, 4, 1)).days + 0.5
    law = stats.triang((peak - first) / (last - first), first, last - first)
    means = []
    for number in range(count):
        mine = [one for one in draw_season(garden, number) if one.crop == 0]
        means.append(sum(one.day * one.mass for one in mine) / sum(one.mass for one in mine))
    assert np.mean(means) == pytest.approx(law.mean() - 0.5, abs=4 * np.std(means) / np.sqrt(count) + 0.1)
    assert np.std(means) == pytest.approx(garden.shift / DAY, rel=0.1)  # the year's shift, wholly


def test_a_warm_year_is_early_for_all_crops() -> None:
    garden = plain()
    days = np.zeros((400, 2))
    for number in range(400):
        for crop in (0, 1):
            mine = [one for one in draw_season(garden, number) if one.crop == crop]
            days[number, crop] = sum(one.day * one.mass for one in mine) / sum(one.mass for one in mine)
    assert np.corrcoef(days.T)[0, 1] == pytest.approx(0.8, abs=0.08)  # the shared part of the variance


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10**6), litres=st.sampled_from([0, 15, 60]), evening=st.booleans())
def test_what_came_is_dried_or_lost_week_by_week_and_altogether(seed: int, litres: int, evening: bool) -> None:
    home = {"daily": ["18-22"]} if evening else {}
    garden = parse_garden(table(seed=seed, freezer={"space": f"{litres} L"}, home=home))
    pickings = draw_season(garden, 0)
    for choice in garden.choices:
        one = try_one(garden, equipment_of(choice.frame, QUICK), pickings, QUICK)
        came, lost = sum(one.came), sum(one.lost)
        assert came == pytest.approx(sum(picking.mass for picking in pickings), abs=1e-3 * len(pickings))
        assert all(0.0 <= part <= whole + 1e-9 for part, whole in zip(one.lost, one.came, strict=True))
        assert sum(one.weeks_dried) + lost == pytest.approx(came)
        assert sum(one.weeks_came) == pytest.approx(came)
        assert sum(one.weeks_lost) == pytest.approx(lost)
        assert 0.0 <= one.freezer <= 1.0


def test_the_price_is_spread_and_paid_back_as_in_the_textbook() -> None:
    """Straight-line depreciation and simple payback, worked by hand (memory): 3600 over 12 years is 300 a year;
    food worth 850 a year more less electricity of 130 leaves 720: paid back after five years.
    """
    assert yearly(3600.0, 12.0) == 300.0
    assert payback(3600.0, 850.0 - 130.0) == 5.0
    assert payback(3600.0, 0.0) is None
    assert payback(3600.0, -1.0) is None
    flows = np.cumsum([-3600.0] + [720.0] * 12)
    assert int(np.argmax(flows >= 0.0)) == 5  # the first year in which the money is back, counted year by year

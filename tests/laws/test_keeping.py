"""Laws of keeping: what tells foods apart does so, for whatever food of the table."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drystow.drying.layer import target_moisture
from drystow.foods.model import Food
from drystow.foods.table import every
from drystow.keeping.limits import NO_END_FOUND, NOT_KNOWN
from drystow.keeping.shelf_life import AT_LEAST, LIMIT, LONGEST, UNKNOWN, KeepingResult, shelf_life
from drystow.keeping.studies import studies_table
from drystow.packing.packfile import parse_pack
from drystow.packing.plan import pack_batch
from drystow.packing.seasons import DAY, YEAR, constant

CAN = parse_pack(
    'dry_mass = "200 g"\npacked_on = 2026-03-01\n[food]\nname = "Carrots, raw"\n[container]\nkind = "can-10"'
)
FOODS = [food for food in every() if food.composition.water < 0.98]


def kept(food: Food, celsius: float = 21.0, absorbers: bool = True) -> KeepingResult:
    moisture = min(target_moisture(food), food.composition.water)
    store = constant(celsius + 273.15, 0.5)
    return shelf_life(
        pack_batch(replace(CAN, food=food, residual_moisture=moisture, seasons=store, absorbers=absorbers))
    )


@pytest.fixture(scope="module")
def sample() -> list[tuple[Food, KeepingResult]]:
    """Every 20th food of the table, in a can with an absorber at 21 °C."""
    return [(food, kept(food)) for food in FOODS[::20]]


def test_sampled_foods_keep_for_times_of_their_own(sample: list[tuple[Food, KeepingResult]]) -> None:
    assert len(sample) >= 300
    ranges = Counter(result.days for _, result in sample if result.verdict == LIMIT and result.low > 0)
    assert sum(ranges.values()) >= 0.5 * len(sample), "most foods have a limit of their own"
    assert len(ranges) >= 0.9 * sum(ranges.values()), ranges.most_common(5)
    assert max(ranges.values()) <= 0.02 * len(sample), ranges.most_common(5)


def test_no_two_limits_share_a_number_and_no_bound_passes_for_a_value(
    sample: list[tuple[Food, KeepingResult]],
) -> None:
    limits: dict[tuple[int | None, ...], set[str]] = {}
    for _, result in sample:
        if result.verdict == LIMIT and 0 < result.low < LONGEST:
            limits.setdefault(result.days, set()).add(str(result.limit))
    assert [days for days, names in limits.items() if len(names) > 1] == []
    bounds = {int(row["years"] * YEAR / DAY) for row in studies_table().values()}
    for food, result in sample:
        if result.verdict == LIMIT and result.days[0] in bounds:
            assert result.evidence == NO_END_FOUND, food.name


def test_a_bound_and_what_is_not_known_are_said_as_such(sample: list[tuple[Food, KeepingResult]]) -> None:
    share = Counter(result.verdict for _, result in sample)
    assert set(share) == {LIMIT, AT_LEAST, UNKNOWN}
    assert share[AT_LEAST] <= 0.05 * len(sample), "studies that found no end speak for few foods"
    for food, result in sample:
        if result.verdict == LIMIT:
            continue
        beginning = "at least " if result.verdict == AT_LEAST else "not known; "
        assert result.text.startswith(beginning), food.name
        assert result.verdict == AT_LEAST or result.evidence == NOT_KNOWN
        assert result.verdict == UNKNOWN or result.evidence == NO_END_FOUND or result.low >= LONGEST
        assert result.days[1:] == (None, None)
        assert result.verdict == AT_LEAST or result.low <= YEAR


@settings(max_examples=60, deadline=None)
@given(food=st.sampled_from(FOODS), celsius=st.floats(-20.0, 40.0), warmer=st.floats(0.5, 20.0))
def test_a_warmer_store_never_keeps_longer(food: Food, celsius: float, warmer: float) -> None:
    # but for what is not known: its day to check comes no later either
    assert kept(food, celsius + warmer).low <= kept(food, celsius).low + 1.0 or _learned(food, celsius, warmer)


def _learned(food: Food, celsius: float, warmer: float) -> bool:
    """Whether a limit that was studied came before one that was not: a year to check gives way to a range."""
    return kept(food, celsius).verdict == UNKNOWN != kept(food, celsius + warmer).verdict


@settings(max_examples=60, deadline=None)
@given(food=st.sampled_from(FOODS), celsius=st.floats(-20.0, 40.0))
def test_oxygen_never_makes_food_keep_longer(food: Food, celsius: float) -> None:
    sealed, air = kept(food, celsius), kept(food, celsius, absorbers=False)
    assert air.low <= sealed.low + 1.0 or (sealed.verdict == UNKNOWN != air.verdict)
    assert air.low <= air.central <= air.high

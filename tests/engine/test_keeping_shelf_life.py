"""Shelf life: the first limit, its evidence, and no claim beyond what studies support."""

from dataclasses import replace
from datetime import date

import pytest

from drystow.errors import InputError
from drystow.keeping.limits import COLOR, CRISPNESS, activation_energy, life_in_store, quality_table, speed_ratio
from drystow.keeping.shelf_life import (
    CAP_SENTENCE,
    LONGEST,
    KeepingResult,
    keeps_closed,
    keeps_opened,
    shelf_life,
    thiamin_left,
)
from drystow.packing.packfile import parse_pack
from drystow.packing.plan import pack_batch
from drystow.packing.seasons import DAY, YEAR, StoreSeason, constant
from drystow.sources import bibliography


def keep(
    food: str, container: str = "can-10", celsius: float = 21.0, moisture: float = 0.02, **changes: object
) -> KeepingResult:
    text = f'dry_mass = "200 g"\npacked_on = 2026-03-01\n[food]\nname = "{food}"\n[container]\nkind = "{container}"'
    pack = replace(parse_pack(text), residual_moisture=moisture, seasons=constant(celsius + 273.15, 0.5), **changes)  # type: ignore[arg-type]
    return shelf_life(pack_batch(pack))


def test_carrots_in_a_can_are_limited_by_their_colour_with_the_study_named() -> None:
    result = keep("Carrots, raw")
    assert result.limit == "color"
    assert result.evidence.startswith("24-month storage study")
    assert result.text.endswith("(from a storage study)")
    keeps = keeps_closed(result, date(2026, 3, 1))
    assert keeps is not None
    assert any("eating quality lasts longer than its color" in note for note in result.notes)
    assert keeps.best_before == date(2028, 3, 2)  # 732 days: the 24 months of usu-5494 and hardly more


def test_other_vegetables_say_that_the_study_is_carried_over() -> None:
    assert "based on a 24-month storage study" in keep("Broccoli, raw").evidence
    assert "based on a 24-month storage study" in keep("Pineapple, raw, all varieties").evidence


def test_meat_has_no_study_and_says_so() -> None:
    result = keep("Chicken, ground, raw")
    assert "not from a storage study" in result.evidence
    assert result.text.endswith("(estimate)")
    assert any("does not kill germs" in caution for caution in result.cautions)


def test_a_zip_bag_loses_crispness_within_months() -> None:
    result = keep("Strawberries, raw", "bag-zip-gallon")
    assert result.limit == "crispness"
    assert result.high < YEAR


def test_what_comes_first_brings_its_own_note() -> None:
    carrots, bag = keep("Carrots, raw"), keep("Strawberries, raw", "bag-zip-gallon", moisture=0.12)
    assert carrots.limit == COLOR
    assert [note for note in carrots.notes if "its eating quality lasts longer than its color" in note]
    assert bag.limit == CRISPNESS
    assert [note for note in bag.notes if "already too moist to be crisp" in note]
    assert not [note for note in bag.notes if "its color" in note]


def test_warmth_shortens_and_cold_lengthens() -> None:
    lives = [keep("Carrots, raw", celsius=celsius).low for celsius in (5.0, 15.0, 25.0, 35.0)]
    assert lives == sorted(lives, reverse=True)


def test_nothing_is_claimed_beyond_25_years() -> None:
    result = keep("Milk, dry, whole, without added vitamin D", celsius=-20.0)
    assert result.high == LONGEST
    assert CAP_SENTENCE in result.notes
    assert result.low <= result.central <= result.high


def test_a_fatty_food_keeps_for_less_time() -> None:
    assert keep("Cheese, cheddar").central < keep("Chicken, ground, raw").central


def test_oxygen_left_in_shortens_the_life_of_meat() -> None:
    sealed, open_bag = keep("Chicken, ground, raw"), keep("Chicken, ground, raw", "bucket-5-gallon", dry_mass=3.0)
    quality = {limit.name: limit for limit in open_bag.limits}["eating quality"]
    assert quality.low == pytest.approx(0.2 * {limit.name: limit for limit in sealed.limits}["eating quality"].low)


def test_a_leaky_lid_can_be_the_first_limit() -> None:
    result = keep("Cheese, cheddar", "jar-pint", keep_for=0.5 * YEAR, celsius=5.0)
    oxygen = {limit.name: limit for limit in result.limits}["oxygen"]
    assert oxygen.low < oxygen.central < oxygen.high
    assert "not from a storage study" in oxygen.evidence


def test_moist_food_is_not_crisp_from_the_start() -> None:
    result = keep("Strawberries, raw", "bag-zip-gallon", moisture=0.12)
    assert result.low == 0
    assert any("already too moist" in note for note in result.notes)


def test_sticky_fruit_in_a_warm_store_is_told() -> None:
    assert any("sticky" in note or "leathery" in note for note in keep("Strawberries, raw", celsius=35.0).notes)


def test_without_a_day_of_packing_there_is_no_date() -> None:
    assert keeps_closed(keep("Carrots, raw"), None) is None


def test_food_too_moist_to_keep_has_no_date() -> None:
    assert keeps_closed(keep("Carrots, raw", moisture=0.25), date(2026, 3, 1)) is None


@pytest.mark.parametrize("container", ["can-10", "jar-quart", "pouch-foil7-8x12", "pouch-clear-8x12", "bag-zip-gallon"])
@pytest.mark.parametrize("food", ["Carrots, raw", "Strawberries, raw", "Chicken, ground, raw", "Cheese, cheddar"])
def test_an_open_package_never_keeps_longer_than_a_closed_one(food: str, container: str) -> None:
    text = f'dry_mass = "200 g"\npacked_on = 2026-03-01\n[food]\nname = "{food}"\n[container]\nkind = "{container}"'
    plan = pack_batch(replace(parse_pack(text), residual_moisture=0.02))
    closed = keeps_closed(shelf_life(plan), date(2026, 3, 1))
    assert closed is not None
    for opened_on in (date(2026, 3, 1), date(2026, 9, 1), date(2029, 9, 1)):
        opened = keeps_opened(plan, closed, opened_on, plan.pack.seasons)
        assert opened.best_before <= closed.best_before
        assert opened.latest is not None
        assert closed.latest is not None
        assert opened.latest <= closed.latest
        assert opened.since == opened_on
        assert bool(opened.text) == (closed.best_before >= opened_on)


def test_every_limit_has_a_known_source_and_evidence() -> None:
    for food in ("Carrots, raw", "Strawberries, raw", "Cheese, cheddar", "Egg, whole, raw, fresh"):
        for limit in keep(food, "jar-quart").limits:
            assert limit.source in bibliography()
            assert limit.evidence
            assert limit.low <= limit.central <= limit.high
    assert {row["source"] for row in quality_table().values()} <= set(bibliography())


def test_seasons_use_up_the_life_in_shares() -> None:
    # half the year at twice the speed: 1.5 times the speed on the whole
    energy = activation_energy(2.0, 284.15)
    seasons = (StoreSeason(0.01 * YEAR, 284.15, 0.5), StoreSeason(0.01 * YEAR, 294.15, 0.5))
    assert life_in_store(3 * YEAR, 284.15, energy, seasons) == pytest.approx(2 * YEAR, rel=0.01)
    assert speed_ratio(energy, 294.15, 284.15) == pytest.approx(2.0)
    with pytest.raises(InputError, match="is it in °C"):
        speed_ratio(energy, 21.0, 284.15)


def test_thiamin_is_told_only_where_food_was_measured() -> None:
    assert thiamin_left("dairy", YEAR) is None
    assert thiamin_left("meat", 0.0) == 1.0


def test_days_are_whole() -> None:
    result = keep("Carrots, raw")
    assert result.days == tuple(int(time / DAY) for time in (result.low, result.central, result.high))


def test_an_isotherm_used_beyond_its_range_is_noted() -> None:
    notes = keep("Milk, dry, whole, without added vitamin D").notes  # dairy: known up to water activity 0.35
    assert any("is beyond" in note for note in notes)

"""Shelf life: the first limit, its evidence, and no claim beyond what studies support."""

from dataclasses import replace
from datetime import date
from math import inf

import pytest

from drystow.errors import InputError
from drystow.foods.model import Composition, Food
from drystow.foods.table import get
from drystow.keeping.browning import browning
from drystow.keeping.color import CAROTENOID, CHLOROPHYLL, pigment
from drystow.keeping.fat import fat_quality, rancidity
from drystow.keeping.limits import BROWNING, COLOR, CRISPNESS, FAT, NO_END_FOUND, NOT_KNOWN, Limit, quality_table
from drystow.keeping.shelf_life import (
    AT_LEAST,
    CAP_SENTENCE,
    LIMIT,
    LONGEST,
    UNKNOWN,
    KeepingResult,
    date_words,
    keeps_closed,
    keeps_opened,
    shelf_life,
)
from drystow.keeping.speed import activation_energy, life_in_store, speed_ratio
from drystow.keeping.studies import TITLES, studies_table
from drystow.keeping.texture import crispness
from drystow.keeping.vitamins import thiamin_left
from drystow.packing.packfile import parse_pack
from drystow.packing.plan import PackPlan, pack_batch
from drystow.packing.seasons import DAY, YEAR, StoreSeason, constant
from drystow.sources import bibliography

PACKED = date(2026, 3, 1)
RICE = "Rice, white, cooked, glutinous"


def plan_of(
    food: str | Food, container: str = "can-10", celsius: float = 21.0, moisture: float = 0.02, **changes: object
) -> PackPlan:
    text = (
        f'dry_mass = "200 g"\npacked_on = 2026-03-01\n[food]\nname = "Carrots, raw"\n[container]\nkind = "{container}"'
    )
    known = get(food) if isinstance(food, str) else food
    changes |= {"food": known, "residual_moisture": moisture, "seasons": constant(celsius + 273.15, 0.5)}
    return pack_batch(replace(parse_pack(text), **changes))  # type: ignore[arg-type]


def keep(
    food: str | Food, container: str = "can-10", celsius: float = 21.0, moisture: float = 0.02, **changes: object
) -> KeepingResult:
    return shelf_life(plan_of(food, container, celsius, moisture, **changes))


def by_name(result: KeepingResult) -> dict[str, Limit]:
    return {str(limit.name): limit for limit in result.limits}


def test_what_comes_first_decides_and_is_named() -> None:
    for food in ("Carrots, raw", "Strawberries, raw", "Chicken, ground, raw", "Broccoli, raw"):
        result = keep(food)
        assert result.verdict == LIMIT
        assert result.limit == result.limits[0].name
        assert result.low == min(limit.low for limit in result.limits)
        assert result.high == min([LONGEST, *(limit.high for limit in result.limits)])
    assert keep("Strawberries, raw").limit == BROWNING
    assert keep("Chicken, ground, raw").limit == FAT
    assert keep("Broccoli, raw").limit == COLOR
    assert keep("Strawberries, raw", "bag-zip-gallon").limit == CRISPNESS


@pytest.mark.parametrize(
    ("food", "container", "words"),
    [
        ("Chicken, ground, raw", "can-10", "before its fat turns rancid (estimate)"),
        ("Strawberries, raw", "can-10", "before it browns (estimate)"),
        ("Broccoli, raw", "can-10", "before its color fades (estimate)"),
        ("Strawberries, raw", "bag-zip-gallon", "before it softens or clumps (calculated)"),
    ],
)
def test_the_claim_says_in_a_cooks_words_what_ends_it(food: str, container: str, words: str) -> None:
    assert keep(food, container).text.endswith(words)


def test_a_study_that_found_no_end_is_a_lower_bound_and_no_value() -> None:
    rice = keep(RICE)
    assert (rice.verdict, rice.low, rice.high) == (AT_LEAST, LONGEST, inf)
    assert rice.text == "at least 25 years; a storage study of such food found no end"
    assert rice.days == (int(LONGEST / DAY), None, None)
    assert any("white rice up to 30 years old" in note for note in rice.notes)
    keeps = keeps_closed(rice, PACKED)
    assert keeps is not None
    assert (keeps.latest, keeps.limit, keeps.verdict, keeps.text) == (None, "", AT_LEAST, rice.text)


def test_a_bound_needs_what_its_study_had() -> None:
    """No oxygen, no warmer store, a tight package; else the estimates come first."""
    in_air, warm, bag = keep(RICE, absorbers=False), keep(RICE, celsius=30.0), keep(RICE, "pouch-clear-8x12")
    assert in_air.verdict == LIMIT
    assert in_air.limit == FAT
    assert warm.low < 0.5 * LONGEST
    assert bag.limit == CRISPNESS
    assert bag.verdict == LIMIT


def test_a_bound_lifts_the_limit_that_its_study_did_not_find() -> None:
    carrots = by_name(keep("Carrots, raw", moisture=0.08))[BROWNING]
    onions = by_name(keep("Onions, raw", moisture=0.08))[BROWNING]
    assert carrots.low >= 2 * YEAR  # usu-5494 saw no darkening in 24 months
    assert onions.low < 2 * YEAR  # not one of its foods
    assert carrots.evidence == NO_END_FOUND
    warm = by_name(keep("Carrots, raw", moisture=0.08, celsius=29.5))[BROWNING]
    assert warm.low < 0.5 * YEAR


@pytest.mark.parametrize("food", ["Fish, salmon, Atlantic, wild, raw", "Cheese, cheddar", "Mushrooms, white, raw"])
def test_without_a_study_no_year_is_named_but_a_day_to_check(food: str) -> None:
    result = keep(food)
    assert (result.verdict, result.evidence) == (UNKNOWN, NOT_KNOWN)
    assert result.text.startswith("not known; common practice is ")
    assert DAY < result.low <= min(YEAR, result.limits[0].low) + 1.0
    keeps = keeps_closed(result, PACKED)
    assert keeps is not None
    assert (keeps.verdict, keeps.latest, keeps.limit) == (UNKNOWN, None, "")
    assert keeps.text.startswith("not known, so check it after ")
    assert date_words("May 3", keeps.evidence) == "Check by May 3"
    assert date_words("May 3", "as printed on the package") == "Best before May 3"


def test_more_fat_than_the_studies_had_is_not_known() -> None:
    lean = Composition(water=0.80, protein=0.02, fat=0.005, carbohydrate=0.165, ash=0.01, sugars=0.05)
    fatty = Composition(water=0.80, protein=0.02, fat=0.100, carbohydrate=0.070, ash=0.01, sugars=0.00)
    assert keep(Food("own:x", "x", "starchy", lean)).verdict == LIMIT
    assert keep(Food("own:x", "x", "starchy", fatty)).verdict == UNKNOWN


def test_cautions_are_never_dropped_whatever_the_verdict() -> None:
    for food in ("Chicken, ground, raw", "Fish, salmon, Atlantic, wild, raw"):
        assert any("does not kill germs" in caution for caution in keep(food).cautions)
    rice = replace(get(RICE), raw_animal=True)
    assert any("does not kill germs" in caution for caution in keep(rice).cautions)
    assert any("water activity" in caution.lower() for caution in keep(RICE, moisture=0.25).cautions)


def test_fat_its_double_bonds_iron_and_salt_each_bring_rancidity_nearer() -> None:
    def life(food: Food) -> float:
        limit = rancidity(plan_of(food))
        assert limit is not None
        return limit.central

    made = Composition(water=0.7, protein=0.2, fat=0.04, carbohydrate=0.05, ash=0.01)
    base = Food("own:x", "x", "meat", made, nutrients={"fat_g": 4.0, "saturated_g": 2.0, "iron_mg": 0.5})
    fatter = replace(base, composition=replace(made, fat=0.08, carbohydrate=0.01))
    softer = replace(base, nutrients={**base.nutrients, "saturated_g": 1.0})
    bloody = replace(base, nutrients={**base.nutrients, "iron_mg": 3.0})
    salty = replace(base, composition=replace(made, ash=0.02, salt=0.015, carbohydrate=0.04))
    assert all(life(worse) < life(base) for worse in (fatter, softer, bloody, salty))
    assert life(fatter) == pytest.approx(life(base) / 2, rel=0.1)  # and a little by its water activity


def test_without_fatty_acids_in_the_table_those_of_the_class_count() -> None:
    made = Composition(water=0.7, protein=0.2, fat=0.04, carbohydrate=0.05, ash=0.01)
    assert fat_quality(Food("own:x", "x", "meat", made)).unsaturated == pytest.approx(0.57)
    assert fat_quality(Food("own:x", "x", "meat", made, like=("poultry",))).unsaturated == pytest.approx(0.70)


def test_oxygen_that_is_left_shortens_the_life_of_fat_but_not_browning() -> None:
    sealed, air = plan_of("Carrots, raw"), plan_of("Carrots, raw", absorbers=False)
    fat, in_air = rancidity(sealed), rancidity(air)
    brown, brown_in_air = browning(sealed), browning(air)
    assert fat is not None
    assert in_air is not None
    assert brown is not None
    assert brown_in_air is not None
    assert in_air.central < fat.central / 5
    assert in_air.low < in_air.central < in_air.high
    assert (brown.low, brown.high) == (brown_in_air.low, brown_in_air.high)
    vacuum = rancidity(plan_of("Carrots, raw", absorbers=False, air_left=0.25))
    assert vacuum is not None
    assert in_air.central < vacuum.central < fat.central


def test_once_the_absorber_is_used_up_the_rest_goes_as_in_air() -> None:
    tight, leaky = plan_of("Chicken, ground, raw"), plan_of("Chicken, ground, raw", "jar-quart", keep_for=0.2 * YEAR)
    spent, held = rancidity(replace(leaky, absorber_time=0.3 * YEAR)), rancidity(replace(leaky, absorber_time=inf))
    assert spent is not None
    assert held is not None
    assert spent.central < held.central
    assert spent.central > 0.3 * YEAR
    assert rancidity(tight) is not None


def test_sugars_protein_and_water_each_bring_browning_nearer() -> None:
    def life(made: Composition, moisture: float = 0.02) -> float:
        limit = browning(plan_of(Food("own:x", "x", "fruit", made), moisture=moisture))
        assert limit is not None
        return limit.central

    made = Composition(water=0.85, protein=0.01, carbohydrate=0.13, ash=0.01, sugars=0.05)
    sweeter, richer = replace(made, sugars=0.10), replace(made, protein=0.02, carbohydrate=0.12)
    assert life(sweeter) < life(made)
    assert life(richer) < life(made)
    assert life(made, 0.10) < life(made, 0.05)
    assert browning(plan_of(Food("own:x", "x", "fruit", replace(made, protein=0.0, ash=0.02)))) is None


def test_vitamins_tell_what_colors_a_plant_where_its_kind_does_not() -> None:
    made = Composition(water=0.9, protein=0.02, carbohydrate=0.07, ash=0.01)
    green = Food("own:x", "x", "vegetable", made, nutrients={"vitamin_k_ug": 100.0, "vitamin_a_ug": 300.0})
    orange = replace(green, nutrients={"vitamin_k_ug": 10.0, "vitamin_a_ug": 300.0})
    assert (pigment(green), pigment(orange)) == (CHLOROPHYLL, CAROTENOID)
    assert pigment(replace(orange, food_class="meat")) == "none"
    assert pigment(get("Cauliflower, raw")) == "none"


def test_greens_that_were_not_blanched_are_told_to_fade_sooner() -> None:
    assert any("Not blanched" in note for note in keep("Broccoli, raw").notes)
    assert not any("Not blanched" in note for note in keep("Carrots, raw").notes)


def test_berries_are_told_to_keep_their_color() -> None:
    assert any("kept their red and blue" in note for note in keep("Blueberries, raw").notes)


def test_glassy_food_softens_at_its_glass_point_and_not_later_than_its_crunch() -> None:
    """A pouch that lets water through: the glass of sugary food is passed before the crunch of a starchy one."""
    sugary = Composition(water=0.85, protein=0.005, carbohydrate=0.14, ash=0.005, sugars=0.135)
    starchy = Composition(water=0.85, protein=0.005, carbohydrate=0.14, ash=0.005)
    cold = {"celsius": 1.0, "moisture": 0.01}
    soft, crunchy = (
        crispness(plan_of(Food("own:x", "x", "starchy", made), "pouch-clear-8x12", **cold))  # type: ignore[arg-type]
        for made in (sugary, starchy)
    )
    assert soft.low < crunchy.low
    assert soft.central <= crunchy.central
    assert "dry glass of its sugars" in soft.basis
    assert "lose its crunch" in crunchy.basis


def test_a_zip_bag_loses_crispness_within_months() -> None:
    result = keep("Strawberries, raw", "bag-zip-gallon")
    assert result.limit == CRISPNESS
    assert result.high < YEAR


def test_faded_food_is_told_to_be_food_and_soft_food_not_to_be_crisp() -> None:
    peas, bag = keep("Broccoli, raw"), keep("Strawberries, raw", "bag-zip-gallon", moisture=0.12)
    assert [note for note in peas.notes if "its taste lasts longer than its color" in note]
    assert bag.low == 0
    assert [note for note in bag.notes if "already too moist to be crisp" in note]


def test_warmth_shortens_and_cold_lengthens() -> None:
    for food in ("Carrots, raw", "Chicken, ground, raw", "Broccoli, raw"):
        lives = [keep(food, celsius=celsius).low for celsius in (5.0, 15.0, 25.0, 35.0)]
        assert lives == sorted(lives, reverse=True)


def test_nothing_is_claimed_beyond_25_years() -> None:
    result = keep("Milk, dry, whole, without added vitamin D", celsius=-20.0)
    assert (result.verdict, result.low) == (AT_LEAST, LONGEST)
    assert result.text == "at least 25 years (estimate)"
    assert CAP_SENTENCE in result.notes
    cool = keep("Carrots, raw", celsius=10.0)
    assert (cool.verdict, cool.high) == (LIMIT, LONGEST)
    keeps = keeps_closed(result, PACKED)
    assert keeps is not None
    assert (keeps.verdict, keeps.text) == (AT_LEAST, result.text)


def test_sticky_fruit_in_a_warm_store_is_told() -> None:
    assert any("sticky" in note or "leathery" in note for note in keep("Strawberries, raw", celsius=35.0).notes)


def test_without_a_day_of_packing_there_is_no_date() -> None:
    assert keeps_closed(keep("Carrots, raw"), None) is None


def test_food_too_moist_to_keep_has_no_date() -> None:
    assert keeps_closed(keep("Carrots, raw", moisture=0.25), PACKED) is None


@pytest.mark.parametrize("container", ["can-10", "jar-quart", "pouch-foil7-8x12", "pouch-clear-8x12", "bag-zip-gallon"])
@pytest.mark.parametrize("food", ["Carrots, raw", "Strawberries, raw", "Chicken, ground, raw", "Cheese, cheddar", RICE])
def test_an_open_package_never_keeps_longer_than_a_closed_one(food: str, container: str) -> None:
    plan = plan_of(food, container)
    closed = keeps_closed(shelf_life(plan), PACKED)
    assert closed is not None
    for opened_on in (PACKED, date(2026, 9, 1), date(2029, 9, 1)):
        opened = keeps_opened(plan, closed, opened_on, plan.pack.seasons)
        assert opened.best_before <= closed.best_before
        assert opened.latest is None or closed.latest is None or opened.latest <= closed.latest
        assert opened.latest is None or opened.latest >= opened.best_before
        assert opened.since == opened_on
        assert bool(opened.text) == (closed.best_before >= opened_on)


def test_every_limit_has_a_known_source_and_evidence() -> None:
    for food in ("Carrots, raw", "Strawberries, raw", "Cheese, cheddar", "Egg, whole, raw, fresh"):
        for limit in keep(food, "jar-quart").limits:
            assert limit.source in bibliography()
            assert limit.evidence
            assert limit.low <= limit.central <= limit.high
    named = [row["source"] for row in studies_table().values()]
    tables = [quality_table()]
    while tables:
        table = tables.pop()
        named += [table["source"]] if "source" in table else []
        tables += [row for row in table.values() if isinstance(row, dict)]
    assert set(named) <= set(bibliography())
    assert set(TITLES) == set(studies_table())


def test_seasons_use_up_the_life_in_shares() -> None:
    # half the year at twice the speed: 1.5 times the speed on the whole
    energy = activation_energy(2.0, 284.15)
    seasons = (StoreSeason(0.01 * YEAR, 284.15, 0.5), StoreSeason(0.01 * YEAR, 294.15, 0.5))
    assert life_in_store(3 * YEAR, 284.15, energy, seasons) == pytest.approx(2 * YEAR, rel=0.01)
    assert speed_ratio(energy, 294.15, 284.15) == pytest.approx(2.0)
    with pytest.raises(InputError, match="is it in °C"):
        speed_ratio(energy, 21.0, 284.15)


def test_what_is_held_back_for_a_while_goes_on_at_full_speed() -> None:
    # a tenth of the speed for half a year uses up a twentieth of a year
    store = constant(294.15, 0.5)
    life = life_in_store(YEAR, 294.15, 5e4, store, slowed=0.1, until=0.5 * YEAR)
    assert life == pytest.approx(0.5 * YEAR + 0.95 * YEAR)
    assert life_in_store(YEAR, 294.15, 5e4, store, slowed=0.1) == pytest.approx(10 * YEAR)


def test_thiamin_is_told_only_where_food_was_measured() -> None:
    assert thiamin_left("dairy", YEAR) is None
    assert thiamin_left("meat", 0.0) == 1.0


def test_vitamins_have_a_line_of_their_own_and_end_nothing() -> None:
    carrots = keep("Carrots, raw")
    assert [(str(one.name), one.left is None) for one in carrots.vitamins] == [("thiamin", False), ("vitamin C", True)]
    assert all(one.text in carrots.notes for one in carrots.vitamins)
    assert {str(limit.name) for limit in carrots.limits} == {FAT, BROWNING, COLOR, CRISPNESS}


def test_days_are_whole() -> None:
    result = keep("Carrots, raw")
    assert result.days == tuple(int(time / DAY) for time in (result.low, result.central, result.high))


def test_an_isotherm_used_beyond_its_range_is_noted() -> None:
    notes = keep("Milk, dry, whole, without added vitamin D").notes  # dairy: known up to water activity 0.35
    assert any("is beyond" in note for note in notes)

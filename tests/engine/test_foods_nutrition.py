"""Panels against the printed rules: FDA Food Labeling Guide appendix H, and the EU guidance of December 2012."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drystow.errors import InputError
from drystow.foods.nutrition import (
    DAILY_VALUES,
    concentration,
    dried,
    eu_amount,
    eu_panel,
    per_serving,
    us_amount,
    us_daily_value,
    us_panel,
    us_servings,
)
from drystow.foods.table import get


# Source: fda-label-rounding, appendix H, rounding rules as printed.
@pytest.mark.parametrize(
    ("key", "amount", "printed"),
    [
        ("energy_kcal", 4.9, "0"),
        ("energy_kcal", 5.0, "5"),
        ("energy_kcal", 47.4, "45"),
        ("energy_kcal", 47.6, "50"),
        ("energy_kcal", 50.0, "50"),
        ("energy_kcal", 54.9, "50"),
        ("energy_kcal", 55.0, "60"),
        ("energy_kcal", 234.0, "230"),
        ("fat_g", 0.49, "0 g"),
        ("fat_g", 0.5, "0.5 g"),
        ("fat_g", 2.3, "2.5 g"),
        ("fat_g", 4.7, "4.5 g"),
        ("fat_g", 5.4, "5 g"),
        ("saturated_g", 1.2, "1 g"),
        ("saturated_g", 6.5, "7 g"),
        ("cholesterol_mg", 1.9, "0 mg"),
        ("cholesterol_mg", 2.0, "less than 5 mg"),
        ("cholesterol_mg", 5.0, "less than 5 mg"),
        ("cholesterol_mg", 7.4, "5 mg"),
        ("cholesterol_mg", 373.0, "375 mg"),
        ("sodium_mg", 4.9, "0 mg"),
        ("sodium_mg", 5.0, "5 mg"),
        ("sodium_mg", 138.0, "140 mg"),
        ("sodium_mg", 144.0, "140 mg"),
        ("sodium_mg", 146.0, "150 mg"),
        ("potassium_mg", 236.0, "240 mg"),
        ("carbohydrate_g", 0.4, "0 g"),
        ("carbohydrate_g", 0.5, "less than 1 g"),
        ("carbohydrate_g", 0.99, "less than 1 g"),
        ("fibre_g", 1.4, "1 g"),
        ("sugars_g", 11.5, "12 g"),
        ("protein_g", 0.9, "less than 1 g"),
        ("protein_g", 3.2, "3 g"),
    ],
)
def test_us_amounts_are_rounded_as_the_guide_says(key: str, amount: float, printed: str) -> None:
    assert us_amount(key, amount) == printed


# The sample label that the agency prints with the 2016 rule (from memory): amounts and the percentages beside them.
@pytest.mark.parametrize(
    ("key", "amount", "percent"),
    [
        ("fat_g", 8, "10%"),
        ("saturated_g", 1, "5%"),
        ("cholesterol_mg", 0, "0%"),
        ("sodium_mg", 160, "7%"),
        ("carbohydrate_g", 37, "13%"),
        ("fibre_g", 4, "14%"),
        ("added_sugars_g", 10, "20%"),
        ("vitamin_d_ug", 2, "10%"),
        ("calcium_mg", 260, "20%"),
        ("iron_mg", 8, "45%"),
        ("potassium_mg", 240, "6%"),
    ],
)
def test_daily_values_reproduce_the_agency_s_sample_label(key: str, amount: float, percent: str) -> None:
    assert us_daily_value(key, amount) == percent


def test_vitamins_below_two_percent_count_as_nothing_and_above_fifty_go_in_tens() -> None:
    assert us_daily_value("vitamin_c_mg", 1.0) == "0%"
    assert us_daily_value("vitamin_c_mg", 0.53 * 90) == "50%"
    assert us_daily_value("vitamin_c_mg", 0.56 * 90) == "60%"
    assert us_daily_value("sugars_g", 12) == ""


# Source: eu-rounding2012.
@pytest.mark.parametrize(
    ("key", "amount", "printed"),
    [
        ("energy_kj", 1234.5, "1235 kJ"),
        ("energy_kcal", 56.4, "56 kcal"),
        ("fat_g", 12.4, "12 g"),
        ("fat_g", 9.94, "9.9 g"),
        ("carbohydrate_g", 0.5, "<0.5 g"),
        ("protein_g", 0.0, "0 g"),
        ("sugars_g", 0.51, "0.5 g"),
        ("saturated_g", 0.1, "<0.1 g"),
        ("saturated_g", 0.14, "0.1 g"),
        ("salt_g", 0.0125, "<0.01 g"),
        ("salt_g", 0.126, "0.13 g"),
        ("salt_g", 1.26, "1.3 g"),
    ],
)
def test_eu_amounts_are_rounded_as_the_guidance_says(key: str, amount: float, printed: str) -> None:
    assert eu_amount(key, amount) == printed


def test_an_eu_panel_counts_fibre_apart_and_salt_as_sodium_times_two_and_a_half() -> None:
    # by hand: fat 370 kJ, carbohydrate 255, protein 340, fibre 40: 1005 kJ; 90 + 60 + 80 + 10 = 240 kcal
    nutrients = {"fat_g": 10.0, "carbohydrate_g": 20.0, "fibre_g": 5.0, "protein_g": 20.0, "sodium_mg": 400.0}
    lines = {line.name: line.amount for line in eu_panel(nutrients)}
    assert lines == {
        "Energy": "1005 kJ / 240 kcal",
        "Fat": "10 g",
        "Carbohydrate": "15 g",
        "Fiber": "5.0 g",
        "Protein": "20 g",
        "Salt": "1.0 g",
    }


def test_a_us_panel_lists_what_is_known_in_the_order_of_the_rule() -> None:
    lines = us_panel(per_serving(get("Blueberries, raw").nutrients, 0.148))
    names = [line.name for line in lines]
    assert names[:2] == ["Calories", "Total fat"]
    assert names.index("Total carbohydrate") < names.index("Total sugars") < names.index("Protein")
    protein = next(line for line in lines if line.name == "Protein")
    assert protein.daily_value == ""


def test_ten_grams_of_dry_strawberries_stand_for_their_fresh_weight() -> None:
    # dry matter: 9.8 g of 10 g at 2% moisture; at 90.95% water that is 9.8/0.0905 = 108.3 g of fresh fruit
    assert 10 * concentration(0.9095, 0.02) == pytest.approx(108.3, abs=0.05)


@given(st.floats(0.3, 0.97), st.floats(0.0, 0.1), st.floats(0.001, 0.5))
def test_a_dry_serving_holds_what_its_fresh_equivalent_held(fresh: float, dry: float, serving: float) -> None:
    nutrients = {"vitamin_c_mg": 58.8, "protein_g": 0.67}
    eaten = per_serving(dried(nutrients, fresh, dry), serving)
    before = per_serving(nutrients, serving * concentration(fresh, dry))
    for key, value in before.items():
        assert eaten[key] == pytest.approx(value, rel=1e-9)


@given(st.sampled_from([key for key in DAILY_VALUES if key != "protein_g"]), st.floats(0, 1e4), st.floats(0, 1e4))
def test_more_of_a_nutrient_never_prints_a_smaller_percentage(key: str, one: float, other: float) -> None:
    small, large = sorted((one, other))
    assert int(us_daily_value(key, small)[:-1]) <= int(us_daily_value(key, large)[:-1])


def test_servings_are_printed_whole_or_by_halves_between_two_and_five() -> None:
    # Source: fda-label-rounding, serving count
    assert us_servings(0.240, 0.030) == "8"
    assert us_servings(0.100, 0.030) == "about 3.5"
    assert us_servings(0.280, 0.030) == "about 9"
    assert us_servings(0.040, 0.030) == "about 1"


@pytest.mark.parametrize(
    ("call", "field", "words"),
    [
        (lambda: us_amount("fat_g", -1), "fat_g", "−1 is negative"),
        (lambda: eu_amount("fat_g", -1), "fat_g", "−1 is negative"),
        (
            lambda: per_serving({}, 0.0),
            "serving",
            "0 kg is out of range; enter more than 0 kg and up to 100 kg; enter the weight of one",
        ),
        (lambda: concentration(1.0, 0.02), "fresh_water", "1 is not a water content below 1"),
        (
            lambda: concentration(0.5, 0.6),
            "dry_water",
            "0.6 is out of range; use 0 to 0.5, the water of the fresh food",
        ),
        (lambda: us_servings(0.1, 0.2), "serving", "a serving can't be more than the package"),
    ],
)
def test_impossible_numbers_are_refused(call: object, field: str, words: str) -> None:
    assert callable(call)
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.field == field
    assert words in caught.value.message

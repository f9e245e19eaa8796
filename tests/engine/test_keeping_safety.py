"""Safety of stored food: classes, germs, sentences."""

import pytest

from drystow.errors import InputError
from drystow.keeping.food_code import can_grow, dryness_caution, tcs_class
from drystow.keeping.survival import hepatitis_a_reduction, salmonella_reduction
from drystow.packing.seasons import DAY


def test_dry_food_lets_nothing_grow() -> None:
    assert can_grow(0.5) == ()
    assert dryness_caution(0.5) == ""
    assert "mold" in dryness_caution(0.7)
    assert "disease germs can grow" in dryness_caution(0.9)
    assert can_grow(0.9) == ("Staphylococcus aureus",)


def test_acid_outside_the_scale_is_refused() -> None:
    with pytest.raises(InputError, match="0 to 14"):
        tcs_class(0.9, 15.0, False)


def test_storage_at_room_temperature_does_not_make_food_safe() -> None:
    # a kill step is at least 5 log10 (common practice in process validation); a year in the pantry is far from it
    year = salmonella_reduction(0.20, 294.15, 365 * DAY)
    assert year.log_reduction < 5
    assert any("lives longer" in note for note in year.notes)


def test_survival_is_longest_in_the_driest_food_and_outside_the_table_it_says_so() -> None:
    rates = [salmonella_reduction(aw, 309.15, DAY).log_reduction for aw in (0.2, 0.3, 0.4, 0.5)]
    assert rates == sorted(rates)
    assert any("0.17 to 0.58" in note for note in salmonella_reduction(0.05, 309.15, DAY).notes)
    assert any("50 °C" in note for note in salmonella_reduction(0.3, 330.0, DAY).notes)
    between = salmonella_reduction(0.3, 316.15, DAY).log_reduction
    assert salmonella_reduction(0.3, 309.15, DAY).log_reduction < between
    assert between < salmonella_reduction(0.3, 323.15, DAY).log_reduction


def test_the_virus_law_is_not_trusted_beyond_two_months() -> None:
    assert hepatitis_a_reduction(30 * DAY).notes == ()
    assert hepatitis_a_reduction(365 * DAY).notes != ()

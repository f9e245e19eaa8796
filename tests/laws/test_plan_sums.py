"""The sums of a plan: a lot is dried, or left out, to the last bit of it, and never more of it than there is."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from drystow.errors import InputErrors
from drystow.planning.schedule.batch_time import Reckoning
from drystow.planning.schedule.plan import schedule
from drystow.planning.schedule.plan_file import parse_lots

BEGIN = datetime(2026, 9, 7)
POUND = 0.45359237  # kg, the international pound
HALF_A_GRAM = 5e-4  # kg: the search counts whole grams, and what rounding left lies on the last trays of the lot


def table(masses: list[float], values: list[float], days: int) -> dict[str, Any]:
    return {
        "begin": BEGIN, "days": days, "step": "2 h", "home": {"daily": ["6-22"]},
        "dryer": [{"name": "One", "profile": "bench-4", "turnaround": "2 h"},
                  {"name": "Two", "profile": "kitchen-5", "turnaround": "2 h"}],
        "arrival": [{"name": f"lot {number}", "food": "Beans, snap, green, raw", "mass": f"{mass!r} kg", "size": "9 mm",
                 "shape": "stick", "value": value, "tray_mass": "0.5 kg", "drying_time": "20 h",
                 "arrives": BEGIN + timedelta(hours=6)}
                for number, (mass, value) in enumerate(zip(masses, values, strict=True))],
    }  # fmt: skip


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(st.floats(0.2, 9.0), min_size=1, max_size=3),
    st.lists(st.floats(0.01, 30.0), min_size=3, max_size=3),
    st.integers(1, 4),
)
@example(pounds=[2.0, 7.0], values=[1.0, 1.0, 1.0], days=4)  # the three parts of 7 lb add up to one bit too much
def test_what_is_saved_and_left_out_is_all_there_is_and_never_more(
    pounds: list[float], values: list[float], days: int
) -> None:
    masses = [pound * POUND for pound in pounds]
    made = schedule(parse_lots(table(masses, values[: len(masses)], days)), 0.3, workers=1, how=Reckoning(members=5))
    assert made.saved_value <= made.bound <= made.total_value
    assert all(value <= made.saved_value for value in made.compared.values())
    assert 0.0 <= made.gap <= 1.0
    total = 0.0
    for number, mass in enumerate(masses):
        name = f"lot {number}"
        dried = sum(lot.mass for batch in made.batches for lot in batch.lots if lot.name == name)
        left = sum(one.mass for one in made.left_out if one.name == name)
        assert dried <= mass
        assert dried + left == pytest.approx(mass, abs=1e-9)
        assert left == 0.0 or left > 4e-4
        total += dried * values[number]
    assert made.saved_value == pytest.approx(total, rel=1e-9)
    for batch in made.batches:
        assert all(lot.mass <= 0.5 * lot.trays + HALF_A_GRAM for lot in batch.lots)


def test_one_day_is_no_days() -> None:
    raw = table([1.0], [1.0], 3)
    raw["arrival"][0] |= {"food": "Chicken, breast, boneless, skinless, raw", "fridge": "4 day"}
    with pytest.raises(InputErrors, match=r"may wait 1 day in the refrigerator, not 4\.0 days"):
        parse_lots(raw)

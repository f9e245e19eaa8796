"""From the rows of a plan to what the engine plans with, and the clock of the kitchen."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone

from drystow.machine.sampling import UNCALIBRATED
from drystow.planning.schedule.arrivals import Lots
from drystow.web.foods.models import OwnFood
from drystow.web.kit import records
from drystow.web.plans.adapters import basis_of, fingerprint, lots_of, rests_on
from drystow.web.plans.local_time import kitchen_time, moment, spans
from drystow.web.plans.models import Booked, Lot, Plan
from tests.web.batch_rows import a_batch
from tests.web.made_rows import BERRIES, ZONE, a_lot, a_plan, at, clock, made, short_search  # noqa: F401

HOURS = timedelta(hours=1)


def lots(plan: Plan, now: datetime | None = None) -> Lots:
    return lots_of(basis_of(plan), now or at(0, 0))


def test_times_are_those_of_the_clock_in_the_kitchen() -> None:
    plan = a_plan()
    a_lot(plan, arrives=at(1, 17, 30), ready_by=at(3, 8))
    (lot,) = lots(plan).lots
    assert lot.arrival == at(1, 17, 30).replace(tzinfo=None)
    assert lot.ready_by == at(3, 8).replace(tzinfo=None)
    assert lots(plan).begin == at(0, 0).replace(tzinfo=None)


@pytest.mark.parametrize(
    ("day", "hour", "offset"),
    # the clocks of New York: UTC - 5 h, UTC - 4 h from 8 March to 1 November 2026 (IANA time zone database)
    [((2026, 3, 7), 20, -5), ((2026, 3, 8), 20, -4), ((2026, 10, 31), 20, -4), ((2026, 11, 1), 20, -5)],
)
def test_moments_follow_the_change_of_the_clocks(day: tuple[int, int, int], hour: int, offset: int) -> None:
    local = datetime(*day, hour)
    assert moment(local, ZONE) == datetime(*day, hour, tzinfo=UTC) - offset * HOURS
    assert kitchen_time(moment(local, ZONE), ZONE) == local


def test_food_dries_as_long_as_it_dries_although_the_clocks_change() -> None:
    start, dry, end = datetime(2026, 3, 7, 20), datetime(2026, 3, 8, 16), datetime(2026, 3, 8, 17)
    began, ready, unloaded = spans(start, dry, end, ZONE)
    assert ready - began == 20 * HOURS
    at_five = datetime(2026, 3, 8, 17)
    assert (kitchen_time(ready, ZONE), kitchen_time(unloaded, ZONE)) == (at_five, at_five)
    later = spans(start, dry, dry, ZONE)[2]  # nobody takes it out before it is dry
    assert kitchen_time(later, ZONE) == datetime(2026, 3, 8, 17)
    autumn = spans(datetime(2026, 10, 31, 20), datetime(2026, 11, 1, 16), datetime(2026, 11, 1, 17), ZONE)
    assert [kitchen_time(at, ZONE).hour for at in autumn] == [20, 15, 17]


def test_a_plan_over_a_change_of_the_clocks_tells_of_it() -> None:
    from drystow.web.plans.made import _clock_changes

    plan = a_plan(begin=date(2026, 3, 6))
    assert list(_clock_changes(basis_of(plan))) == [date(2026, 3, 8)]


def test_own_raw_food_keeps_its_marks_and_waits_no_longer_than_raw_food_may() -> None:
    plan = a_plan()
    own = OwnFood(
        name="Trout of the pond", food_class="fish", composition={"water": 0.75, "protein": 0.2, "fat": 0.05},
        raw_animal=True, allergens=["fish"],
    )  # fmt: skip
    own = records.create(own)
    a_lot(plan, name="Trout", food=f"own:{own.pk}", drying_h=None)
    lot = lots(plan).lots[0]
    assert lot.item.food.raw_animal
    assert lot.item.food.allergens == ("fish",)
    assert lot.window.fridge == 24 * 3600.0  # FoodSafety.gov, cold food storage chart: fresh fish, 1 to 3 days


def test_lots_of_one_name_are_told_apart() -> None:
    plan = a_plan()
    a_lot(plan, name="Tomatoes")
    a_lot(plan, name="Tomatoes", arrives=at(2, 9))
    assert len({lot.name for lot in lots(plan).lots}) == 2


def test_the_dryer_knows_what_its_batches_taught(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = a_plan()
    a_lot(plan)
    assert lots(plan).dryers[0].known == UNCALIBRATED
    before = fingerprint(rests_on(basis_of(plan)))
    calibrated = {("contact", ""): (0.7, 0.4)}
    monkeypatch.setattr("drystow.web.plans.adapters.calibration_for", lambda _dryer: calibrated)
    assert lots(plan).dryers[0].known == calibrated
    assert fingerprint(rests_on(basis_of(plan))) != before


def test_a_batch_without_the_plan_blocks_its_dryer_until_it_is_clean() -> None:
    plan = a_plan()
    a_lot(plan)
    a_batch(started_at=at(0, 8), ended_at=at(1, 12), stage="proof")
    a_batch()  # not begun: nobody knows when it will be
    a_batch(started_at=at(-20, 8), ended_at=at(-19, 8), stage="done")  # long over
    local = at(0, 0).replace(tzinfo=None)
    assert lots(plan).dryers[0].service == ((local + 8 * HOURS, local + 39 * HOURS),)  # 36 h and three to clean


def test_nothing_new_is_loaded_before_now() -> None:
    plan = a_plan()
    a_lot(plan)
    assert lots(plan, at(2, 10)).now == at(2, 10).replace(tzinfo=None)


def test_what_is_in_the_bin_is_not_planned() -> None:
    plan = a_plan()
    a_lot(plan, name="Kept")
    records.put_in_bin(a_lot(plan, name="Binned"))
    assert [lot.name for lot in lots(plan).lots] == ["Kept"]
    assert Lot.objects.count() == 2


def test_the_time_zone_of_the_kitchen_counts_not_that_of_the_computer() -> None:
    plan = a_plan()
    a_lot(plan, BERRIES, arrives=datetime(2026, 7, 1, 2, tzinfo=UTC))
    with timezone.override(ZoneInfo("Asia/Tokyo")):
        assert lots(plan).lots[0].arrival == datetime(2026, 6, 30, 22)


def test_a_batch_that_runs_longer_than_expected_blocks_its_dryer_from_now_on_too() -> None:
    plan = a_plan()
    a_lot(plan)
    hours = {"p10": 18.0, "p50": 20.0, "p90": 24.0}
    a_batch(started_at=at(0, 8), stage="running", prediction={"total_h": hours})
    local = at(0, 0).replace(tzinfo=None)
    # eight runs in ten of a normal spread end 0.84 standard deviations after the middle, nine 1.28 (tables): 22.6 h
    begin, end = lots(plan, at(0, 9)).dryers[0].service[0]
    assert begin == local + 8 * HOURS
    assert (end - local) / HOURS == pytest.approx(8 + 22.6 + 3, abs=0.1)
    assert lots(plan, at(2, 10)).dryers[0].service[0] == (begin, local + 61 * HOURS)


def test_a_booked_batch_that_runs_is_unloaded_when_somebody_is_there() -> None:
    plan = a_plan(home={"daily": ["7-9", "18-22"]})
    lot = a_lot(plan)
    hours = {"p10": 24.0, "p50": 26.0, "p90": 30.0}
    batch = a_batch(started_at=at(0, 8), stage="running", prediction={"total_h": hours})
    part = {"lot": lot.pk, "item": 0, "trays": 2, "mass_kg": 1.0, "frozen": False}
    records.create(Booked(plan=plan, batch=batch, start=at(0, 8), end=at(1, 8), lots=[part]))
    (fixed,) = lots(plan, at(0, 9)).fixed
    assert fixed.begun
    # dry after about 28.6 h, at 12:38 on Tuesday; nobody is there before six in the evening
    assert (fixed.start, fixed.end) == (at(0, 8).replace(tzinfo=None), at(1, 18).replace(tzinfo=None))
    assert fixed.trays == ()  # nothing of the lot is in it any more


def test_a_booked_batch_that_began_days_early_frees_its_dryer_early() -> None:
    plan = a_plan()
    lot = a_lot(plan)
    batch = a_batch(
        started_at=at(0, 8), stage="running", prediction={"total_h": {"p10": 22.0, "p50": 24.0, "p90": 27.0}}
    )
    part = {"lot": lot.pk, "item": 0, "trays": 2, "mass_kg": 1.0, "frozen": False}
    records.create(Booked(plan=plan, batch=batch, start=at(3, 8), end=at(4, 14), lots=[part]))
    (fixed,) = lots(plan, at(0, 9)).fixed
    # thirty hours were planned for it, more than the 26 h of its forecast
    assert (fixed.start, fixed.end) == (at(0, 8).replace(tzinfo=None), at(1, 14).replace(tzinfo=None))


def test_a_batch_booked_by_another_plan_blocks_the_dryer() -> None:
    plan, other = a_plan(), a_plan(title="Another")
    a_lot(plan)
    batch = a_batch()
    part = {"lot": a_lot(other).pk, "item": 0, "trays": 2, "mass_kg": 1.0, "frozen": False}
    booking = records.create(Booked(plan=other, batch=batch, start=at(1, 8), end=at(2, 8), lots=[part]))
    local = at(0, 0).replace(tzinfo=None)
    assert lots(plan).dryers[0].service == ((local + 32 * HOURS, local + 59 * HOURS),)
    records.put_in_bin(booking)
    assert lots(plan).dryers[0].service == ()


def test_batches_that_overlap_on_paper_are_cut_where_the_next_one_began() -> None:
    plan = a_plan()
    lot = a_lot(plan)
    for hour, end in ((8, 40), (30, 60)):
        batch = a_batch(started_at=at(0, 0) + hour * HOURS, ended_at=at(0, 0) + end * HOURS, stage="proof")
        part = {"lot": lot.pk, "item": 0, "trays": 1, "mass_kg": 0.5, "frozen": False}
        records.create(Booked(plan=plan, batch=batch, start=at(0, 8), end=at(1, 8), lots=[part]))
    first, second = lots(plan, at(3, 8)).fixed
    assert first.end == second.start


def test_a_plan_over_the_spring_night_keeps_food_in_until_it_is_dry() -> None:
    friday = datetime(2026, 3, 6, tzinfo=ZONE)  # clocks in New York go forward on Sunday 8 March 2026
    plan = a_plan(begin=friday.date(), days=4)
    for day in (0, 1):
        a_lot(plan, name=f"Lot {day}", mass_kg=3.0, arrives=friday + timedelta(days=day, hours=16))
    with clock(friday):
        result = made(plan).result
    assert len(result.batches) >= 2
    for one in result.batches:
        start, dry, end = one.start, one.dry, one.end
        assert dry - start == 20 * HOURS
        assert end >= dry
        assert 7 <= start.astimezone(ZONE).hour < 22
    assert result.clock_changes

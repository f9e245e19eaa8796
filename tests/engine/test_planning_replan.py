"""Batches that have not begun wait for what is before them; what has begun stays."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import combinations

import vobject
from hypothesis import given, settings
from hypothesis import strategies as st

from drystow.planning.schedule.arrivals import FixedBatch, Lots
from drystow.planning.schedule.batch_time import Reckoning
from drystow.planning.schedule.calendar import calendar_bytes
from drystow.planning.schedule.cold_storage import DAY, Window
from drystow.planning.schedule.grid import at_home
from drystow.planning.schedule.plan import schedule
from drystow.planning.schedule.plan_file import parse_lots
from drystow.planning.schedule.replan import WORK, from_now, settled

BEGIN = datetime(2026, 9, 7)
HOUR = timedelta(hours=1)
STOP = (BEGIN + 60 * HOUR, BEGIN + 72 * HOUR)
TURNAROUND = (2 * HOUR, 3 * HOUR)


def kitchen() -> Lots:
    lot = {"food": "Strawberries, raw", "name": "a", "mass": "3.6 kg", "size": "9 mm", "tray_mass": "0.9 kg",
           "arrives": BEGIN, "drying_time": "20 h"}  # fmt: skip
    return parse_lots(
        {
            "begin": BEGIN, "days": 7, "step": "1 h", "home": {"weekdays": ["6:30-8:30", "17-22"], "weekend": ["8-22"]},
            "dryer": [
                {"name": "One", "profile": "bench-4", "turnaround": "2 h",
                 "service": [{"from": STOP[0], "to": STOP[1]}]},
                {"name": "Two", "profile": "kitchen-5", "turnaround": "3 h"},
            ],
            "arrival": [lot],
        }
    )  # fmt: skip


KITCHEN = kitchen()


def at(hours: float) -> datetime:
    return BEGIN + hours * HOUR


@st.composite
def diaries(draw: st.DrawFn) -> tuple[tuple[FixedBatch, ...], datetime]:
    """Batches that ran one after the other, perhaps later than promised, and batches promised for any time."""
    now = draw(st.integers(-10, 120))
    found = []
    for dryer in range(2):
        ready = -80
        for _number in range(draw(st.integers(0, 3))):
            start = ready + draw(st.integers(0, 20))
            if start <= now:
                ready = start + draw(st.integers(10, 50))
                found.append(FixedBatch(dryer, at(start), at(ready), (("a", 1),)))
        for start in draw(st.lists(st.integers(-80, 150), max_size=4)):
            length = draw(st.integers(10, 40))
            found.append(FixedBatch(dryer, at(start), at(start + length), (("a", 1),), begun=False))
    return tuple(draw(st.permutations(found))), at(now)


@settings(max_examples=150, deadline=None)
@given(diaries())
def test_no_batch_overlaps_none_is_in_the_past_and_what_began_stays(
    diary: tuple[tuple[FixedBatch, ...], datetime],
) -> None:
    fixed, now = diary
    found = settled(fixed, KITCHEN, now)
    assert len(found) == len(fixed)
    for before, after in zip(fixed, found, strict=True):
        assert after.end - after.start == before.end - before.start
        assert replace(after, start=before.start, end=before.end) == before
        if before.begun:
            assert after == before
            continue
        assert after.start >= max(before.start, now)
        around = after.end + TURNAROUND[after.dryer]
        assert after.dryer == 1 or around <= STOP[0] or after.start >= STOP[1]
        if after != before:
            assert at_home(KITCHEN, after.start, WORK)
    for one, other in combinations(range(len(found)), 2):
        first, second = sorted((found[one], found[other]), key=lambda batch: batch.start)
        if first.dryer == second.dryer and not (first.begun and second.begun):
            assert second.start >= first.end + TURNAROUND[first.dryer]
        to_come = fixed[one].dryer == fixed[other].dryer and not fixed[one].begun and not fixed[other].begun
        if to_come and fixed[one].start != fixed[other].start:
            assert (fixed[one].start < fixed[other].start) == (found[one].start < found[other].start)


@settings(max_examples=50, deadline=None)
@given(diaries())
def test_what_is_settled_is_not_moved_again(diary: tuple[tuple[FixedBatch, ...], datetime]) -> None:
    fixed, now = diary
    found = settled(fixed, KITCHEN, now)
    assert settled(found, KITCHEN, now) == found


def test_a_batch_that_runs_longer_pushes_the_next_to_the_first_hour_with_somebody_there() -> None:
    running = FixedBatch(1, at(7), at(31), (("a", 1),))  # unloaded on Tuesday at 7
    promised = FixedBatch(1, at(24 + 7), at(48 + 7), (("a", 1),), begun=False)
    found = settled((running, promised), KITCHEN, at(20))
    # free on Tuesday at 10, somebody is there from 17 on, and on Wednesday at 17 to unload it
    assert found == (running, replace(promised, start=at(24 + 17), end=at(48 + 17)))


def test_without_anybody_there_a_batch_is_moved_all_the_same() -> None:
    nobody = replace(KITCHEN, home=((),) * 7)
    promised = FixedBatch(0, at(50), at(58), (("a", 1),), begun=False)
    found = settled((promised,), nobody, at(52))
    assert found[0].start == STOP[1]


def test_a_plan_from_now_on_has_room_for_what_was_moved() -> None:
    running = FixedBatch(0, at(-4), at(30), (("a", 1),))
    promised = FixedBatch(0, at(20), at(40), (("a", 1),), begun=False)
    lots = from_now(replace(KITCHEN, fixed=(running, promised)), at(12.5))
    made = schedule(lots, seconds=1, workers=1, how=Reckoning(members=5))
    assert [(batch.fixed, batch.begun) for batch in made.batches if batch.dryer == "One"][:2] == [
        (True, True), (True, False),
    ]  # fmt: skip
    for batch in made.batches:
        assert batch.fixed or batch.start >= at(12.5)
    for one, other in combinations([batch for batch in made.batches if batch.dryer == "One"], 2):
        assert one.free <= other.start or other.free <= one.start


def test_food_that_waited_too_long_before_now_is_told_as_such() -> None:
    berries = replace(KITCHEN.lots[0], window=Window(2 * DAY, 0.0, "definition"))
    lots = from_now(replace(KITCHEN, lots=(berries,)), at(100))
    made = schedule(lots, seconds=1, workers=1, how=Reckoning(members=5))
    assert [one.rule for one in made.left_out] == ["too_old"]
    assert "by Wed 9 Sep, 00:00" in made.left_out[0].reason


def test_the_calendar_has_an_event_to_load_what_is_promised_but_not_what_runs() -> None:
    running = FixedBatch(0, at(-4), at(30), (("a", 1),))
    promised = FixedBatch(0, at(41), at(65), (("a", 3),), begun=False)
    lots = replace(KITCHEN, fixed=(running, replace(promised, dryer=1)))
    made = schedule(lots, seconds=1, workers=1, how=Reckoning(members=5))
    read = vobject.readOne(calendar_bytes(made, datetime(2026, 9, 1, tzinfo=UTC)).decode())
    loads = [event.dtstart.value for event in read.vevent_list if event.summary.value.startswith("Load")]
    assert loads == [at(41)]

"""What earlier batches taught of a dryer changes the plans that are made for it; how far the work is."""

import threading
from dataclasses import replace
from datetime import datetime

import pytest

from drystow.machine.load import Load
from drystow.machine.loadfile import parse_load
from drystow.machine.sampling import Calibration
from drystow.planning.load.best_load import plan_load
from drystow.planning.program.best_program import ProgramWishes, find_program
from drystow.planning.schedule.arrivals import Lots
from drystow.planning.schedule.batch_time import Reckoning, drying_time, mean_power
from drystow.planning.schedule.grid import to_grid
from drystow.planning.schedule.plan import schedule
from drystow.planning.schedule.plan_file import parse_lots
from drystow.planning.watching import watched
from tests.patience import until
from tests.planning_counters import counter, food

QUICK = Reckoning(members=15)
SLOW: Calibration = {("contact", ""): (-2.0, 0.3), ("vapour", ""): (-1.0, 0.5)}
"""Less heat from the shelves and a narrower way to the trap than usual: longer times by any law of drying."""


def kitchen(known: Calibration | None = None) -> Lots:
    lot = {"food": "Strawberries, raw", "name": "a", "mass": "3.6 kg", "size": "9 mm", "tray_mass": "0.9 kg",
           "arrives": datetime(2026, 9, 7, 6)}  # fmt: skip
    lots = parse_lots({"begin": datetime(2026, 9, 7), "days": 4, "step": "1 h", "tariff": {"price": 0.3},
                       "dryer": [{"name": "One", "profile": "bench-4"}], "arrival": [lot]})  # fmt: skip
    return replace(lots, dryers=(replace(lots.dryers[0], known=known or {}),))


def one_tray() -> Load:
    tray = {"food": "Strawberries, raw", "mass": "1.2 kg", "size": "9 mm"}
    program = {"shelf": ["-10 degC for 2 h", "40 degC until dry"]}
    return parse_load({"dryer": {"profile": "bench-4"}, "program": program, "tray": [tray]})


def test_a_dryer_that_is_known_to_be_slow_gets_longer_batches() -> None:
    usual, slow = to_grid(kitchen(), QUICK).jobs[0], to_grid(kitchen(SLOW), QUICK).jobs[0]
    assert slow.fresh[0] > usual.fresh[0]
    assert slow.frozen[0] > usual.frozen[0]
    made = [schedule(lots, seconds=1, workers=1, how=QUICK) for lots in (kitchen(), kitchen(SLOW))]
    lengths = [plan.batches[0].dry - plan.batches[0].start for plan in made]
    assert lengths[1] > lengths[0]


def test_what_is_known_is_part_of_what_is_remembered() -> None:
    lots = kitchen()
    cut, rig = lots.lots[0].item, lots.dryers[0].rig
    usual = drying_time(rig, cut, QUICK)
    assert drying_time(rig, cut, QUICK, SLOW) > usual
    assert drying_time(rig, cut, QUICK) == usual
    assert mean_power(rig, cut, SLOW) != mean_power(rig, cut)


def test_a_narrower_knowledge_of_the_same_middle_makes_the_sure_time_shorter() -> None:
    lots = kitchen()
    cut, rig = lots.lots[0].item, lots.dryers[0].rig
    sharp: Calibration = {("contact", ""): (0.0, 0.05), ("vapour", ""): (0.0, 0.05), ("shelf", ""): (0.0, 0.05)}
    many = Reckoning(members=50)
    assert drying_time(rig, cut, many, sharp) < drying_time(rig, cut, many)


def test_the_best_load_of_a_slow_dryer_is_dry_later() -> None:
    one = counter(food("Strawberries, raw", "1 kg", must=True), time="60 h")
    usual, slow = plan_load(one, members=20), plan_load(one, members=20, known=SLOW)
    assert slow.end.p50 > usual.end.p50 + 3600
    assert slow.load.rig.dryer == usual.load.rig.dryer  # the load is written down with the dryer's own numbers


def test_the_shelf_program_of_a_slow_dryer_may_be_warmer_and_its_own_takes_longer() -> None:
    usual = find_program(one_tray(), ProgramWishes(most_steps=1), members=40)
    slow = find_program(one_tray(), ProgramWishes(most_steps=1), members=40, known=SLOW)
    assert slow.plain.time > usual.plain.time
    assert slow.plain.kept >= usual.plain.kept  # less heat reaches the ice
    assert max(step.shelf for step in slow.found.program) >= max(step.shelf for step in usual.found.program)


def test_the_share_of_the_work_rises_to_one_in_the_thread_of_the_caller() -> None:
    told: list[tuple[float, threading.Thread]] = []
    schedule(
        kitchen(), seconds=1, workers=1, how=QUICK, tick=lambda share: told.append((share, threading.current_thread()))
    )
    shares = [share for share, _thread in told]
    assert shares == sorted(shares)
    assert 0.0 < shares[0] < 1.0
    assert shares[-1] == 1.0
    assert {thread for _share, thread in told} == {threading.current_thread()}


def test_work_that_takes_longer_than_it_should_is_nearly_done_until_it_is() -> None:
    told: list[float] = []

    def slow() -> int:
        until(lambda: len(told) > 1)
        return 7

    assert watched(slow, 0.01, told.append) == 7
    assert max(told) < 1.0


def test_what_goes_wrong_beside_is_told_to_the_caller() -> None:
    def wrong() -> int:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        watched(wrong, 1.0, lambda _share: None)

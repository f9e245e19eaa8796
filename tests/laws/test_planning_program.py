"""A shelf program that was found keeps its limits, is not slower than a plain one, and slower when one asks more."""

import itertools
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError
from drystow.machine.ensemble import simulate_members
from drystow.machine.load import Load, ProgramStep
from drystow.machine.run import simulate
from drystow.machine.sampling import load_samples
from drystow.planning.program.best_program import ProgramWishes, find_program
from drystow.planning.program.search import Bench, ShelfStep, merged, neighbours, rounded, shelf_program
from drystow.planning.program.verifying import Verifier
from tests.loads import held, machine, tray

MEMBERS = 40


def one_tray(limit: float = -22.0) -> Load:
    """One tray in the kitchen dryer with a limit of its own [°C]."""
    load = machine(tray(mass="0.9 kg", size="9 mm"), shelf=("10 degC until dry",))
    return replace(load, items=tuple(replace(item, limit=ZERO_CELSIUS + limit) for item in load.items))


@pytest.mark.parametrize("limit", [-21.0, -15.0])
def test_limits_are_kept_as_surely_as_was_asked(limit: float) -> None:
    load = one_tray(limit)
    found = find_program(load, ProgramWishes(most_steps=2, margin=0.5), members=MEMBERS)
    runs = simulate_members(found.load, load_samples(load, MEMBERS, 1))  # counted here once more, by hand
    cool = (runs.hottest <= ZERO_CELSIUS + limit - 0.5).all(axis=1) & ~np.isnan(runs.dry).any(axis=1)
    assert found.safe == (cool.mean() >= 0.9)
    assert found.safe
    assert found.found.kept == pytest.approx(cool.mean())
    for step in found.found.program:
        assert step.shelf <= load.rig.dryer.shelf_highest
    assert found.found.time == pytest.approx(simulate(found.load).total_time, rel=1e-3)


def test_a_safe_own_program_is_never_beaten_by_a_slower_one() -> None:
    load = one_tray(-11.0)
    found = find_program(load, ProgramWishes(most_steps=2), members=MEMBERS)
    assert found.plain_safe
    assert found.time_saved >= 0.0
    kept = find_program(found.load, ProgramWishes(most_steps=2), members=MEMBERS)
    assert kept.found.time <= found.found.time + 1.0


def test_a_stricter_confidence_is_never_faster() -> None:
    load = one_tray(-17.0)
    times = [
        find_program(load, ProgramWishes(most_steps=2, confidence=level), members=MEMBERS).found.time
        for level in (0.8, 0.95)
    ]
    assert times == sorted(times)


def test_one_step_is_what_trying_every_shelf_finds() -> None:
    load = held(tray(), shelf="10 degC", pressure="20 Pa")
    load = replace(load, items=tuple(replace(item, limit=ZERO_CELSIUS - 11.0) for item in load.items))
    verifier = Verifier(load, 1.0, MEMBERS, 1, lambda _runs: None)
    best = math.inf
    for celsius in range(-20, 70, 5):
        program = (ProgramStep(ZERO_CELSIUS + celsius, math.inf),)
        result = simulate(replace(load, rig=replace(load.rig, program=program)), tolerance=1e-4)
        runs = simulate_members(load, verifier.draws, program=np.array([(math.inf, ZERO_CELSIUS + celsius)]))
        cool = (runs.hottest <= ZERO_CELSIUS - 12.0).all(axis=1) & ~np.isnan(runs.dry).any(axis=1)
        if cool.mean() >= 0.9 and result.ended_by == "dry":
            best = min(best, result.total_time)
    found = find_program(load, ProgramWishes(most_steps=1), members=MEMBERS)
    assert found.safe
    assert found.found.time == pytest.approx(best)


def test_two_steps_come_near_to_a_grid_of_all() -> None:
    load = held(tray(), shelf="10 degC", pressure="20 Pa")
    load = replace(load, items=tuple(replace(item, limit=ZERO_CELSIUS - 11.0) for item in load.items))
    verifier, bench = Verifier(load, 1.0, MEMBERS, 1, lambda _runs: None), Bench(load)
    tried = []
    for first, halves, second in itertools.product(range(0, 14, 3), (4, 10, 20, 30), range(0, 14, 3)):
        steps = merged((ShelfStep(first, halves), ShelfStep(second, 0)))
        tried.append((bench.trial(steps).time, steps))
    grid = next(time for time, steps in sorted(tried) if verifier.passes(shelf_program(steps), bench.trial(steps), 0.9))
    found = find_program(load, ProgramWishes(most_steps=2), members=MEMBERS)
    assert found.found.time <= grid * 1.02


def test_each_step_says_why_it_is_not_warmer() -> None:
    found = find_program(one_tray(-24.0), ProgramWishes(most_steps=2), members=MEMBERS)
    assert len(found.stops) == len(found.found.program)
    assert {stop.limit for stop in found.stops} <= {"front", "shelf", "heater", "pressure", "no_gain", "round_numbers"}
    assert any(stop.limit == "front" and stop.tray == 0 and "limit of" in stop.words for stop in found.stops)


def set_at(program: tuple[ProgramStep, ...], hour: float) -> float:
    """Set-point of a program at an hour, walked through by hand."""
    left = 3600.0 * hour
    for step in program:
        if left < step.duration:
            return step.shelf
        left -= step.duration
    return program[-1].shelf


OWN = {
    "one step": ("10 degC until dry",),
    "two steps": ("-15 degC for 12 h", "25 degC until dry"),
    "not in round numbers": ("-12 degC for 7.3 h", "33 degC until dry"),
    "cooler in the end": ("40 degC for 3 h", "-5 degC until dry"),
    "cold already": ("-20 degC until dry",),
}


@pytest.mark.parametrize("limit", [-60.0, -32.0, -27.0])
@pytest.mark.parametrize("own", OWN)
def test_where_no_program_keeps_the_limit_nothing_warmer_than_the_own_one_is_offered(own: str, limit: float) -> None:
    load = machine(tray(mass="0.9 kg", size="9 mm"), tray(mass="0.5 kg", size="6 mm"), shelf=OWN[own])
    limits = (ZERO_CELSIUS + limit, ZERO_CELSIUS - 5.0)
    load = replace(load, items=tuple(replace(item, limit=one) for item, one in zip(load.items, limits, strict=True)))
    found = find_program(load, ProgramWishes(most_steps=2, confidence=0.99), members=MEMBERS)
    assert not found.safe
    assert "keeps all limits as surely" in found.notes[0]
    assert "(tray 1)" in found.notes[0]
    assert found.worst == 0
    assert found.stops == ()
    for half in range(200):
        assert set_at(found.found.program, half / 2 + 0.01) <= set_at(load.rig.program, half / 2 + 0.01) + 1e-6
    if found.usable:
        assert found.found.kept > found.plain.kept
        for hot, before, one in zip(found.found.hottest, found.plain.hottest, limits, strict=True):
            assert hot <= max(before, one - found.margin)
    else:
        assert found.found.program == load.rig.program


def test_a_cooler_program_that_keeps_the_limit_more_often_is_offered_where_none_is_safe() -> None:
    load = machine(tray(mass="0.9 kg", size="9 mm"), shelf=("40 degC until dry",))
    load = replace(load, items=tuple(replace(item, limit=ZERO_CELSIUS - 27.0) for item in load.items))
    found = find_program(load, ProgramWishes(most_steps=1, confidence=0.99), members=MEMBERS)
    assert (found.safe, found.usable) == (False, True)
    assert found.found.program[0].shelf < load.rig.program[0].shelf
    assert "nowhere warmer" in found.notes[0]


def test_neighbours_are_round_and_within_bounds() -> None:
    start = rounded((ProgramStep(ZERO_CELSIUS - 13.0, 5000.0), ProgramStep(ZERO_CELSIUS + 41.0, math.inf)), 13)
    assert start == (ShelfStep(-3, 3), ShelfStep(8, 0))
    for steps in neighbours(start, 3, 13):
        assert 1 <= len(steps) <= 3
        assert steps[-1].halves == 0
        assert all(step.halves >= 1 for step in steps[:-1])
        assert all(-4 <= step.level <= 13 for step in steps)
        assert all(one.level != other.level for one, other in itertools.pairwise(steps))


@pytest.mark.parametrize("wrong", [{"confidence": 0.87}, {"margin": -1.0}, {"most_steps": 9}, {"highest": 900.0}])
def test_what_cannot_be_wished_for_is_named(wrong: dict[str, Any]) -> None:
    rig = one_tray().rig
    load = replace(one_tray(), rig=replace(rig, dryer=replace(rig.dryer, shelf_highest=1000.0)))
    with pytest.raises(InputError, match=next(iter(wrong))):
        find_program(load, ProgramWishes(**wrong))


def test_too_few_members_are_named() -> None:
    with pytest.raises(InputError, match="members"):
        find_program(one_tray(), members=1)

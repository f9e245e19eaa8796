"""One season with one choice of dryers: what a careful cook dries day by day, and what spoils."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from drystow.planning.schedule.arrivals import Lots
from drystow.planning.schedule.batch_time import Reckoning, drying_time, mean_power
from drystow.planning.schedule.cold_storage import DAY
from drystow.planning.schedule.greedy import ORDERS, all_ends, load_in_order
from drystow.planning.schedule.grid import (
    Plan,
    Run,
    ScheduleProblem,
    grid_step,
    in_freezer,
    plan_cost,
    saved_mass,
    saved_value,
    to_grid,
)
from drystow.planning.season.garden import Garden, GardenCrop, Picking, SeasonOutcome

PICKED = timedelta(hours=9)  # of the day, when a picking is in the kitchen; drystow-default
FULL = 0.95  # part of the freezer's space from which it counts as full [-]
WEEK = 7 * 24 * 3600.0


@dataclass(frozen=True)
class Equipment:
    """A choice of dryers, with what does not change from season to season.

    lots: the kitchen with one lot for each crop
    power: mean electric power of a dryer full of one crop, per dryer and crop [W]
    times: until a fresh tray is dry, per dryer and crop, 0 when it never is [s]
    """

    lots: Lots
    power: tuple[tuple[float, ...], ...]
    times: tuple[tuple[float, ...], ...]


def equipment_of(lots: Lots, how: Reckoning) -> Equipment:
    """Return a choice of dryers with the times and the power of each crop.

    lots: the kitchen with one lot for each crop
    how: members and seed of the drying times
    """
    power, times = [], []
    for number, dryer in enumerate(lots.dryers):
        cuts = [lot.cuts[number] for lot in lots.lots]
        power.append(tuple(0.0 if cut is None else mean_power(dryer.rig, cut.fresh, dryer.known) for cut in cuts))
        times.append(
            tuple(
                0.0 if cut is None else lot.drying_time or drying_time(dryer.rig, cut.fresh, how, dryer.known)
                for lot, cut in zip(lots.lots, cuts, strict=True)
            )
        )
    return Equipment(lots, tuple(power), tuple(times))


def season_problem(equipment: Equipment, pickings: Sequence[Picking], how: Reckoning) -> ScheduleProblem:
    """Return one season on the grid, a job for each picking in their order.

    equipment: dryers
    pickings: of the season
    how: members and seed of the drying times
    """
    lots = equipment.lots
    jobs = tuple(
        replace(
            lots.lots[one.crop],
            name=f"{number} {lots.lots[one.crop].name}",
            mass=one.mass,
            arrival=lots.begin + timedelta(days=one.day) + PICKED,
        )
        for number, one in enumerate(pickings)
    )
    return to_grid(replace(lots, lots=jobs), how)


def careful_plan(problem: ScheduleProblem) -> Plan:
    """Return the best plan of a few simple rules: whenever a dryer is free, load what comes first in an order.

    The best one saves most value beyond what its electricity costs. A dryer is loaded with a single tray, or only when
    half of the trays are filled.

    problem: a season on the grid
    """
    ends = all_ends(problem)
    half = -(-max(machine.trays for machine in problem.machines) // 2)
    plans = []
    for order in ORDERS.values():
        lots = sorted(range(len(problem.jobs)), key=lambda number: order(problem.jobs[number]))
        plans += [load_in_order(problem, ends, lots, least) for least in (1, half)]
    return max(plans, key=lambda plan: (saved_value(problem, plan) - 10 * plan_cost(problem, plan), -len(plan)))


def try_one(garden: Garden, equipment: Equipment, pickings: Sequence[Picking], how: Reckoning) -> SeasonOutcome:
    """Return how one season goes with one choice of dryers.

    garden: the season
    equipment: the choice
    pickings: of the season
    how: members and seed of the drying times
    """
    problem = season_problem(equipment, pickings, how)
    return outcome(garden, equipment, pickings, problem, careful_plan(problem))


def outcome(
    garden: Garden, equipment: Equipment, pickings: Sequence[Picking], problem: ScheduleProblem, plan: Plan
) -> SeasonOutcome:
    """Return what a plan of a season comes to.

    garden: the season
    equipment: the choice
    pickings: of the season
    problem: the same on the grid
    plan: its batches
    """
    step = grid_step(equipment.lots)
    came, lost = [0.0] * len(garden.crops), [0.0] * len(garden.crops)
    weeks = [[0.0] * (problem.steps * round(step) // round(WEEK)) for _ in range(3)]
    left = {}
    for number, (one, job) in enumerate(zip(pickings, problem.jobs, strict=True)):
        left[number] = job.mass
        missing = (job.mass - saved_mass(problem, plan, number)) / 1e3
        came[one.crop] += job.mass / 1e3
        lost[one.crop] += missing
        weeks[0][one.day // 7] += job.mass / 1e3
        weeks[1][one.day // 7] += missing
    energy, cost = 0.0, 0.0
    for run in sorted(plan, key=lambda run: run.start):
        for number, trays in run.trays.items():
            mass = min(trays * problem.jobs[number].loads[run.machine], left[number])
            left[number] -= mass
            weeks[2][math.floor(run.start * step / WEEK)] += mass / 1e3
        power = _power(equipment, pickings, run)
        energy += power * (run.end - run.start) * step
        cost += power / 1e3 * _price(equipment.lots, run, step)
    values = [lot.value for lot in equipment.lots.lots]
    full, days = _freezer(problem, plan, step)
    return SeasonOutcome(
        came=tuple(came),
        lost=tuple(lost),
        value_came=sum(value * mass for value, mass in zip(values, came, strict=True)),
        value_lost=sum(value * mass for value, mass in zip(values, lost, strict=True)),
        weeks_came=tuple(weeks[0]),
        weeks_lost=tuple(weeks[1]),
        weeks_dried=tuple(weeks[2]),
        batches=len(plan),
        time=sum(run.end - run.start for run in plan) * step,
        energy=energy,
        cost=cost,
        freezer=full,
        freezer_days=days,
    )


def _power(equipment: Equipment, pickings: Sequence[Picking], run: Run) -> float:
    """Return the mean power of a batch: that of full dryers of its foods, by their trays [W]."""
    powers = equipment.power[run.machine]
    return sum(powers[pickings[job].crop] * trays for job, trays in run.trays.items()) / sum(run.trays.values())


def _price(lots: Lots, run: Run, step: float) -> float:
    """Return what a kilowatt costs from loading to unloading [currency/kW]."""
    total = 0.0
    for at in range(run.start, run.end):
        moment = lots.begin + timedelta(seconds=step * (at + 0.5))
        total += lots.price[moment.weekday()][moment.hour]
    return total * step / 3600.0


def _freezer(problem: ScheduleProblem, plan: Plan, step: float) -> tuple[float, int]:
    """Return the largest part of the freezer's space that is taken, and the days on which it is full."""
    space = 1000 * problem.freezer[0]
    if not space:
        return 0.0, 0
    used = [0] * (problem.steps + 1)
    for run in plan:
        for number, trays in run.trays.items():
            job = problem.jobs[number]
            if steps := in_freezer(job, run.start):
                used[steps.start] += job.room * job.loads[run.machine] * trays
                used[steps.stop] -= job.room * job.loads[run.machine] * trays
    day = round(24 * 3600 / step)
    now, most, full = 0, 0, set()
    for at, change in enumerate(used):
        now += change
        most = max(most, now)
        if now >= FULL * space:
            full.add(at // day)
    return most / space, len(full)


SAME_WEATHER = 0.8  # of the variance of early and late that all crops share: a warm year is early for all
SAME_YIELD = 0.3  # of the variance of the mass that all crops share; both drystow-default
LEAST = 0.05  # a smaller picking waits for the next [kg]


def draw_season(garden: Garden, number: int) -> tuple[Picking, ...]:
    """Return what is picked in one season, in the order of days.

    garden: what ripens
    number: of the season, from 0; the same seed and number give the same season
    """
    dice = np.random.default_rng([garden.seed, number, 0])  # numpy takes a missing number for a zero
    warm, good = dice.standard_normal(2)
    found: list[Picking] = []
    for place, crop in enumerate(garden.crops):
        own = np.random.default_rng([garden.seed, number, place + 1])
        when, much = own.standard_normal(2)
        shift = garden.shift / DAY * _shared(warm, when, SAME_WEATHER)
        mass = crop.mass * _growth(crop.uncertain, _shared(good, much, SAME_YIELD))
        found += _pickings(garden, place, crop, shift, mass, own)
    return tuple(sorted(found, key=lambda one: (one.day, one.crop)))


def picked_share(low: float, high: float, first: float, peak: float, last: float) -> float:
    """Return which part of a crop ripens between two moments: a triangle that is highest at the peak [-].

    low: earlier moment [day]
    high: later moment [day]
    first: begin of ripening [day]
    peak: when most ripens [day]
    last: end of ripening [day]

    >>> picked_share(0.0, 2.0, 0.0, 2.0, 8.0)
    0.25
    """
    return _ripe(high, first, peak, last) - _ripe(low, first, peak, last)


def _ripe(at: float, first: float, peak: float, last: float) -> float:
    if at <= first:
        return 0.0
    if at >= last:
        return 1.0
    if at <= peak:
        return (at - first) ** 2 / ((last - first) * (peak - first))
    return 1.0 - (last - at) ** 2 / ((last - first) * (last - peak))


def _shared(common: float, own: float, part: float) -> float:
    """Return a standard normal number of which all crops share a part of the variance."""
    return math.sqrt(part) * common + math.sqrt(1.0 - part) * own


def _growth(uncertain: float, normal: float) -> float:
    """Return a lognormal factor with mean 1."""
    variance = math.log1p(uncertain**2)
    return math.exp(math.sqrt(variance) * normal - variance / 2)


def _pickings(
    garden: Garden, place: int, crop: GardenCrop, shift: float, mass: float, dice: np.random.Generator
) -> list[Picking]:
    """Return the pickings of a crop: the time from the first day to the last in equal parts, one in each."""
    begin = garden.begin.date()
    first, last = (crop.first - begin).days, (crop.last - begin).days + 1
    peak = (crop.peak - begin).days + 0.5
    count = max(round((last - first) / 7 * crop.per_week), 1)
    step = (last - first) / count
    phase = float(dice.random())
    latest = 7 * garden.weeks - 1
    masses: dict[int, float] = {}
    waiting, day = 0.0, 0
    for number in range(count):
        day = math.floor(first + shift + (number + phase) * step)
        day = min(max(day, 0), latest)  # what ripens outside the season counts on its first or last day
        waiting += mass * picked_share(first + number * step, first + (number + 1) * step, first, peak, last)
        if waiting >= LEAST:
            masses[day] = masses.get(day, 0.0) + waiting
            waiting = 0.0
    if waiting:
        last_day = max(masses, default=day)
        masses[last_day] = masses.get(last_day, 0.0) + waiting
    return [Picking(place, day, mass) for day, mass in masses.items()]

"""From whole grams and trays back to the food itself: what of each lot lies in which batch, to the last bit of it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from drystow.planning.schedule.arrivals import Lots
from drystow.planning.schedule.grid import Plan, ScheduleProblem, is_frozen, saved_mass
from drystow.planning.schedule.gridding import Kept

NOTHING = 5e-4
"""Less than what a gram is rounded to [kg]. Source: definition."""


@dataclass(frozen=True)
class Masses:
    """Fresh food, by kilogram.

    inside: of each lot in each batch, beside the plan: number of the lot -> mass [kg]
    left: of each lot that is in no batch, those that are kept included [kg]
    """

    inside: tuple[Mapping[int, float], ...]
    left: tuple[float, ...]


def masses_of(lots: Lots, problem: ScheduleProblem, plan: Plan, kept: Kept) -> Masses:
    """Return what of each lot lies in each batch of a plan; together with what is left it is the whole lot.

    The search loads the trays of a lot evenly, as few as hold it in each dryer. Where a lot is split over unequal
    dryers, what is left over then goes onto its trays that are not full, as far as the vapor trap takes its water.

    lots: what is to be dried
    problem: the same on the grid
    plan: batches on it
    kept: what became of the food of batches that are kept
    """
    left = [
        max(lot.mass - sum(mass for (_place, name), mass in kept.masses.items() if name == lot.name), 0.0)
        for lot in lots.lots
    ]
    inside: list[dict[int, float]] = []
    for run in plan:
        inside.append({})
        for job, trays in run.trays.items():
            mass = min(problem.jobs[job].loads[run.machine] * trays / 1e3, left[job])
            inside[-1][job] = mass
            left[job] -= mass
    for run, masses in zip(plan, inside, strict=True):
        for job, trays in run.trays.items():
            cut = lots.lots[job].cuts[run.machine]
            if cut is None or left[job] <= 0.0 or is_frozen(problem.jobs[job], run.start):
                continue
            share = cut.fresh.water / cut.mass
            dry = problem.machines[run.machine].trap / 1e3 - sum(_water(lots, run.machine, masses))
            more = max(min(left[job], trays * cut.mass - masses[job], dry / share if share else left[job]), 0.0)
            masses[job] += more
            left[job] -= more
    for job, rest in enumerate(left):
        whole = saved_mass(problem, plan, job) == problem.jobs[job].mass > 0
        if 0.0 < rest <= NOTHING and whole:  # what rounding to grams left
            last = next(masses for masses in reversed(inside) if job in masses)
            last[job] += rest
            left[job] = 0.0
    _never_more(lots, problem, plan, inside, kept)
    return Masses(tuple(inside), tuple(left))


def _never_more(lots: Lots, problem: ScheduleProblem, plan: Plan, inside: list[dict[int, float]], kept: Kept) -> None:
    """Take from the largest part of a lot what its parts, added up as they are read, are above the lot by rounding."""
    order = sorted(range(len(plan)), key=lambda at: (plan[at].start, problem.machines[plan[at].machine].name))
    for job, lot in enumerate(lots.lots):
        parts = [inside[at] for at in order if inside[at].get(job)]
        before = [mass for (_place, name), mass in kept.masses.items() if name == lot.name]
        while parts and sum([*before, *(part[job] for part in parts)]) > lot.mass:
            max(parts, key=lambda part: part[job])[job] -= math.ulp(lot.mass)


def _water(lots: Lots, machine: int, masses: Mapping[int, float]) -> list[float]:
    found = []
    for job, mass in masses.items():
        cut = lots.lots[job].cuts[machine]
        found.append(0.0 if cut is None else mass * cut.fresh.water / cut.mass)
    return found

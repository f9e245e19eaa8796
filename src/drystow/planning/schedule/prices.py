"""Bounds from prices: when dryer time, places and freezer space cost something, what is a batch worth beyond that?

Whatever the prices, what all there is costs, and what the best batches gain beyond their price, is at least what any
schedule saves (Lagrangian bound). Good prices come from a linear program, see `columns`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix

from drystow.planning.schedule.grid import ScheduleProblem, in_freezer
from drystow.planning.schedule.structure import Slot

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SLACK = 1e-9  # of a bound, for the rounding of its sums


@dataclass(frozen=True)
class Market:
    """What there is to sell, and what each tray and each batch takes of it. A ware is a lot in a slot.

    worth: of a tray of each ware [1/1000 cent]
    job: of each ware
    most: trays of each ware in one batch
    slot: of each ware, rising
    places: of each slot
    dryers: equal ones that each slot stands for
    of_wares: what a tray of each ware takes, row by row
    of_slots: what a batch in each slot takes, row by row
    there: what there is, row by row
    dearest: no row's price needs to be higher
    """

    worth: Floats
    job: Ints
    most: Ints
    slot: Ints
    places: Ints
    dryers: Ints
    of_wares: csr_matrix
    of_slots: csr_matrix
    there: Floats
    dearest: Floats


@dataclass(frozen=True)
class Offer:
    """What batches are worth at given prices.

    bound: no schedule saves more [1/1000 cent]
    gains: of the best batch in each slot, beyond its price
    forced: of the best batch with a tray of each ware
    trays: of each ware in the best batch of its slot
    """

    bound: float
    gains: Floats
    forced: Floats
    trays: Ints


def market(
    problem: ScheduleProblem, slots: Sequence[Slot], groups: Sequence[Sequence[int]], prices: Sequence[int]
) -> Market:
    """Return what there is to sell.

    problem: lots, dryers and rules
    slots: places for batches
    groups: numbers of equal dryers
    prices: of a kilogram of each job [cents]
    """
    jobs = problem.jobs
    wares = [(place, job) for place, slot in enumerate(slots) for job in slot.lots]
    machine = [groups[slot.group][0] for slot in slots]
    loads = [jobs[job].loads[machine[place]] for place, job in wares]
    rows: list[tuple[dict[int, float], dict[int, float], float, float]] = []  # of wares, of slots, there, dearest
    for number, job in enumerate(jobs):
        own = [ware for ware, (_place, one) in enumerate(wares) if one == number]
        rows.append(({ware: loads[ware] for ware in own}, {}, job.mass, prices[number]))
        for group, members in enumerate(groups):
            inside: dict[int, float] = {ware: 1.0 for ware in own if slots[wares[ware][0]].group == group}
            rows.append((inside, {}, job.trays[members[0]], np.inf))
        if len({job.trays[machine[wares[ware][0]]] for ware in own}) == 1:
            rows.append((dict.fromkeys(own, 1.0), {}, max(job.trays), np.inf))
    for group, members in enumerate(groups):
        turnaround = problem.machines[members[0]].turnaround
        same = [(place, slot) for place, slot in enumerate(slots) if slot.group == group]
        for step in sorted({slot.start for _place, slot in same}):
            during = {place: 1.0 for place, slot in same if slot.start <= step < slot.end + turnaround}
            rows.append(({}, during, len(members), np.inf))
    for step in problem.freezer_moments:
        waiting: dict[int, float] = {
            ware: jobs[job].room * loads[ware]
            for ware, (place, job) in enumerate(wares)
            if step in in_freezer(jobs[job], slots[place].start)
        }
        rows.append((waiting, {}, 1000 * problem.freezer[step], np.inf))
    rows = [row for row in rows if (row[0] or row[1]) and row[2] < np.inf]
    return Market(
        worth=np.array([prices[job] * load for (_place, job), load in zip(wares, loads, strict=True)], float),
        job=np.array([job for _place, job in wares]),
        most=np.array([min(jobs[job].trays[machine[place]], slots[place].places) for place, job in wares]),
        slot=np.array([place for place, _job in wares]),
        places=np.array([slot.places for slot in slots]),
        dryers=np.array([len(groups[slot.group]) for slot in slots]),
        of_wares=_matrix([row[0] for row in rows], len(wares)),
        of_slots=_matrix([row[1] for row in rows], len(slots)),
        there=np.array([row[2] for row in rows], float),
        dearest=np.array([row[3] for row in rows], float),
    )


def _matrix(rows: Sequence[dict[int, float]], width: int) -> csr_matrix:
    numbers = [number for number, row in enumerate(rows) for _place in row]
    places = [place for row in rows for place in row]
    values = [value for row in rows for value in row.values()]
    return csr_matrix((values, (numbers, places)), shape=(len(rows), width))


def offer(here: Market, prices: Floats) -> Offer:
    """Return what batches are worth, and the bound, at any prices.

    here: what there is to sell
    prices: of each row; negative ones count as nothing
    """
    prices = np.clip(prices, 0.0, here.dearest)
    each = np.where(here.most > 0, here.worth - prices @ here.of_wares, -np.inf)
    order = np.lexsort((-each, here.slot))
    slot, net, most = here.slot[order], each[order], here.most[order]
    before = np.cumsum(most) - most
    first = np.searchsorted(slot, np.arange(len(here.places)))
    before -= before[first][slot]
    taken = np.where(net > 0, np.clip(here.places[slot] - before, 0, most), 0)
    taken[first] = np.where(net[first] > -np.inf, np.maximum(taken[first], 1), 0)  # no batch is empty
    inside = taken > 0
    value = np.bincount(slot[inside], taken[inside] * net[inside], len(here.places))
    last = np.full(len(here.places), np.inf)
    np.minimum.at(last, slot[inside], net[inside])
    full = np.bincount(slot, taken, len(here.places)) == here.places
    last = np.where(full, last, np.minimum(last, 0.0))  # what a batch can give up for another tray
    gains = np.where(np.isinf(net[first]), -np.inf, value - prices @ here.of_slots)
    forced = np.empty_like(each)
    forced[order] = np.where(inside, gains[slot], np.where(most > 0, gains[slot] + net - last[slot], -np.inf))
    trays = np.empty_like(here.most)
    trays[order] = taken
    bound = prices @ here.there + here.dryers @ np.maximum(gains, 0.0)
    size = prices @ np.abs(here.there) + here.dryers @ np.abs(value)
    return Offer(float(bound + SLACK * size), gains, forced, trays)

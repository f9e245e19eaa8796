"""Bounds from prices: when dryer time, places and freezer space cost something, what is a batch worth beyond that?

Whatever the prices, what all there is costs, and what the best batches gain beyond their price, is at least what any
schedule saves (Lagrangian bound). Good prices come from a linear program of batches by column generation, split again
where it loads half a dryer at a time.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import csr_matrix, hstack, vstack

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


NEAR = 1e-4  # of the bound, up to which a linear program is solved
SMOOTH = 0.5  # share of the best prices so far in the prices that batches are asked for
QUICK = {"presolve": False}  # it takes longer than it saves here
ROUNDS = 200  # of asking for batches in one linear program


@dataclass(frozen=True)
class Split:
    """Limit of the batches that some slots hold together.

    slots: their numbers
    least: so many or more; or
    most: so many or fewer
    """

    slots: tuple[int, ...]
    least: int | None = None
    most: int | None = None


@dataclass(frozen=True)
class Relaxed:
    """Solution of a linear program.

    bound: no schedule within the splits saves more [1/1000 cent]
    prices: of the rows
    batches: how much of a batch stands in each slot
    offer: at these prices
    """

    bound: float
    prices: Floats
    batches: Floats
    offer: Offer


class Columns:
    """All batches found so far; they serve every linear program of the same market."""

    def __init__(self, here: Market) -> None:
        self.here = here
        self.known: set[bytes] = set()
        self.trays = csr_matrix((len(here.worth), 0))
        self.slots: Ints = np.zeros(0, int)
        free = offer(here, np.zeros(len(here.there)))
        self.add(free.trays, np.arange(len(here.places)))

    def add(self, trays: Ints, slots: Ints) -> int:
        """Add batches and return how many are new.

        trays: of each ware in the batch of its slot
        slots: whose batch is added
        """
        chosen = np.isin(self.here.slot, slots) & (trays > 0)
        new = []
        wares = np.flatnonzero(chosen)
        for slot in slots:
            own = wares[self.here.slot[wares] == slot]
            key = np.concatenate([own, trays[own]]).tobytes()
            if len(own) and key not in self.known:
                self.known.add(key)
                new.append((slot, own))
        if new:
            rows = np.concatenate([own for _slot, own in new])
            columns = np.concatenate([np.full(len(own), number) for number, (_slot, own) in enumerate(new)])
            block = csr_matrix((trays[rows].astype(float), (rows, columns)), shape=(len(self.here.worth), len(new)))
            self.trays = hstack([self.trays, block], format="csr")
            self.slots = np.concatenate([self.slots, [slot for slot, _own in new]])
        return len(new)

    def narrow(self, most: Ints) -> Market:
        """Return the market with fewer trays of its wares, and forget batches that have more."""
        self.here = replace(self.here, most=most)
        outside = np.flatnonzero(most == 0)
        fits = self.trays[outside].getnnz(axis=0) == 0
        self.trays, self.slots = self.trays[:, fits], self.slots[fits]
        return self.here

    def near(self, here: Market, prices: Floats, least: float) -> Ints:
        """Return the numbers of the batches that gain no less than a (negative) value at the prices of a market."""
        gains = here.worth @ self.trays - prices @ self._takes(here, np.arange(len(self.slots)))
        return np.flatnonzero(gains >= least)

    def _takes(self, here: Market, chosen: Ints) -> csr_matrix:
        return here.of_wares @ self.trays[:, chosen] + here.of_slots[:, self.slots[chosen]]

    def solve(self, here: Market, chosen: Ints | None = None) -> tuple[float, Floats, Floats]:
        """Return value, prices and batches per slot of a linear program.

        here: the market with its splits
        chosen: numbers of the batches that it is of, None: all
        """
        chosen = np.arange(len(self.slots)) if chosen is None else chosen
        takes, rows = self._takes(here, chosen), len(here.there)
        soft = np.flatnonzero(np.isfinite(here.dearest))  # what may be exceeded at the dearest price
        over = csr_matrix((-np.ones(len(soft)), (soft, np.arange(len(soft)))), shape=(rows, len(soft)))
        cost = np.concatenate([-(here.worth @ self.trays[:, chosen]), here.dearest[soft]])
        scale = np.maximum(np.abs(takes).max(axis=1).toarray().ravel(), 1.0)  # grams and litres beside batches
        table = hstack([takes, over], format="csr").multiply((1.0 / scale)[:, None]).tocsc()
        found = linprog(cost, A_ub=table, b_ub=here.there / scale, bounds=(0, None), method="highs-ds", options=QUICK)
        if found.x is None:
            return np.inf, np.zeros(rows), np.zeros(len(here.places))
        batches: Floats = np.bincount(self.slots[chosen], found.x[: len(chosen)], len(here.places)).astype(float)
        return -found.fun, -found.ineqlin.marginals / scale, batches


def split_market(here: Market, splits: Sequence[Split]) -> Market:
    """Return a market with limits of batches; more batches than there are cost more than everything is worth."""
    if not splits:
        return here
    rows, there = [], []
    for split in splits:
        sign = -1.0 if split.least is not None else 1.0
        rows.append(
            csr_matrix(
                (np.full(len(split.slots), sign), (np.zeros(len(split.slots), int), split.slots)),
                shape=(1, len(here.places)),
            )
        )
        there.append(-float(split.least) if split.least is not None else float(split.most or 0))
    dear = 2.0 * float((here.worth * here.most).max()) * float(here.places.max())
    dearest = [dear if split.least is not None else np.inf for split in splits]
    return replace(
        here,
        of_wares=vstack([here.of_wares, csr_matrix((len(rows), len(here.worth)))], format="csr"),
        of_slots=vstack([here.of_slots, *rows], format="csr"),
        there=np.concatenate([here.there, there]),
        dearest=np.concatenate([here.dearest, dearest]),
    )


def relax(columns: Columns, here: Market, enough: Callable[[float], bool], rounds: int = ROUNDS) -> Relaxed:
    """Return the linear program's solution: batches are added until none gains anything beyond its price.

    columns: batches known; new ones are added
    here: the market with its splits
    enough: whether the bound is low enough, or time is over
    rounds: of asking for batches at most
    """
    best, at = np.inf, np.zeros(len(here.there))
    told = offer(here, at)
    for _round in range(rounds):
        value, prices, batches = columns.solve(here)
        asked = prices if not np.isfinite(best) else SMOOTH * at + (1 - SMOOTH) * prices
        for trial in (asked, prices):
            answer = offer(here, trial)
            if answer.bound < best:
                best, at, told = answer.bound, trial, answer
            added = columns.add(answer.trays, np.flatnonzero(answer.gains > NEAR * value / 100))
            if added:
                break
        if not added or best <= value * (1 + NEAR) or enough(best):
            break
    return Relaxed(best, at, batches, told)

"""Bounds by column generation: a linear program of batches, split again where it loads half a dryer at a time."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_matrix, hstack, vstack

from drystow.planning.schedule.prices import Floats, Ints, Market, Offer, offer

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

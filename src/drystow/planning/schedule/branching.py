"""A lower bound yet: where the linear program loads part of a batch, one half of the plans loads fewer, one more."""

import heapq
import math
from collections.abc import Callable, Iterator, Sequence
from itertools import count

import numpy as np

from drystow.planning.schedule.columns import Columns, Relaxed, Split, relax, split_market
from drystow.planning.schedule.prices import Floats, Market
from drystow.planning.schedule.slots import Slot

TRIED = 4  # splits that are tried before one is chosen
TRIAL = 0.005  # of the bound: batches that lose more are left out of the trials
DIVE_ROUNDS = 3  # of asking for batches after one more is made whole
WHOLE = 1e-3  # of a batch, from which it is not whole


class Tree:
    """Halves of halves of all plans, each with its bound; the loosest is split next.

    here: what there is to sell
    slots: places for batches
    stop: time is over
    """

    def __init__(self, here: Market, slots: Sequence[Slot], stop: Callable[[], bool]) -> None:
        self.here, self.slots, self.stop = here, slots, stop
        self.columns = Columns(here)
        self.root = relax(self.columns, here, lambda _bound: stop())
        self.number = count()
        self.dived: set[int] = set()
        self.open: list[tuple[float, int, tuple[Split, ...], Relaxed]] = []
        self.stuck = -math.inf  # bound of the halves that could not be split further
        self._push((), self.root)

    @property
    def bound(self) -> float:
        """No schedule saves more than this, or than the best one known [1/1000 cent]."""
        return max(self.stuck, -self.open[0][0] if self.open else -math.inf)

    def _push(self, splits: tuple[Split, ...], found: Relaxed) -> None:
        heapq.heappush(self.open, (-found.bound, next(self.number), splits, found))

    def narrow(self, known: float) -> None:
        """Leave out what no schedule better than a known one dries where."""
        most = np.where(self.root.offer.forced + self.root.bound > known, self.here.most, 0)
        self.here = self.columns.narrow(most)

    def dive(self) -> Iterator[Relaxed]:
        """Yield, from the loosest parts on, what becomes of each when its nearly whole batches are made whole."""
        for _bound, number, splits, found in heapq.nsmallest(20, self.open, key=lambda one: one[:2]):
            if number in self.dived:
                continue
            self.dived.add(number)
            raised: set[tuple[int, ...]] = set()
            while not self.stop():
                parts = [part for part in self._parts(found.batches, 1) if part[0] not in raised]
                if not parts:
                    break
                slots, amount = max(parts, key=lambda part: part[1] % 1.0)
                raised.add(slots)
                splits = (*splits, Split(slots, least=math.ceil(amount)))
                found = relax(self.columns, split_market(self.here, splits), lambda _bound: self.stop(), DIVE_ROUNDS)
            yield found

    def step(self, known: float) -> bool:
        """Split once; return whether anything is left to split.

        known: value of the best schedule known [1/1000 cent]
        """
        while self.open and -self.open[0][0] <= known:
            heapq.heappop(self.open)
        if not self.open:
            return False
        bound, number, splits, found = heapq.heappop(self.open)
        heapq.heappush(self.open, (bound, number, splits, found))  # its bound counts until both halves are known
        split = self._best_split(splits, found, known)
        if split is None:
            heapq.heappop(self.open)
            self.stuck = max(self.stuck, -bound)
            return bool(self.open)
        halves = []
        for one in split:
            deeper = (*splits, one)
            half = relax(self.columns, split_market(self.here, deeper), lambda low: low <= known or self.stop())
            halves.append((deeper, half))
        heapq.heappop(self.open)
        for deeper, half in halves:
            self._push(deeper, half if half.bound < -bound else Relaxed(-bound, half.prices, half.batches, half.offer))
        return True

    def _best_split(self, splits: tuple[Split, ...], found: Relaxed, known: float) -> tuple[Split, Split] | None:
        trials = []
        for slots, amount in self._parts(found.batches):
            below = math.floor(amount)
            trials.append((abs(amount - below - 0.5), (Split(slots, most=below), Split(slots, least=below + 1))))
        least = max(known - found.bound, -TRIAL * found.bound)
        few = self.columns.near(split_market(self.here, splits), found.prices, least)
        best, gained = None, -1.0
        for _half, pair in sorted(trials, key=lambda trial: trial[0])[:TRIED]:
            if best is not None and self.stop():
                break
            drops = [
                found.bound - max(self.columns.solve(split_market(self.here, (*splits, one)), few)[0], known)
                for one in pair
            ]
            gain = min(drops) + 0.1 * max(drops)
            if gain > gained:
                best, gained = pair, gain
        return best

    def _parts(self, batches: Floats, most: int = 3) -> Iterator[tuple[tuple[int, ...], float]]:
        """Yield slots that hold a broken number of batches together, those of a loading time first."""
        kinds: Sequence[Callable[[Slot], object]] = (
            lambda slot: (slot.group, slot.start),
            lambda slot: (slot.group, slot.start, slot.end),
            lambda slot: slot,
        )
        for place, kind in enumerate(kinds[:most]):
            groups: dict[object, list[int]] = {}
            for number, slot in enumerate(self.slots):
                groups.setdefault(kind(slot), []).append(number)
                if not place and most > 1:
                    groups.setdefault(slot.group, []).append(number)
            sums = [(tuple(own), float(batches[own].sum())) for own in groups.values()]
            broken = [(own, amount) for own, amount in sums if abs(amount - round(amount)) > WHOLE]
            yield from broken
            if broken:
                return

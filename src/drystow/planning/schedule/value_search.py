"""The best schedule with a proven bound: the solver looks for plans in promising parts while the bound comes down."""

import heapq
import math
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import count

import numpy as np
from numpy.typing import NDArray

from drystow.planning.schedule.bounds import Columns, Floats, Ints, Market, Relaxed, Split, market, relax, split_market
from drystow.planning.schedule.greedy import ORDERS, greedy
from drystow.planning.schedule.grid import (
    Plan,
    Run,
    ScheduleProblem,
    idle_steps,
    plan_cost,
    saved_mass,
    saved_value,
)
from drystow.planning.schedule.model import Effort, Model, SolverAnswer, load_solver
from drystow.planning.schedule.structure import (
    Slot,
    canonical,
    equal_machines,
    moved_up,
    normal_starts,
    slots_of,
)

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
        # A half saves no more than the whole; one that was broken off before it showed that has the bound of the whole.
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
            # The half that narrows less decides when both are done; the other one only settles a tie.
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


CORE = 0.006  # of the bound: what loses more beside what a dive found is not looked at, at first
WIDER = 1.6  # times that, after a part that was searched to its end; narrower after one that was not
SMALL = 1500  # lots in slots up to which everything is searched at once
FEWER = 0.7  # of them, with which everything is searched again
PART = 0.2  # of the time, for one part
CLOSE = 1e-6  # of the bound, up to which a plan is the best one
STEPS = 3  # splits before the next part is chosen, where both go on side by side
SOLVER_SHARE = 0.6  # of the time, where both take turns
SPLITS = 0.5  # a second, then


@dataclass(frozen=True)
class Objective:
    """What is to be made large, with what.

    problem: lots, dryers and rules
    groups: numbers of equal dryers
    slots: places for batches
    prices: of a kilogram of each job
    wished: numbers of jobs of which no less than `least` is dried
    least: of them [g]
    """

    problem: ScheduleProblem
    groups: Sequence[Sequence[int]]
    slots: Sequence[Slot]
    prices: Sequence[int]
    wished: Sequence[int]
    least: int


def worth(problem: ScheduleProblem, plan: Plan, prices: Sequence[int]) -> int:
    """Return the value of a plan at prices of a kilogram of each job [1/1000 of their unit]."""
    return sum(price * saved_mass(problem, plan, number) for number, price in enumerate(prices) if price)


def most_value(task: Objective, plan: Plan, effort: Effort) -> tuple[tuple[Run, ...], float]:
    """Return the best plan found and a bound of the value of every plan.

    task: what is to be made large
    plan: known, within the limits
    effort: of the search
    """
    return (_in_turn if effort.steady else _side_by_side)(task, plan, effort)


def _in_turn(task: Objective, plan: Plan, effort: Effort) -> tuple[tuple[Run, ...], float]:
    search = _Parts(task, plan, lambda: False)
    rounds = max(1, min(round(1 / PART), round(effort.seconds)))  # each takes a second by itself
    seconds = effort.seconds / rounds
    for _round in range(rounds):
        if search.done():
            break
        wares, whole = search.next_part()
        model = search.model(wares)
        search.take(model.solve(search.plan, replace(effort, seconds=seconds * SOLVER_SHARE)), whole)
        search.split(lambda count: count < max(round(seconds * SPLITS), 1))
    return search.plan, search.bound()


def _side_by_side(task: Objective, plan: Plan, effort: Effort) -> tuple[tuple[Run, ...], float]:
    end = time.monotonic() + effort.seconds
    search = _Parts(task, plan, lambda: time.monotonic() >= end)
    following: tuple[Ints, bool] | None = None
    with ThreadPoolExecutor(1) as pool:
        while not search.done() and time.monotonic() < end:
            wares, whole = following or search.next_part()
            model = search.model(wares)
            left = end - time.monotonic()
            seconds = left if whole else min(left, effort.seconds * PART)
            answer = pool.submit(
                model.solve, search.plan, replace(effort, seconds=seconds, workers=max(effort.workers - 1, 1))
            )

            def running(answer: Future[SolverAnswer] = answer) -> bool:
                return not answer.done() and time.monotonic() < end

            search.split(lambda count: count < STEPS and running())
            following = search.next_part() if running() and not whole else None
            search.split(lambda _count: running())
            if search.done():
                model.stop()
            search.take(answer.result(), whole)
    return search.plan, search.bound()


class _Parts:
    """The best plan, the bound, and which parts were searched."""

    def __init__(self, task: Objective, plan: Plan, over: Callable[[], bool]) -> None:
        self.task, self.plan = task, tuple(plan)
        self.known = worth(task.problem, plan, task.prices)
        self.market = market(task.problem, task.slots, task.groups, task.prices)
        self.tree = Tree(self.market, task.slots, over)
        self.whole = math.inf  # bound of everything, by the solver
        self.searched: set[frozenset[tuple[int, int]]] = set()
        self.size, self.core = math.inf, CORE
        self.group = {machine: group for group, members in enumerate(task.groups) for machine in members}

    def bound(self) -> float:
        """Return the value that no plan exceeds."""
        top = sum(price * job.mass for price, job in zip(self.task.prices, self.task.problem.jobs, strict=True))
        return max(min(self.tree.bound, self.whole, top), self.known)

    def done(self) -> bool:
        """Return whether the plan is the best one."""
        return self.bound() <= self.known * (1 + CLOSE)

    def next_part(self) -> tuple[Ints, bool]:
        """Return the wares that are searched next, and whether a better plan can be nowhere else."""
        root, jobs_of = self.tree.root, self.market.slot
        alive = root.offer.forced + root.bound > self.known
        if int(alive.sum()) <= min(SMALL, FEWER * self.size):
            self.size = int(alive.sum())
            return np.flatnonzero(alive), True
        self.tree.narrow(self.known)
        for found in self.tree.dive():
            starts = {self._start(int(slot)) for slot in np.flatnonzero(found.batches > 1e-6)}
            starts |= {(self.group[run.machine], run.start) for run in self.plan}
            key = frozenset(starts)
            if key not in self.searched:
                self.searched.add(key)
                inside = np.array([self._start(slot) in starts for slot in range(len(self.task.slots))])
                close = inside[jobs_of] & (found.offer.forced > -self.core * found.bound)
                return np.flatnonzero((close | self._own()) & alive), False
        return np.flatnonzero(alive), True

    def _own(self) -> NDArray[np.bool_]:
        """Return which wares are in the plan."""
        inside = {
            (self.group[run.machine], run.start, run.end, job): frozenset(run.trays)
            for run in self.plan
            for job in run.trays
        }
        slots = self.task.slots
        found = []
        for place, job in zip(self.market.slot, self.market.job, strict=True):
            slot = slots[place]
            lots = inside.get((slot.group, slot.start, slot.end, int(job)))
            found.append(lots is not None and lots <= set(slot.lots))
        return np.array(found, bool)

    def _start(self, slot: int) -> tuple[int, int]:
        return self.task.slots[slot].group, self.task.slots[slot].start

    def model(self, wares: Ints) -> Model:
        """Return the solver's model of plans of some wares that are better than the one known."""
        task = self.task
        pairs = {(int(self.market.slot[ware]), int(self.market.job[ware])) for ware in wares}
        model = Model(task.problem, task.groups, task.slots, pairs)
        if task.wished:
            model.model.add(sum(model.saved[number] for number in task.wished) >= task.least)
        model.model.add(model.value(task.prices) > self.known)
        model.model.maximize(model.value(task.prices))
        return model

    def split(self, more: Callable[[int], bool]) -> None:
        """Bring the bound down while there is time."""
        count = 0
        while more(count) and self.tree.step(self.known):
            count += 1

    def take(self, answer: SolverAnswer, whole: bool) -> None:
        """Keep a better plan, and the bound when everything was searched."""
        self.core *= WIDER if answer.proven else 1 / WIDER
        if whole:
            self.whole = min(self.whole, max(answer.bound, self.known))
        value = worth(self.task.problem, answer.plan, self.task.prices)
        if value > self.known:
            self.plan, self.known = answer.plan, value


VALUE_SHARE = 0.85  # of the time, for what is wished and for value


WISH_SHARE = 0.3  # of that, for what is wished


COST_SHARE = 0.7  # of the rest, for cost; then idle time


LATE = 0.02  # of the time, in which the solver ends late


MOST_WARES = 20_000  # lots in slots among which a cheaper plan is looked for; in larger problems near the plan


NEAR = 12  # steps by which a batch may move then


@dataclass(frozen=True)
class Solved:
    """A schedule and how good it is.

    plan: batches in the order of loading
    saved: value of the dried food [1/1000 cent]
    bound: no schedule on this grid saves more [1/1000 cent]
    missed: numbers of the jobs that had to be dried whole and cannot all be
    """

    plan: tuple[Run, ...]
    saved: int
    bound: int
    missed: tuple[int, ...]

    @property
    def gap(self) -> float:
        """How much better the best schedule can be at most [-]."""
        return (self.bound - self.saved) / self.bound if self.bound > 0 else 0.0


def solve(problem: ScheduleProblem, seconds: float = 20.0, seed: int = 1, workers: int = 2) -> Solved:
    """Return the schedule that saves most food value, then costs least, then leaves dryers idle least.

    problem: lots, dryers and rules on the grid
    seconds: of the search
    seed: of the search; with one worker the same seed gives the same schedule
    workers: threads of the search
    """
    load_solver()
    end = math.inf if workers == 1 else time.monotonic() + seconds * (1 - LATE)
    effort = Effort(seconds, seed, workers, workers == 1)
    plan, bound = _most_value(problem, replace(effort, seconds=seconds * VALUE_SHARE))
    plan = moved_up(problem, plan)
    plan = moved_up(problem, _cheapest(problem, plan, replace(effort, seconds=seconds * (1 - VALUE_SHARE)), end))
    missed = (n for n, job in enumerate(problem.jobs) if job.must and saved_mass(problem, plan, n) < job.mass)
    saved = saved_value(problem, plan)
    return Solved(plan, saved, max(bound, saved), tuple(missed))


def _most_value(problem: ScheduleProblem, effort: Effort) -> tuple[tuple[Run, ...], int]:
    """Return the plan that saves most, what is wished first, and the bound of the value."""
    groups = equal_machines(problem)
    slots = slots_of(problem, groups, [normal_starts(problem, group[0]) for group in groups])
    if not slots:
        return (), 0
    wished = [number for number, job in enumerate(problem.jobs) if job.must]
    only = [1 if job.must else 0 for job in problem.jobs]
    plans = [canonical(problem, greedy(problem, order)) for order in ORDERS.values()]
    plan = max(plans, key=lambda one: (worth(problem, one, only), saved_value(problem, one)))
    prices, least, extra = [job.price for job in problem.jobs], 0, 0
    if wished:
        share = replace(effort, seconds=effort.seconds * WISH_SHARE)
        plan, _bound = most_value(Objective(problem, groups, slots, only, (), 0), plan, share)
        effort = replace(effort, seconds=effort.seconds * (1 - WISH_SHARE))
        least, extra = worth(problem, plan, only), max(prices) + 1
    raised = [price + extra * one for price, one in zip(prices, only, strict=True)]
    plan, bound = most_value(Objective(problem, groups, slots, raised, wished, least), plan, effort)
    top = sum(job.price * job.mass for job in problem.jobs)
    return plan, min(math.floor(bound + 0.5) - extra * least, top)


def _cheapest(problem: ScheduleProblem, plan: tuple[Run, ...], effort: Effort, end: float) -> tuple[Run, ...]:
    """Return a plan that saves as much as the one given, costs least, and then leaves dryers idle least."""
    if not plan:
        return plan
    groups = [[number] for number in range(len(problem.machines))]
    slots = slots_of(problem, groups, [range(problem.steps)] * len(groups))
    model = Model(problem, groups, slots, _near(slots, plan))
    wished = [number for number, job in enumerate(problem.jobs) if job.must]
    if wished:
        model.model.add(sum(model.saved[n] for n in wished) >= sum(saved_mass(problem, plan, n) for n in wished))
    model.model.add(model.value([job.price for job in problem.jobs]) >= saved_value(problem, plan))
    cost, idle = model.cost(), model.idle()
    for aim, known, share in ((cost, plan_cost, COST_SHARE), (idle, idle_steps, 1.0)):
        left = effort.seconds * share if effort.steady else (end - time.monotonic()) * share
        if left <= 0:
            break
        model.model.add(aim <= known(problem, plan))
        model.model.minimize(aim)
        plan = model.solve(plan, replace(effort, seconds=left)).plan
        model.model.add(aim <= known(problem, plan))
    return plan


def _near(slots: Sequence[Slot], plan: Plan) -> set[tuple[int, int]] | None:
    """Return the places of lots near those of a plan when all would be too many to search."""
    if sum(len(slot.lots) for slot in slots) <= MOST_WARES:
        return None
    starts: dict[int, list[int]] = {}
    for run in plan:
        for job in run.trays:
            starts.setdefault(job, []).append(run.start)
    return {
        (place, job)
        for place, slot in enumerate(slots)
        for job in slot.lots
        if any(abs(slot.start - start) <= NEAR for start in starts.get(job, ()))
    }

"""The search for the best load: greedy steps and exchanges, each judged by the simulation."""

import random
from collections.abc import Callable, Iterator, Sequence

from drystow.planning.load.choices import GRID, UNUSED, FoodUse, Judge, State, options, potential, rank

STARTS = 3
"""Orders of the foods that are tried; the best result counts. Source: drystow-default."""

Tick = Callable[[int], None]


class Moves:
    """The ways to change a choice.

    judge: of every choice
    budget: when the load should have ended [s]
    grid: parts in which amounts are counted
    tick: called with the number of simulations done
    ways: per food its options by thickness and places, amounts rising
    """

    def __init__(self, judge: Judge, budget: float, grid: int = GRID, tick: Tick = lambda _runs: None) -> None:
        self.judge, self.budget, self.grid, self.tick = judge, budget, grid, tick
        self.counter = judge.counter
        self.ways: list[dict[tuple[int, int], list[FoodUse]]] = []
        for number in range(len(self.counter.wishes)):
            groups: dict[tuple[int, int], list[FoodUse]] = {}
            for one in options(self.counter, number, grid):
                groups.setdefault((one.size, one.places), []).append(one)
            self.ways.append(groups)

    def most(self, state: State, number: int, group: Sequence[FoodUse]) -> State | None:
        """Return the choice with the largest amount of a group that is better than `state` and fits, or None.

        More food never ends sooner, so the amounts are halved; the smallest that would be better is tried first.
        """
        now = potential(self.counter, state)
        tried = [put(state, number, one) for one in group]
        better = [one for one in tried if potential(self.counter, one) > now]
        if not better or not self.fits(better[0]):
            return None
        low, high = 0, len(better) - 1
        if self.fits(better[high]):
            return better[high]
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if self.fits(better[middle]) else (low, middle)
        return better[low]

    def fits(self, state: State) -> bool:
        """Return whether a choice keeps every rule and ends in time."""
        before = self.judge.runs
        answer = self.judge.fits(state, self.budget)
        self.tick(self.judge.runs - before)
        return answer

    def rank(self, state: State) -> tuple[float, ...]:
        """Return how good a choice is."""
        return rank(self.counter, state, self.judge.verdict(state))


def put(state: State, number: int, choice: FoodUse) -> State:
    """Return a choice with one food changed.

    state: the choice
    number: of the food
    choice: how it is used from now on
    """
    return (*state[:number], choice, *state[number + 1 :])


def search(moves: Moves, seed: int = 1, starts: int = STARTS, begin: State | None = None) -> State:
    """Return the best choice found.

    moves: with judge and budget
    seed: of the orders in which foods are tried; the same seed gives the same choice
    starts: how many orders
    begin: choice to begin with; nothing when it does not fit
    """
    dice = random.Random(seed)
    count = len(moves.counter.wishes)
    nothing: State = (UNUSED,) * count
    order = sorted(range(count), key=lambda number: _density(moves, number), reverse=True)
    found = []
    for start in range(starts):
        state = begin if start == 0 and begin is not None and moves.fits(begin) else nothing
        found.append(_climb(moves, state, order))
        order = dice.sample(order, count)
    return max(found, key=moves.rank)


def _density(moves: Moves, number: int) -> tuple[bool, float]:
    wish = moves.counter.wishes[number]
    return wish.must, wish.value * max(item.mass for item in wish.full)


def _climb(moves: Moves, state: State, order: Sequence[int]) -> State:
    """Return the choice that no step and no exchange improves."""
    while True:
        better = _add(moves, state, order) or _exchange(moves, state, order) or shorter(moves, state, order)
        if better is None:
            return state
        state = better


def _add(moves: Moves, state: State, order: Sequence[int]) -> State | None:
    """Return the best choice with one food used otherwise, more of it; None when none is better."""
    for number in order:
        found = [moves.most(state, number, group) for group in moves.ways[number].values()]
        better = [one for one in found if one is not None]
        if better:
            return max(better, key=moves.rank)
    return None


def _exchange(moves: Moves, state: State, order: Sequence[int]) -> State | None:
    """Return a better choice in which one food gives way and another takes its room; None when there is none."""
    for giver in order:
        if not state[giver].places:
            continue
        for less in _less(moves, state, giver):
            for taker in order:
                if taker == giver:
                    continue
                for group in moves.ways[taker].values():
                    given = put(state, giver, less)
                    tried = [one for one in group if potential(moves.counter, put(given, taker, one)) >
                             potential(moves.counter, state)]  # fmt: skip
                    better = moves.most(given, taker, tried) if tried else None
                    if better is not None and moves.rank(better) > moves.rank(state):
                        return better
    return None


def _less(moves: Moves, state: State, number: int) -> Iterator[FoodUse]:
    """Give ways to make room: less of a food, another thickness, the most that lies on one place fewer, none of it."""
    now = state[number]
    for (size, places), group in moves.ways[number].items():
        room = places == now.places - 1
        smaller = [one for one in group if one.mass < now.mass + (1e-6 if room else -1e-6)]
        if smaller and (room or places == now.places or (size == now.size and places < now.places)):
            yield smaller[-1]
    yield UNUSED


def shorter(moves: Moves, state: State, order: Sequence[int]) -> State | None:
    """Return a choice of the same food that ends sooner or takes less electricity, None when there is none."""
    now = moves.rank(state)
    for number in order:
        for group in moves.ways[number].values():
            for one in group:
                tried = put(state, number, one)
                same = potential(moves.counter, tried) == now[:2] and one != state[number]
                if same and moves.fits(tried) and moves.rank(tried) > now:
                    return tried
    for giver in order:
        for taker in order:
            for one, other in _place_over(moves, state, giver, taker):
                tried = put(put(state, giver, one), taker, other)
                if potential(moves.counter, tried) == now[:2] and moves.fits(tried) and moves.rank(tried) > now:
                    return tried
    return None


def _place_over(moves: Moves, state: State, giver: int, taker: int) -> Iterator[tuple[FoodUse, FoodUse]]:
    """Give the ways in which one food leaves a place to another, with the same amounts."""
    if giver == taker or state[giver].places < 2 or not state[taker].places:
        return
    for size, _item in enumerate(moves.counter.wishes[giver].full):
        for other_size, _other in enumerate(moves.counter.wishes[taker].full):
            one = _with_mass(moves, giver, size, state[giver].places - 1, state[giver].mass)
            other = _with_mass(moves, taker, other_size, state[taker].places + 1, state[taker].mass)
            if one and other:
                yield one, other


def _with_mass(moves: Moves, number: int, size: int, places: int, mass: float) -> FoodUse | None:
    group = moves.ways[number].get((size, places), ())
    return next((one for one in group if abs(one.mass - mass) < 1e-6), None)

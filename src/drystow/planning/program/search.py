"""The search among shelf programs in round numbers: every margin gets its own pattern search, all share one pool."""

from collections.abc import Callable, Iterator

from drystow.planning.program.shelf_steps import (
    COLDEST,
    LONGEST_STEP,
    SAME_TIME,
    Bench,
    ShelfStep,
    Steps,
    Trial,
    merged,
)

LEVELS = (2.0, 0.5, -1.0, -2.5, -4.0, -6.0)
"""Excess over the limit that the simulation with safety factors may have, one search each, whatever is asked for in the
end [K]. Source: drystow-default."""

APART = 0.25  # programs of the front differ at least by this in their warmest ice front [K]
WORTH_WAITING = 4 * 24 * 3600.0  # slower programs are not looked at [s]
LEVEL_MOVES = (1, -1, 3, -3)  # of a set-point, in multiples of 5 °C
TIME_MOVES = (1, -1, 4, -4, 12, -12)  # of a duration, in half hours
SPLITS = (4, 12, 24, 36)  # half hours after which the last step may be parted
FINISHES = (20, 28, 36, 48, 64, 84)  # half hours after which the last step may be followed by a hot finish

Tick = Callable[[int], None]


def fill(bench: Bench, begin: Steps, most_steps: int, highest: int, tick: Tick = lambda _runs: None) -> None:
    """Try programs until no neighbour is faster, for every level of `LEVELS`.

    The pool does not depend on what limits are asked for, so that a stricter wish never finds a faster program.

    bench: that tries them
    begin: a program to begin with
    most_steps: that a program may have
    highest: warmest set-point in multiples of 5 °C
    tick: called with the number of simulations done, for a progress bar
    """
    starts = [begin] if len(begin) <= most_steps else []
    for start in starts:
        _try(bench, start, tick)
    for level in range(highest, COLDEST - 1, -1):
        trial = _try(bench, (ShelfStep(level, 0),), tick)
        if trial.time > WORTH_WAITING or trial.excess <= LEVELS[-1]:
            break
    for allowed in LEVELS:
        inside = [steps for steps, trial in bench.tried.items() if trial.excess <= allowed and len(steps) <= most_steps]
        if inside:
            _climb(bench, min(inside, key=lambda steps: _order(steps, bench)), allowed, most_steps, highest, tick)
    for steps in front(bench):  # what the ensemble may need where safety factors were not enough
        for other in backed_off(steps):
            _try(bench, other, tick)


def backed_off(steps: Steps) -> Iterator[Steps]:
    """Give the programs with one step 5 °C cooler, or warmer steps two hours later.

    steps: a program
    """
    for number, step in enumerate(steps):
        before, after = steps[:number], steps[number + 1 :]
        if step.level > COLDEST:
            yield merged((*before, ShelfStep(step.level - 1, step.halves), *after))
        if after and after[0].level > step.level and step.halves + 4 <= LONGEST_STEP:
            yield (*before, ShelfStep(step.level, step.halves + 4), *after)


def front(bench: Bench) -> list[Steps]:
    """Return the programs that no other one beats in both, time and coolness of the ice; the fastest first.

    bench: with its pool
    """
    found: list[Steps] = []
    coolest = float("inf")
    for steps in sorted(bench.tried, key=lambda steps: _order(steps, bench)):
        trial = bench.tried[steps]
        if trial.time < WORTH_WAITING and trial.excess < coolest - APART:
            found.append(steps)
            coolest = trial.excess
    return found


def _order(steps: Steps, bench: Bench) -> tuple[float, int, float, Steps]:
    trial = bench.tried[steps]
    return round(trial.time / SAME_TIME) if trial.time < float("inf") else trial.time, len(steps), trial.excess, steps


def _try(bench: Bench, steps: Steps, tick: Tick) -> Trial:
    before = bench.runs
    trial = bench.trial(steps)
    tick(bench.runs - before)
    return trial


def _climb(bench: Bench, start: Steps, allowed: float, most_steps: int, highest: int, tick: Tick) -> None:
    """Go to a neighbour that is faster, as long as there is one whose ice stays as cool as is allowed."""
    here = start
    while True:
        now = _order(here, bench)
        for steps in neighbours(here, most_steps, highest):
            trial = _try(bench, steps, tick)
            if trial.excess <= allowed and _order(steps, bench)[:2] < now[:2]:
                here = steps
                break
        else:
            return


def neighbours(steps: Steps, most_steps: int, highest: int) -> Iterator[Steps]:
    """Give the programs one move away, each once.

    steps: a program
    most_steps: that a program may have
    highest: warmest set-point in multiples of 5 °C
    """
    seen = {steps}
    for moved in _moves(steps, highest):
        if any(not COLDEST <= step.level <= highest for step in moved):
            continue
        if any(not 1 <= step.halves <= LONGEST_STEP for step in moved[:-1]):
            continue
        other = merged(moved)
        if len(other) <= most_steps and other not in seen:
            seen.add(other)
            yield other


def _moves(steps: Steps, highest: int) -> Iterator[Steps]:
    last = len(steps) - 1
    for number, step in enumerate(steps):
        before, after = steps[:number], steps[number + 1 :]
        for change in LEVEL_MOVES:
            yield (*before, ShelfStep(step.level + change, step.halves), *after)
        if number < last:
            for change in TIME_MOVES:
                yield (*before, ShelfStep(step.level, step.halves + change), *after)
            yield (*before, ShelfStep(step.level + 1, step.halves - 1), *after)
            yield (*before, ShelfStep(step.level - 1, step.halves + 2), *after)
            yield (*before, *after)
        if number < last - 1:
            following = after[0]
            for change in (2, -2):
                shorter = ShelfStep(following.level, following.halves - change)
                yield (*before, ShelfStep(step.level, step.halves + change), shorter, *after[1:])
    end = steps[last]
    for halves in FINISHES:  # a hot finish when the ice is gone, if need be in place of another step
        hot = (*steps[:-1], ShelfStep(end.level, halves), ShelfStep(highest, 0))
        yield hot
        for number in range(last):
            yield (*hot[:number], *hot[number + 1 :])
    yield (ShelfStep(min(steps[0].level + 2, highest), 4), *steps)
    yield (ShelfStep(highest, 4), *steps)
    for halves in SPLITS:
        yield (*steps[:-1], ShelfStep(end.level, halves), ShelfStep(min(end.level + 3, highest), 0))
        yield (*steps[:-1], ShelfStep(min(end.level + 1, highest), halves), end)
        yield (*steps[:-1], ShelfStep(end.level - 1, halves), end)

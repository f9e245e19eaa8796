"""One load from what is on the counter: thickness, trays and amounts that are dry within the time wished for."""

from drystow.machine.ensemble import Members, simulate_members
from drystow.machine.load import Load
from drystow.machine.run import simulate
from drystow.machine.sampling import UNCALIBRATED, Calibration, calibrated, load_samples
from drystow.messages import listed, msg
from drystow.planning.load.basket import LoadRequest
from drystow.planning.load.choices import (
    GRID,
    UNUSED,
    Judge,
    State,
    in_order,
    load_of,
    load_spec_of,
    missing,
    rank,
    worth,
)
from drystow.planning.load.infeasible import left_over, nearest, other_choices
from drystow.planning.load.load_plan import LoadPlan, PlannedTray, Refusal, last_dry, times_of
from drystow.planning.load.search import Moves, Tick, search
from drystow.planning.separation import cautions

MEMBERS = 100
"""Members of the ensemble behind the times. Source: drystow-default."""

FIRST_SHARE = 0.9
"""Share of the time wished for that the plain simulation may take in the first search. Source: drystow-default."""

LEAST_MISSING = 1e-3
"""Food that has to go in and is missing by less than this is there [kg]. Source: drystow-default."""

ROUNDS = 5
"""Searches, each with the budget that the last ensemble asks for. Source: drystow-default."""

NEAR_ENOUGH = 0.97
"""Share of the time wished for above which no larger budget is tried. Source: drystow-default."""

LARGEST_STEP = 0.8
"""Smallest factor on the budget from one search to the next. Source: drystow-default."""

GIVE_WAY = 0.995
"""Factor that brings a budget which was too large just below what fits. Source: drystow-default."""


def plan_load(
    counter: LoadRequest,
    *,
    known: Calibration = UNCALIBRATED,
    seed: int = 1,
    members: int = MEMBERS,
    grid: int = GRID,
    tick: Tick = lambda _runs: None,
) -> LoadPlan:
    """Return the best load for what is on the counter, or the nearest possible one with the reason.

    Best: food that has to go in, then the most food (or value) dry within the time at the ensemble's 80% time, then
    the least food whose ice front passes its limit, then the earliest end, then the least electricity per kilogram.
    Food that melts in the plain simulation stays out. The search judges by the plain simulation with a smaller
    time; the ensemble then says how much smaller it has to be.

    counter: what there is
    known: what earlier batches of the dryer taught
    seed: of the search and of the ensemble; the same seed gives the same plan
    members: of the ensemble
    grid: parts in which amounts are counted
    tick: called with the number of simulations done, for a progress bar
    """
    judge = Judge(counter, known)
    budget = FIRST_SHARE * counter.time
    state: State | None = None
    best: tuple[State, Moves] | None = None
    for _round in range(ROUNDS):
        moves = Moves(judge, budget, grid, tick)
        state = search(moves, seed, begin=state)
        if not any(one.places for one in state):
            break
        end = end_percentile(judge, state, seed, members)
        if end <= counter.time and (best is None or _better(judge, state, best[0])):
            best = (state, moves)
        plain = judge.verdict(state).end
        if NEAR_ENOUGH * counter.time <= end <= counter.time or not _larger_helps(counter, state, end):
            break
        following = plain * max(counter.time / end, LARGEST_STEP) * (1.0 if end <= counter.time else GIVE_WAY)
        if best is not None and end > counter.time and following <= judge.verdict(best[0]).end:
            break
        budget = following
    if best is not None and missing(counter, best[0]) < LEAST_MISSING:
        return _told(best[1], best[0], None, seed, members)
    in_time, moves = best or ((UNUSED,) * len(counter.wishes), Moves(judge, budget, grid, tick))
    near = nearest(moves, in_time, lambda one: end_percentile(judge, one, seed, members), seed)
    return _told(near.moves, near.state, near.refusal, seed, members)


def _better(judge: Judge, one: State, other: State) -> bool:
    counter = judge.counter
    return rank(counter, one, judge.verdict(one)) > rank(counter, other, judge.verdict(other))


def _larger_helps(counter: LoadRequest, state: State, end: float) -> bool:
    """Return whether another budget can change anything: not when everything is in and in time."""
    everything = all(wish.mass - one.mass < 1e-6 for wish, one in zip(counter.wishes, state, strict=True))
    return end > counter.time or not everything


def end_percentile(judge: Judge, state: State, seed: int, members: int) -> float:
    """Return by when four loads of five like this one are dry [s].

    judge: knows what there is and what the dryer's earlier batches taught
    state: the choice, not empty
    seed: of the draws
    members: of the ensemble
    Source: drystow-default, spreads of the food classes and of the machine.
    """
    return times_of(last_dry(_members(judge, load_of(judge.counter, state), seed, members).dry)).p80


def _members(judge: Judge, load: Load, seed: int, members: int) -> Members:
    return simulate_members(load, load_samples(load, members, seed, known=judge.taught_by))


def _warm(trays: tuple[PlannedTray, ...]) -> list[str]:
    """Return the sentence on food whose ice gets too warm."""
    foods = dict.fromkeys(tray.name for tray in trays if tray.over > 0.0)
    if not foods:
        return []
    words = msg(
        "with this program the ice of {foods} gets warmer than its limit, and nothing we tried "
        "dries as much within it; find a better program",
        foods=listed(foods),
    )
    return [words]


def _told(moves: Moves, state: State, refusal: Refusal | None, seed: int, members: int) -> LoadPlan:
    counter = moves.counter
    load = load_of(counter, state)
    result = simulate(calibrated(load, moves.judge.taught_by), series=False)
    runs = _members(moves.judge, load, seed, members)
    numbers = [number for number in in_order(counter, state) for _place in range(state[number].places)]
    trays = tuple(
        PlannedTray(
            tray=1 + at // counter.share,
            food=number,
            name=counter.wishes[number].name,
            shape=load.items[at].cut.shape,
            size=load.items[at].written_size,
            mass=load.items[at].mass,
            dry=times_of(runs.dry[:, at]),
            over=result.trays[at].front_temperature_max - result.trays[at].limit,
        )
        for at, number in enumerate(numbers)
    )
    of_food = (msg("{food}: {note}", food=tray.name, note=note) for tray in result.trays for note in tray.notes)
    notes = dict.fromkeys((*counter.notes, *result.notes, *_warm(trays), *of_food))
    return LoadPlan(
        title=counter.title,
        wished=counter.time,
        refusal=refusal,
        trays=trays,
        left=left_over(moves, state),
        end=times_of(last_dry(runs.dry)),
        mass=sum(one.mass for one in state),
        value=worth(counter, state),
        water=sum(item.water for item in load.items),
        capacity=load.rig.dryer.trap_capacity,
        energy=result.machine.energy,
        costs=other_choices(moves, state),
        cautions=cautions([counter.wishes[number].full[0].food for number in dict.fromkeys(numbers)]),
        notes=tuple(notes),
        load=load,
        spec=load_spec_of(counter, state),
        runs=moves.judge.runs,
        members=members,
    )

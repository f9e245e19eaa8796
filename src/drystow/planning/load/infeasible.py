"""Why food stays on the counter, which rule stands against a wish, and the nearest load that can be done."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from drystow.errors import InputError
from drystow.messages import Message, listed, msg
from drystow.planning.load.basket import FoodRequest
from drystow.planning.load.choices import LEAST, UNUSED, Broken, FoodUse, Judge, State, rule_broken
from drystow.planning.load.load_plan import Cost, LeftOver, Refusal
from drystow.planning.load.search import Moves, put, search, shorter
from drystow.shown import quantity

ROOM = 1.02
"""Factor on the time of the soonest food for the nearest plan when nothing is in time. Source: drystow-default."""


@dataclass(frozen=True)
class Nearest:
    """The nearest load that can be done.

    refusal: why the wish is not met; None when it is after all
    state: the choice
    moves: with the budget that it was found in
    """

    refusal: Refusal | None
    state: State
    moves: Moves


def nearest(moves: Moves, in_time: State, sure_end: Callable[[State], float], seed: int) -> Nearest:
    """Return why the wish cannot be met, and the nearest load.

    moves: of the search that failed
    in_time: the best choice that is in time, although food that has to go in is missing; may be empty
    sure_end: gives the ensemble's 80% time of a choice [s]
    seed: of the search
    """
    musts = [number for number, wish in enumerate(moves.counter.wishes) if wish.must]
    freely = Moves(moves.judge, math.inf, moves.grid, moves.tick)
    found = _all_of(freely, musts) if musts else (UNUSED,) * len(moves.counter.wishes)
    if isinstance(found, Broken) and any(one.places for one in in_time):
        return Nearest(_less(moves, in_time, found), in_time, moves)
    if isinstance(found, Broken) or not musts:
        return _something(freely, found if isinstance(found, Broken) else None, sure_end, seed)
    end, wished = sure_end(found), moves.counter.time
    budget = Moves(moves.judge, moves.judge.verdict(found).end * 1.0001, moves.grid, moves.tick)
    if end <= wished:
        return Nearest(None, found, budget)
    names = listed(moves.counter.wishes[number].name for number in musts)
    words = msg(
        "all of {foods} takes at least {end:.1f} h to dry, more than the {wished:.1f} h you have",
        foods=names,
        end=end / 3600,
        wished=wished / 3600,
    )
    state = search(budget, seed, begin=found)  # what else dries meanwhile
    takes = math.ceil(10 * sure_end(state) / 3600 - 1e-6) / 10  # never as short as what it is too long for
    instead = msg("the closest load takes {end:.1f} h", end=takes)
    if any(one.places and wish.must for one, wish in zip(in_time, moves.counter.wishes, strict=True)):
        instead = msg(
            "the closest load takes {end:.1f} h; within {wished:.1f} h, everything but {foods} would be dry",
            end=takes,
            wished=wished / 3600,
            foods=_lacking(moves, in_time),
        )
    return Nearest(Refusal("time", tuple(musts), words, instead), state, budget)


def _all_of(moves: Moves, musts: list[int]) -> State | Broken:
    """Return the soonest choice with all of some foods and nothing else, or the rule that it breaks."""
    wishes = moves.counter.wishes
    state: State = (UNUSED,) * len(wishes)
    for number in musts:
        whole = [one for group in moves.ways[number].values() for one in group if one.mass > wishes[number].mass - 1e-6]
        if not whole:
            room = max(item.mass for item in wishes[number].full) * moves.counter.places
            words = msg(
                "no room for {mass} of {food}: all trays together hold {room}",
                mass=quantity(wishes[number].mass, "mass"),
                food=wishes[number].name,
                room=quantity(room, "mass"),
            )
            return Broken("trays", (number,), words)
        fewest = min(whole, key=lambda one: (one.places, one.size))
        state = put(state, number, fewest)
    broken = rule_broken(moves.counter, state) or moves.judge.verdict(state).broken
    if broken is not None:
        return broken
    while (better := shorter(moves, state, musts)) is not None:
        state = better
    return state


def _less(moves: Moves, state: State, broken: Broken) -> Refusal:
    """Return the refusal whose nearest plan leaves out a part of the food that has to go in."""
    instead = msg("the closest load leaves {foods} for another batch", foods=_lacking(moves, state))
    return Refusal(broken.rule, broken.foods, broken.words, instead)


def _lacking(moves: Moves, state: State) -> Message:
    """Return what is left out of the food that has to go in."""
    return listed(
        msg("{mass} of {food}", mass=quantity(wish.mass - one.mass, "mass"), food=wish.name)
        for wish, one in zip(moves.counter.wishes, state, strict=True)
        if wish.must and wish.mass - one.mass > 1e-3
    )


def _something(freely: Moves, broken: Broken | None, sure_end: Callable[[State], float], seed: int) -> Nearest:
    """Return the load that comes nearest when nothing at all is in time: what is dry soonest."""
    counter, judge = freely.counter, freely.judge
    nothing: State = (UNUSED,) * len(counter.wishes)
    tried: list[tuple[float, int, FoodUse, State]] = []
    for number, groups in enumerate(freely.ways):
        for (_size, places), group in groups.items():
            alone = put(nothing, number, group[0])
            if places == 1 and freely.fits(alone):
                tried.append((judge.verdict(alone).end, number, group[0], alone))
    if not tried:
        first = next(iter(freely.ways[0].values()), [UNUSED])[0]
        reason = broken or judge.verdict(put(nothing, 0, first)).broken
        raise InputError("food", reason.words if reason else msg("nothing here can be dried"))
    soonest, number, choice, alone = min(tried)
    moves = Moves(judge, soonest * ROOM, freely.grid, freely.tick)
    state = search(moves, seed)
    words = msg(
        "even {mass} of {food} alone takes at least {end:.1f} h to dry, more than the {wished:.1f} h you have",
        mass=quantity(choice.mass, "mass"),
        food=counter.wishes[number].name,
        end=sure_end(alone) / 3600,
        wished=counter.time / 3600,
    )
    instead = msg("the closest load takes {end:.1f} h", end=sure_end(state) / 3600)
    return Nearest(Refusal("time", (number,), words, instead), state, moves)


WORTH_TELLING = 360.0  # changes that are smaller are not told of [s]; drystow-default


def left_over(moves: Moves, state: State) -> tuple[LeftOver, ...]:
    """Return what stays on the counter, and which rule keeps it there.

    moves: with judge and budget
    state: the choice
    """
    found = []
    for number, (wish, one) in enumerate(zip(moves.counter.wishes, state, strict=True)):
        rest = wish.mass - one.mass
        if rest < max(LEAST, 0.005 * wish.mass):
            continue
        broken = _what_keeps(moves, state, number)
        found.append(LeftOver(number, wish.name, rest, broken.rule, broken.words))
    return tuple(found)


def _what_keeps(moves: Moves, state: State, number: int) -> Broken:
    """Return the rule that the smallest further amount of a food would break, in the way that comes nearest."""
    reasons = []
    used, wish = state[number], moves.counter.wishes[number]
    if used.places and all(group[-1].mass < used.mass + 1e-6 for group in moves.ways[number].values()):
        room = quantity(max(item.mass for item in wish.full) * moves.counter.places, "mass")
        return Broken("trays", (number,), msg("all trays together hold {room} of it", room=room))
    for group in moves.ways[number].values():
        more = [one for one in group if one.mass > used.mass + 1e-6]
        broken = moves.judge.late(put(state, number, more[0]), moves.budget) if more else None
        if broken is not None:
            end = moves.judge.verdict(put(state, number, more[0])).end
            reasons.append((_NEARNESS.index(broken.rule), end, broken))
    if not reasons:
        words = msg("nothing keeps it out but its low worth")
        return Broken("value", (number,), words)
    return min(reasons, key=lambda one: one[:2])[2]


_NEARNESS = ("germs", "smells", "allergens", "trap", "time", "colours", "trays", "melts", "never_dry", "freezing")


def other_choices(moves: Moves, state: State) -> tuple[Cost, ...]:
    """Return what one tray more or less and the next thicknesses would cost or save, food by food.

    moves: with judge
    state: the choice
    """
    now = moves.judge.verdict(state).end
    found = []
    for number, one in enumerate(state):
        if not one.places:
            continue
        wish = moves.counter.wishes[number]
        for size in (one.size - 1, one.size + 1):
            if 0 <= size < len(wish.full):
                found.append(_other_size(moves.judge, state, number, size, now))
        found += [_other_places(moves.judge, state, number, change, now) for change in (1, -1)]
    return tuple(cost for cost in found if cost is not None)


def _other_size(judge: Judge, state: State, number: int, size: int, now: float) -> Cost | None:
    wish, one = judge.counter.wishes[number], state[number]
    mass = min(one.mass, one.places * wish.full[size].mass)
    tried = put(state, number, FoodUse(size, one.places, mass))
    verdict = judge.verdict(tried)
    if verdict.broken is not None or abs(verdict.end - now) < WORTH_TELLING:
        return None
    told = {
        "food": wish.name,
        "new": quantity(wish.full[size].size, "length"),
        "old": quantity(wish.full[one.size].size, "length"),
        "hours": abs(verdict.end - now) / 3600,
        "less": quantity(one.mass - mass, "mass"),
    }
    sooner, all_of_it = verdict.end < now, one.mass - mass < LEAST
    if sooner and all_of_it:
        words = msg("{food}: {new} instead of {old} saves {hours:.1f} h", **told)
    elif sooner:
        words = msg("{food}: {new} instead of {old} saves {hours:.1f} h, but {less} less fits", **told)
    elif all_of_it:
        words = msg("{food}: {new} instead of {old} costs {hours:.1f} h", **told)
    else:
        words = msg("{food}: {new} instead of {old} costs {hours:.1f} h, and {less} less fits", **told)
    return Cost(number, "thickness", verdict.end - now, mass - one.mass, words)


def _other_places(judge: Judge, state: State, number: int, change: int, now: float) -> Cost | None:
    """Return what a tray more, filled like the others, or a tray less would do."""
    wish, one = judge.counter.wishes[number], state[number]
    places, mass = one.places + change, one.mass * (one.places + change) / one.places
    if places == 0 and sum(1 for other in state if other.places) == 1:
        return None
    if mass > wish.mass + 1e-6:
        if wish.mass - one.mass < LEAST:
            return None
        mass = wish.mass
    tried = put(state, number, FoodUse(one.size, places, mass) if places else UNUSED)
    verdict = judge.verdict(tried)
    if verdict.broken is not None:
        return None
    later = verdict.end - now
    return Cost(number, "tray", later, mass - one.mass, _tray_words(wish, change, abs(mass - one.mass), later))


def _tray_words(wish: FoodRequest, change: int, mass: float, later: float) -> str:
    told = {"food": wish.name, "mass": quantity(mass, "mass"), "hours": abs(later) / 3600}
    if change > 0:
        return msg("{food}: one more tray ({mass}) costs {hours:.1f} h", **told)
    return msg("{food}: one tray fewer (without {mass}) saves {hours:.1f} h", **told)

"""Why food stays on the counter, and what other choices would cost in hours."""

from drystow.messages import msg
from drystow.planning.load.basket import FoodRequest
from drystow.planning.load.choices import LEAST, UNUSED, Broken, FoodUse, Judge, State
from drystow.planning.load.load_plan import Cost, LeftOver
from drystow.planning.load.search import Moves, put
from drystow.shown import quantity

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

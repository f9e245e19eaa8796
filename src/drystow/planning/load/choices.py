"""What can be chosen for each food, and how good a whole choice is: rules first, then the simulation as judge."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from drystow.errors import InputError, InputErrors
from drystow.machine.item import TrayItem
from drystow.machine.load import Load, LoadSpec, TraySpec
from drystow.machine.result import LoadResult
from drystow.machine.run import simulate
from drystow.machine.sampling import UNCALIBRATED, VARIETY_SPREAD, Calibration, calibrated
from drystow.messages import Message, msg
from drystow.planning.load.basket import LoadRequest, one_layer
from drystow.planning.separation import clash, depth, stains
from drystow.shown import quantity

TOLERANCE = 1e-4  # relative error of a step while searching, as in the ensemble
GRID = 10  # amounts are tenths of what is there or of what fits
LEAST = 0.02  # less than this is not put on a place [kg]
TENTH_GRAM = 1e-4  # masses are written to it, rounded down so that trap and rim still hold [kg]
GRAM = 1e-3  # amounts are compared to the gram [kg]
NINE_IN_TEN = 1.2816  # standard deviations above the middle that nine of ten stay below
SAME_TIME = 60.0  # ends that are as near as this are the same [s]


class FoodUse(NamedTuple):
    """How one food is used.

    size: number of its thickness
    places: places on trays that it gets; 0 when it stays on the counter
    mass: of all of it, spread evenly over its places [kg]
    """

    size: int
    places: int
    mass: float


UNUSED = FoodUse(0, 0, 0.0)
State = tuple[FoodUse, ...]
"""One choice for each food on the counter."""


@dataclass(frozen=True)
class Broken:
    """A rule that a choice breaks.

    rule: germs, smells, allergens, colours, trays, trap, freezing, melts, never dry or time
    foods: numbers of the foods that are concerned
    words: one sentence
    """

    rule: str
    foods: tuple[int, ...]
    words: str


@dataclass(frozen=True)
class Verdict:
    """What the simulation says of a choice.

    broken: rule that it breaks, or None
    end: of the load [s]
    energy: electricity per kilogram of fresh food [J/kg]
    warm: food whose ice front gets warmer than its limit [kg]
    """

    broken: Broken | None
    end: float = 0.0
    energy: float = 0.0
    warm: float = 0.0


def options(counter: LoadRequest, number: int, grid: int = GRID) -> tuple[FoodUse, ...]:
    """Return the ways to use one food, other than leaving it out: every thickness, places and amounts on a grid.

    Amounts are equal parts of what the places hold, or of all there is when it fits, and one layer of pieces.

    counter: what there is
    number: of the food
    grid: parts
    """
    wish = counter.wishes[number]
    found: list[FoodUse] = []
    for size, item in enumerate(wish.full):
        layer = one_layer(item, counter.place_area)
        for places in range(1, counter.places + 1):
            most = min(wish.mass, places * item.mass)
            amounts = {most * part / grid for part in range(1, grid + 1)}
            if layer * places < most:
                amounts.add(layer * places)
            for mass in sorted(amounts):
                spread_more = mass <= (places - 1) * layer * (1.0 + 1e-9)  # fewer places do as well
                if not spread_more and mass >= LEAST * places:
                    found.append(FoodUse(size, places, mass))
    return tuple(found)


def missing(counter: LoadRequest, state: State) -> float:
    """Return how much of the food that has to go in is not in a choice [kg].

    counter: what there is
    state: the choice
    Source: definition.
    """
    return sum(max(wish.mass - one.mass, 0.0) for wish, one in zip(counter.wishes, state, strict=True) if wish.must)


def worth(counter: LoadRequest, state: State) -> float:
    """Return the value of what a choice dries [-].

    counter: what there is
    state: the choice
    Source: definition.
    """
    return sum(wish.value * one.mass for wish, one in zip(counter.wishes, state, strict=True))


def potential(counter: LoadRequest, state: State) -> tuple[float, float]:
    """Return what of a choice's rank is known before any simulation: larger is better.

    counter: what there is
    state: the choice
    """
    return (-round(missing(counter, state) / GRAM), round(worth(counter, state) / GRAM))


def rank(counter: LoadRequest, state: State, verdict: Verdict) -> tuple[float, ...]:
    """Return how good a choice is that keeps the rules: larger is better.

    First must-food, then value, little food whose ice front passes its limit, an early end, little energy per kilogram.

    counter: what there is
    state: the choice
    verdict: of the simulation
    """
    end = -round(verdict.end / SAME_TIME)
    return (*potential(counter, state), -round(verdict.warm / GRAM), end, -verdict.energy)


def in_order(counter: LoadRequest, state: State) -> list[int]:
    """Return the used foods from the top tray down: what stains lower, raw animal food lowest.

    counter: what there is
    state: the choice
    """
    used = [number for number, one in enumerate(state) if one.places]
    return sorted(used, key=lambda number: (depth(counter.wishes[number].full[0].food), number))


def item_of(counter: LoadRequest, number: int, choice: FoodUse) -> TrayItem:
    """Return what lies on each place of a food.

    counter: what there is
    number: of the food
    choice: how it is used
    """
    return counter.wishes[number].full[choice.size].laid(choice.mass / choice.places, counter.place_area)


def covered_part(counter: LoadRequest, item: TrayItem) -> float | None:
    """Return the area to be written of what lies on a place [m2], None where it has a tray for itself.

    counter: what there is
    item: what lies there
    """
    if counter.share == 1:
        return None
    return item.lie.shadow if item.cut.shape == "slab" else counter.place_area


def load_of(counter: LoadRequest, state: State) -> Load:
    """Return the load of a choice, trays from top to bottom.

    counter: what there is
    state: the choice, not empty
    """
    items = [item_of(counter, number, state[number]) for number in in_order(counter, state)
             for _place in range(state[number].places)]  # fmt: skip
    return Load(counter.title, counter.rig, tuple(items))


def load_spec_of(counter: LoadRequest, state: State) -> LoadSpec:
    """Return the load of a choice as it is asked for, in numbers that a person reads.

    counter: what there is
    state: the choice, not empty
    """
    trays: list[TraySpec] = []
    for number in in_order(counter, state):
        item = item_of(counter, number, state[number])
        mass = math.floor(item.mass / TENTH_GRAM + 1e-6) * TENTH_GRAM
        area, size = covered_part(counter, item), round(item.written_size, 7)
        tray = replace(
            counter.wishes[number].spec.tray,
            mass=round(mass, 4),
            size=size,
            area=None if area is None else round(area, 6),
        )
        trays += [tray] * state[number].places
    return LoadSpec(counter.spec.rig, tuple(trays), counter.title)


def rule_broken(counter: LoadRequest, state: State) -> Broken | None:
    """Return the rule that a choice breaks as can be seen without a simulation, None when it keeps them all.

    counter: what there is
    state: the choice
    """
    used = in_order(counter, state)
    foods = {number: counter.wishes[number].full[0].food for number in used}
    for at, one in enumerate(used):
        for other in used[at + 1 :]:
            found = clash(foods[one], foods[other], counter.rules)
            if found is not None:
                return Broken(found.rule, (one, other), found.words)
    places = sum(one.places for one in state)
    if places > counter.places:
        words = msg("{places} tray places are needed; the dryer has {there}", places=places, there=counter.places)
        return Broken("trays", tuple(used), words)
    water, capacity = most_water(counter, state), counter.rig.dryer.trap_capacity
    if water > capacity:
        words = msg(
            "the food may hold {water} of water; the cold trap takes {ice} of ice",
            water=quantity(water, "mass"),
            ice=quantity(capacity, "mass"),
        )
        return Broken("trap", tuple(used), words)
    return _one_tray(counter, state, used)


def most_water(counter: LoadRequest, state: State) -> float:
    """Return the water of a load that nine loads in ten do not exceed [kg].

    counter: what there is
    state: the choice
    Source: definition, varieties and lots of one food differ together, foods from each other independently.
    """
    water, variance = 0.0, 0.0
    for wish, one in zip(counter.wishes, state, strict=True):
        item = wish.full[one.size]
        water += item.water / item.mass * one.mass
        variance += (one.mass * math.hypot(item.food.composition.water_sd, VARIETY_SPREAD)) ** 2
    return water + NINE_IN_TEN * math.sqrt(variance)


def _one_tray(counter: LoadRequest, state: State, used: Sequence[int]) -> Broken | None:
    """Return the rule broken by foods that share a tray: one must not stain the other."""
    if counter.share == 1 or "colours" not in counter.rules:
        return None
    places = [number for number in used for _place in range(state[number].places)]
    for tray in range(0, len(places), counter.share):
        here = list(dict.fromkeys(places[tray : tray + counter.share]))
        dark = [number for number in here if stains(counter.wishes[number].full[0].food)]
        if dark and len(dark) < len(here):
            pale = next(number for number in here if number not in dark)
            words = msg(
                "{dark} would stain {pale} next to it on a tray",
                dark=counter.wishes[dark[0]].name,
                pale=counter.wishes[pale].name,
            )
            return Broken("colours", (dark[0], pale), words)
    return None


class Judge:
    """The simulation as judge; asks it no question twice.

    counter: what there is
    taught_by: what earlier batches of the dryer taught
    runs: simulations so far
    """

    def __init__(self, counter: LoadRequest, taught_by: Calibration = UNCALIBRATED) -> None:
        self.counter = counter
        self.taught_by = taught_by
        self.runs = 0
        self._known: dict[State, Verdict] = {}

    def verdict(self, state: State) -> Verdict:
        """Return what the rules, then the simulation, say of a choice."""
        if not any(one.places for one in state):
            return Verdict(None)
        if state not in self._known:
            broken = rule_broken(self.counter, state)
            self._known[state] = Verdict(broken) if broken else self._simulated(state)
        return self._known[state]

    def _simulated(self, state: State) -> Verdict:
        self.runs += 1
        used = tuple(in_order(self.counter, state))
        try:
            load = calibrated(load_of(self.counter, state), self.taught_by)
            result = simulate(load, series=False, tolerance=TOLERANCE)
        except (InputError, InputErrors) as error:
            return Verdict(Broken("freezing", used, error.problems[0].message), float("inf"))
        if result.ended_by != "dry":
            rule = "melts" if result.ended_by == "melted" else "never_dry"
            return Verdict(Broken(rule, used, result.ended_text), float("inf"))
        warm = sum(tray.mass for tray in result.trays if tray.front_temperature_max > tray.limit)
        return Verdict(None, _last(result), result.machine.energy / sum(one.mass for one in state), warm)

    def fits(self, state: State, budget: float) -> bool:
        """Return whether a choice keeps every rule and ends in time."""
        verdict = self.verdict(state)
        return verdict.broken is None and verdict.end <= budget

    def late(self, state: State, budget: float) -> Broken | None:
        """Return the rule that a choice breaks, the time among them."""
        verdict = self.verdict(state)
        if verdict.broken is not None or verdict.end <= budget:
            return verdict.broken
        return Broken("time", tuple(in_order(self.counter, state)), too_late(verdict.end, budget))


def too_late(end: float, budget: float) -> Message:
    """Return the sentence for a load that ends too late.

    end: of the load [s]
    budget: when it should end [s]
    """
    return msg("the load would then finish about {hours:.1f} h too late", hours=max((end - budget) / 3600, 0.1))


def _last(result: LoadResult) -> float:
    return max(tray.dry_end or result.total_time for tray in result.trays)

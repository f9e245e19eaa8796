"""The trays of a batch: a picture to scale, and what the engine says of the load as it lies there."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from drystow.errors import InputError, InputErrors
from drystow.foods.model import Food
from drystow.machine.lying import lie_warnings, lie_words
from drystow.machine.pieces import Lie
from drystow.machine.profile import Dryer
from drystow.machine.result import LoadResult, TrayResult
from drystow.web.batches.adapters import area_of, lies_on_trays, predict, predict_overload
from drystow.web.batches.arrange import Placed, Warned, neighbour_warnings
from drystow.web.batches.models import Batch, Item, Load
from drystow.web.kit.words import in_words, sentence_words

STEP = 0.01  # amounts to take off are rounded up to this [kg]
SPARE = 0.005  # and are this much more, so that a rounded amount on a kitchen scale is enough [kg]
WORTH_LEAVING = 0.05  # less than this is not left alone on a tray [kg]


@dataclass(frozen=True)
class TakeOff:
    """Food to take off one tray.

    load: the food on its tray
    mass: how much of it [kg]
    left: what stays there, 0 when all of it goes [kg]
    """

    load: Load
    mass: float
    left: float


@dataclass(frozen=True)
class Excess:
    """More water in the food than the trap holds.

    water: in all the food [kg]
    capacity: ice that the trap holds [kg]
    off: what to take off, the slowest trays first, so that the rest fits and is ready sooner
    share: instead, the same share off every tray [-]
    full: when the trap is full with all the food in [s], None when the food is dry before
    """

    water: float
    capacity: float
    off: tuple[TakeOff, ...]
    share: float
    full: float | None

    @property
    def over(self) -> float:
        """Water that has no place [kg]."""
        return self.water - self.capacity


def excess_of(loads: Sequence[Load], result: LoadResult) -> Excess | None:
    """Return what is too much, None when the trap holds it all.

    loads: in the order of the engine's items
    result: of all of them, run on until the trap is full
    """
    water, capacity = sum(tray.water_start for tray in result.trays), result.machine.trap_capacity
    if water <= capacity:
        return None
    return Excess(
        water=water,
        capacity=capacity,
        off=_take_off(loads, result.trays, water - capacity),
        share=math.ceil(100.0 * (1.0 - capacity / water)) / 100.0,
        full=result.total_time if result.ended_by == "trap_full" else None,
    )


def _take_off(loads: Sequence[Load], trays: Sequence[TrayResult], over: float) -> tuple[TakeOff, ...]:
    pairs = sorted(zip(loads, trays, strict=True), key=lambda pair: _lateness(pair[1]), reverse=True)
    found = []
    for load, tray in pairs:
        if over <= 0.0:
            break
        wet = tray.water_start / tray.mass
        mass = math.ceil((over / wet + SPARE) / STEP) * STEP
        if load.mass_kg - mass < WORTH_LEAVING:
            mass = load.mass_kg
        found.append(TakeOff(load, mass, max(round(load.mass_kg - mass, 6), 0.0)))
        over -= mass * wet
    return tuple(found)


def _lateness(tray: TrayResult) -> tuple[float, float]:
    """Return how late a tray is; of those that are not dry at the end the wettest is the latest."""
    never = tray.dry_end is None
    return (math.inf, tray.residual_moisture) if never else (float(tray.dry_end or 0.0), 0.0)


MARKS = (
    "M-4 4L4-4M-2 14L14-2M8 16L16 8",  # rising lines
    "M0 6H12",  # level lines
    "M6 3.5a2.5 2.5 0 1 0 .01 0",  # rings
    "M-4 8L4 16M-2-2L14 14M8-4L16 4",  # falling lines
    "M6 0V12",  # upright lines
    "M6 3V9M3 6H9",  # crosses
    "M0 8L3 4L6 8L9 4L12 8",  # waves
    "M6 0V12M0 6H12",  # grid
)
"""Strokes within a tile of 12 by 12; the fills of the same number are in batches.css."""


@dataclass(frozen=True)
class Look:
    """How a food is drawn.

    item: number of the food, which its pattern is named after
    fill: number of its colour
    mark: strokes of its pattern
    """

    item: int
    fill: int
    mark: str


def looks_of(items: Sequence[Item]) -> dict[int, Look]:
    """Return the look of every food by its number; the first 8 differ in both colour and pattern, any 64 in one.

    items: all that were ever in the batch, oldest first, so that a food keeps its look when another is taken out
    """
    count = len(MARKS)
    return {
        item.pk: Look(item.pk, place % count, MARKS[(place + place // count) % count])
        for place, item in enumerate(items)
    }


LONG_TO_DEEP = 1.6  # proportions of the drawn tray; the engine knows its area only
ROOM_ABOVE = 1.8  # drawn height in rims
MUCH_LATER = 2 * 3600.0  # a tray that is this much later than the next makes the others wait [s]


@dataclass(frozen=True)
class DrawnFood:
    """Food on a tray as drawn: millimetres from the left and from the bottom; `lies` says how it lies."""

    load: Load
    look: Look
    left: float
    width: float
    top: float
    height: float
    over: bool
    ready_s: float | None = None
    lies: tuple[str, ...] = ()


@dataclass(frozen=True)
class TrayView:
    """One tray, seen from the front, in millimetres."""

    number: int
    width: float
    height: float
    rim_top: float
    rim: float
    parts: tuple[DrawnFood, ...]

    @property
    def mass_kg(self) -> float:
        """Food on it [kg]."""
        return sum(part.load.mass_kg for part in self.parts)

    @property
    def foods(self) -> str:
        """Names of the food on it, from the left."""
        return ", ".join(part.load.item.name for part in self.parts)

    @property
    def ready_s(self) -> float | None:
        """When all of it is dry [s], None when it is not or nobody knows."""
        times = [part.ready_s for part in self.parts]
        return max((time for time in times if time is not None), default=None) if None not in times else None


@dataclass(frozen=True)
class Outlook:
    """What the engine says of the load.

    result: of the simulation, until the trap is full when it is; None when the load is refused or empty
    problems: why it is refused
    slow: sentence on the tray that the others wait for
    warnings: what should not dry together
    excess: more water than the trap holds, None when it all fits
    """

    result: LoadResult | None
    problems: tuple[str, ...]
    slow: str
    warnings: tuple[Warned, ...]
    excess: Excess | None = None


def tray_views(
    loads: Sequence[Load],
    foods: Mapping[str, Food],
    looks: Mapping[int, Look],
    machine: Dryer,
    result: LoadResult | None,
) -> list[TrayView]:
    """Return every tray of the dryer, and those beyond it on which food lies by mistake.

    loads: in the order of the engine's items
    foods: by reference
    looks: by number of the item
    machine: the dryer
    result: with a time for every load
    """
    width = 1000.0 * math.sqrt(machine.tray_area * LONG_TO_DEEP)
    rim = 1000.0 * machine.rim_height
    height = ROOM_ABOVE * rim
    ready = [tray.dry_end for tray in result.trays] if result else [None] * len(loads)
    views = []
    lies = lies_on_trays(list(loads), foods, machine)
    for number in range(1, max([machine.trays, *(load.tray for load in loads)]) + 1):
        parts, left = [], 0.0
        for load, time, lie in zip(loads, ready, lies, strict=True):
            if load.tray != number:
                continue
            wide = width * min((lie.room or 0.0) / machine.tray_area, 1.0)
            pile = 1000.0 * lie.height
            said = tuple(map(sentence_words, how_it_lies(lie, machine, area_of(load.item))))
            drawn, over = min(pile, height), pile > rim * 1.001
            parts.append(DrawnFood(load, looks[load.item_id], left, wide, height - drawn, drawn, over, time, said))
            left += wide
        views.append(TrayView(number, width, height, height - rim, rim, tuple(parts)))
    return views


def how_it_lies(lie: Lie, machine: Dryer, area: float | None) -> list[str]:
    """Return sentences on how a food lies on its tray: what was assumed, then what cannot be so.

    area: that was said to be covered, or None [m2]
    """
    return [lie_words(lie, machine.tray_area), *lie_warnings(lie, machine, area)]


def outlook(batch: Batch, loads: list[Load], foods: Mapping[str, Food]) -> Outlook:
    """Return what the engine says of the load as it lies on the trays.

    loads: from `adapters.tray_loads`
    foods: by reference
    """
    placed = [Placed(load.tray, load.item.name, foods[load.item.food]) for load in loads]
    warnings = tuple(neighbour_warnings(placed))
    if not loads:
        return Outlook(None, (), "", warnings)
    try:
        result = _forecast(batch, loads)
    except (InputError, InputErrors) as error:
        return Outlook(None, tuple(tray_words(one, loads) for one in error.problems), "", warnings)
    excess = excess_of(loads, result)
    return Outlook(result, (), "" if excess else _slow_words(loads, result), warnings, excess)


def _forecast(batch: Batch, loads: list[Load]) -> LoadResult:
    """Return the course; of a load with too much water until the trap is full."""
    try:
        return predict(batch, loads)[0]
    except InputErrors:
        return predict_overload(batch, loads)  # refuses again what is wrong beside the water


def tray_words(problem: InputError, loads: Sequence[Load]) -> str:
    """Return an error of the engine with the tray's own number in place of the engine's.

    problem: whose field begins with tray[N]
    loads: from `adapters.tray_loads`
    """
    head, _dot, _rest = problem.field.partition(".")
    number = head.removeprefix("tray[").removesuffix("]")
    if number.isdecimal() and 1 <= int(number) <= len(loads):
        load = loads[int(number) - 1]
        return _("Tray {tray}, {food}: {words}").format(
            tray=load.tray,
            food=load.item.name,
            words=in_words(problem.message),
        )
    words = in_words(problem.message)
    return words[:1].upper() + words[1:]


def _slow_words(loads: Sequence[Load], result: LoadResult) -> str:
    never = [load for load, tray in zip(loads, result.trays, strict=True) if tray.dry_end is None]
    if never:
        return _("Tray {tray} ({food}) is not dry when the program ends: {why}.").format(
            tray=never[0].tray,
            food=never[0].item.name,
            why=in_words(result.ended_text).rstrip("."),
        )
    times: dict[int, Any] = {}
    for load, tray in zip(loads, result.trays, strict=True):
        if tray.dry_end is not None and (load.tray not in times or tray.dry_end > times[load.tray][0]):
            times[load.tray] = (tray.dry_end, load.item.name)
    order = sorted(times, key=lambda number: times[number][0])
    if len(order) < 2:
        return ""
    last, before = order[-1], order[-2]
    later = times[last][0] - times[before][0]
    if later < MUCH_LATER:
        return ""
    return _(
        "The others wait for tray {tray} ({food}): it is dry {hours:.0f} h after the next. "
        "Less food there, or smaller pieces, makes the whole load dry sooner."
    ).format(tray=last, food=times[last][1], hours=later / 3600)

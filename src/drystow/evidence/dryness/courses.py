"""Courses of a load that evidence is held against: pieces of a tray in classes of thickness, looked at when needed."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from drystow.evidence.dryness.observed import Clock, Evidence, Row, seen_at
from drystow.machine.ensemble import Executor, Members, simulate_members
from drystow.machine.item import TrayItem
from drystow.machine.layout import Tray
from drystow.machine.load import Load
from drystow.machine.run import drying_program
from drystow.machine.sampling import PER_ITEM, SHARED, VARIETY_SPREAD, column
from drystow.numerics import Array

PIECE_SPREAD = 0.1
"""Relative standard deviation of thickness between the pieces of a tray. Source: drystow-default."""

CLASSES = {1: ((1.0, 0.0),), 2: ((0.8, -0.5), (0.2, 2.0)), 3: ((1 / 6, -(3**0.5)), (2 / 3, 0.0), (1 / 6, 3**0.5))}
"""Classes of thickness: share of the mass, and distance from the mean in standard deviations. Two classes: the thick
fifth and the rest, with the mean and variance kept; three: Gauss and Hermite's."""


HELD = 0.06
"""Water that the dried food does not give away within a run, as a share of the monolayer [-]: the plateau that one rate
of desorption does not know. Source: pikal1990 for the plateau, drystow-default for its height."""
HELD_SPREAD = 0.7
"""Standard deviation of its logarithm [-]. Source: drystow-default."""
WAITS = tuple(3600.0 * hours for hours in (0.5, 1, 1.5, 2, 3, 4, 6, 8, 10, 12, 16, 20, 24, 30, 36, 48, 72))
"""Moments after now at which the members are looked at [s]."""
PLANNED = 4 * 3600.0  # so long all members dry on, for the next weighing [s]
END = 0.3  # share of the target at which a run may end, so that held water has room below it [-]


@dataclass(frozen=True)
class View:
    """What the members say about one tray.

    tray: number from 1
    items: its tray items, from 0
    load: as the person wrote it
    parts: per item, columns of its classes of thickness in the runs
    shares: share of an item's mass in each class [-]
    evidence: everything that was seen
    clock: openings of the chamber
    now: drying time at which the tray is judged [s]
    runs: members of the load with every item in its classes, sampled at drying times; draws begin with those of the
        load as written
    held: water that stays in the items, dry basis (members, items) [-]
    """

    tray: int
    items: tuple[int, ...]
    load: Load
    parts: tuple[tuple[int, ...], ...]
    shares: Array
    evidence: Evidence
    clock: Clock
    now: float
    runs: Members
    held: Array


def split_load(load: Load, classes: int) -> Load:
    """Return a load whose items are split into classes of thickness, those of an item one after another.

    load: as written
    classes: 1, 2 or 3
    Source: definition, area of a class falls with its thickness.
    """
    return replace(load, items=tuple(part for item in load.items for part in _parts(item, classes)))


def _parts(item: TrayItem, classes: int) -> list[TrayItem]:
    parts = []
    for share, distance in CLASSES[classes]:
        thicker = 1.0 + PIECE_SPREAD * distance
        area = share / thicker
        areas = replace(
            item.areas,
            outer=item.areas.outer * area,
            contact=item.areas.contact * area,
            above=item.areas.above * area,
        )
        parts.append(
            replace(
                item,
                mass=item.mass * share,
                size=item.size * thicker,
                length=item.length * thicker,
                areas=areas,
                ice=item.ice * share,
                unfrozen=item.unfrozen * share,
                target=item.target * END,
            )
        )
    return parts


def run_courses(
    load: Load,
    draws: Array,
    program: Array,
    sample_times: Sequence[float],
    classes: int,
    executor: Executor | None,
    tick: Callable[[int], None],
) -> Members:
    """Return the members of a load whose items are split.

    load: as written
    draws: standard normal numbers, columns of the load as written
    program: rows of duration [s] and set-point [K]
    sample_times: drying times at which the courses are sampled [s]
    classes: of thickness, 1, 2 or 3
    executor: runs the chunks
    tick: called with the number of members done
    """
    width, shared = len(PER_ITEM), len(SHARED)
    own = [draws[:, shared + width * number : shared + width * (number + 1)] for number in range(len(load.items))]
    wide = np.concatenate([draws[:, :shared], *(block for block in own for _ in range(classes))], axis=1)
    return simulate_members(
        split_load(load, classes), wide, sample_times=sample_times, program=program, executor=executor, tick=tick
    )


def program_to(load: Load, moment: float) -> Array:
    """Return the program with its last set-point held until all is dry, and for a while after a moment in any case.

    load: food, dryer and program
    moment: drying time [s]
    """
    rows = drying_program(load)
    start = float(rows[:-1, 0].sum())
    shelf = rows[-1, 1]
    kept = [[moment + PLANNED - start, shelf]] if moment + PLANNED > start else []
    return np.array([*rows[:-1].tolist(), *kept, [np.inf, shelf]])


def joined(rounds: Sequence[Members]) -> Members:
    """Return the members of several rounds as one.

    rounds: with the same sample times
    """
    if len(rounds) == 1:
        return rounds[0]
    parts = {
        part.name: np.concatenate([getattr(members, part.name) for members in rounds])
        for part in fields(Members)
        if part.name != "sample_times"
    }
    return Members(**parts, sample_times=rounds[0].sample_times)


def views_of(
    load: Load,
    runs: Members,
    trays: Sequence[tuple[int, ...]],
    classes: int,
    evidence: Evidence,
    clock: Clock,
    now: float,
    normals: Array,
) -> list[View]:
    """Return the view of every tray.

    load: as written
    runs: members of the load with every item in its classes
    trays: numbers of the items (from 0) of each tray
    classes: of thickness
    evidence: what was seen
    clock: openings of the chamber
    now: drying time of the question [s]
    normals: standard normal numbers for the held water (members, items of the load) [-]
    """
    shares = np.array([share for share, _distance in CLASSES[classes]])
    return [
        View(
            tray=number,
            items=tuple(items),
            load=load,
            parts=tuple(tuple(range(classes * item, classes * (item + 1))) for item in items),
            shares=shares,
            evidence=evidence,
            clock=clock,
            now=now,
            runs=runs,
            held=_held(load, items, normals),
        )
        for number, items in enumerate(trays, start=1)
    ]


def _held(load: Load, items: Sequence[int], normals: Array) -> Array:
    monolayers = np.array([load.items[number].isotherm.monolayer for number in items])
    held: Array = HELD * monolayers * np.exp(HELD_SPREAD * normals[:, list(items)])
    return held


def index_at(view: View, moment: float) -> int:
    """Return the index of the sample time nearest to a moment.

    view: of the tray
    moment: drying time [s]
    """
    return int(np.argmin(np.abs(view.runs.sample_times - moment)))


def place(view: View, row: Row) -> int:
    """Return the index of the sample time at which something was seen.

    view: of the tray
    row: any row of its evidence
    """
    return index_at(view, seen_at(view.clock, row))


def moisture_of(view: View, index: int) -> Array:
    """Return the mean moisture of the tray's items, dry basis (members, items) [-].

    view: of the tray
    index: of the sample time
    Source: definition, mean over the classes of thickness, less of which leaves by the water that is held.
    """
    mean = np.stack([view.runs.moisture[:, index, list(parts)] @ view.shares for parts in view.parts], axis=1)
    return _with_held(view, mean, [parts[0] for parts in view.parts], view.held)


def wettest_of(view: View, index: int) -> Array:
    """Return the moisture of every class of thickness of the tray's items, dry basis (members, classes of all) [-].

    view: of the tray
    index: of the sample time
    Source: definition, less of which leaves by the water that is held, as in the mean.
    """
    columns = [part for parts in view.parts for part in parts]
    held = np.repeat(view.held, len(view.shares), axis=1)
    return _with_held(view, view.runs.moisture[:, index, columns], columns, held)


def _with_held(view: View, moisture: Array, columns: list[int], held: Array) -> Array:
    first = view.runs.trays[:, columns]
    start = first[:, :, Tray.ICE] / first[:, :, Tray.SOLIDS] + first[:, :, Tray.UNFROZEN]
    result: Array = held + moisture * (1.0 - held / start)
    return result


def ice_left(view: View, index: int) -> Array:
    """Return the share of the ice that is left in the tray's items (members, items) [-].

    view: of the tray
    index: of the sample time
    Source: definition, mean over the classes of thickness.
    """
    return np.stack(
        [1.0 - view.runs.dried_fraction[:, index, list(parts)] @ view.shares for parts in view.parts], axis=1
    )


def solids_of(view: View) -> Array:
    """Return the dry mass of the tray's items as drawn (members, items) [kg].

    view: of the tray
    Source: definition, sum of the classes of thickness.
    """
    return np.stack([view.runs.trays[:, list(parts), Tray.SOLIDS].sum(axis=1) for parts in view.parts], axis=1)


def solids_slope(view: View) -> Array:
    """Return by how much each item's dry mass falls per standard deviation of its water [kg].

    view: of the tray
    Source: drystow-default, as in `draws.drawn_numbers`.
    """
    items = [view.load.items[number] for number in view.items]
    return np.array([item.mass * np.hypot(item.food.composition.water_sd, VARIETY_SPREAD) for item in items])


def water_columns(view: View) -> list[int]:
    """Return the columns of the draws that hold the water of the tray's items.

    view: of the tray
    """
    return [column("water", number) for number in view.items]

"""What the engine found for a batch, as it is kept and as a page reads it."""

import math
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

import numpy as np
from typing_extensions import TypedDict

from drystow.errors import InputError, InputErrors
from drystow.machine.load import Load, ProgramStep
from drystow.machine.result import LoadResult
from drystow.machine.run import simulate
from drystow.machine.sampling import Calibration, calibrated
from drystow.messages import Message, msg
from drystow.planning.load.best_load import plan_load
from drystow.planning.load.choices import covered_part
from drystow.planning.load.load_plan import LoadPlan
from drystow.planning.program.best_program import ProgramWishes, ShelfProgram, find_program
from drystow.planning.program.verifying import Verified
from drystow.reports.charts import thin
from drystow.units import celsius, hours, kelvin
from drystow.web.batches.models import Batch
from drystow.web.kit.answers import AnswerRecipe, KeptAnswer, Kind, Tell
from drystow.web.kit.codec import Sentence
from drystow.web.plans.batch_adapters import LoadQuestion, ProgramQuestion, basket_of, load_question, program_question

FULL = 0.999  # share of a tray from which on a food covers all of it


@dataclass(frozen=True)
class Part:
    """A food on a tray.

    tray: number from 1
    item: number of the food in the basket
    size: thickness, diameter or edge [m]
    mass: of it [kg]
    area: of the tray that it covers, None for all that is free [m2]
    sure: by when it is dry in 8 of 10 runs, None when never [s]
    too_warm: its ice gets warmer than its limit in the middle run
    """

    tray: int
    item: int
    size: float
    mass: float
    area: float | None
    sure: float | None
    too_warm: bool


@dataclass(frozen=True)
class Left:
    """Food that stays in the basket.

    item: number of the food
    mass: of it [kg]
    words: why
    """

    item: int
    mass: float
    words: Sentence


@dataclass(frozen=True)
class FoundLoad:
    """A load that was found.

    refusal: why it is not as wished, and what it does instead; empty when it is
    parts: what lies on the trays, from top to bottom
    left: what stays in the basket
    likely: half of the runs are over by then, None when that never is [s]
    sure: 8 of 10 are, None when that never is [s]
    late: 9 of 10 are [s]
    mass: of the food [kg]
    water: in it [kg]
    capacity: ice that the trap takes [kg]
    energy: electricity [J]
    costs: what other choices would cost or save
    cautions: what to mind
    notes: on limits and assumptions
    runs: loads that were tried
    members: runs behind the times
    """

    refusal: tuple[Sentence, ...]
    parts: tuple[Part, ...]
    left: tuple[Left, ...]
    likely: float | None
    sure: float | None
    late: float | None
    mass: float
    water: float
    capacity: float
    energy: float
    costs: tuple[Sentence, ...]
    cautions: tuple[Sentence, ...]
    notes: tuple[Sentence, ...]
    runs: int
    members: int

    @property
    def share(self) -> int:
        """Ice of what the trap takes, in percent."""
        return round(100 * self.water / self.capacity)


@dataclass(frozen=True)
class ProgramWay:
    """A program and what was seen of it.

    program: steps as a batch keeps them
    time: in the middle run, None when never dry [s]
    sure: 8 of 10 runs are over by then, None when that never is [s]
    energy: electricity of the middle run, None when never dry [J]
    kept: runs of 100 that keep every limit
    line: how far the warmest ice front is over its limit [h, K]
    """

    program: list[dict[str, float | None]]
    time: float | None
    sure: float | None
    energy: float | None
    kept: int
    line: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class FoundProgram:
    """A program that was found, beside the batch's own.

    safe: it keeps the limits as surely as asked for
    own_safe: the batch's own program does
    same: it is the batch's own
    usable: it may take the place of the batch's own: it is safe, or nowhere warmer and better
    asked: runs of 100 that should keep the limits
    margin: distance from the limits [K]
    found: the program
    own: the batch's own
    saved: earlier end, negative for later, None when one of them has none [s]
    stops: why it is not faster
    notes: what to know
    runs: simulations of the search
    members: runs behind the shares
    """

    safe: bool
    own_safe: bool
    same: bool
    usable: bool
    asked: int
    margin: float
    found: ProgramWay
    own: ProgramWay
    saved: float | None
    stops: tuple[Sentence, ...]
    notes: tuple[Sentence, ...]
    runs: int
    members: int


def found_load(question: LoadQuestion, plan: LoadPlan) -> FoundLoad:
    """Return a load that was found.

    question: that was asked
    plan: the engine's answer
    """
    numbers = [item.pk for item in question.items]
    return FoundLoad(
        refusal=() if plan.refusal is None else (plan.refusal.words, plan.refusal.instead),
        parts=tuple(_parts(question, plan)),
        left=tuple(Left(numbers[one.food], one.mass, one.words) for one in plan.left),
        likely=_finite(plan.end.p50),
        sure=_finite(plan.end.p80),
        late=_finite(plan.end.p90),
        mass=plan.mass,
        water=plan.water,
        capacity=plan.capacity,
        energy=plan.energy,
        costs=tuple(one.words for one in sorted(plan.costs, key=lambda one: one.time)),
        cautions=plan.cautions,
        notes=(*plan.notes, *_not_looked_at(question)),
        runs=plan.runs,
        members=plan.members,
    )


def found_program(question: ProgramQuestion, found: ShelfProgram) -> FoundProgram:
    """Return a program that was found, beside the batch's own.

    question: that was asked
    found: the engine's answer
    """
    time, own = (_finite(one.time) for one in (found.found, found.plain))
    return FoundProgram(
        safe=found.safe,
        own_safe=found.plain_safe,
        same=found.found.program == found.plain.program,
        usable=found.usable,
        asked=round(100 * found.confidence),
        margin=found.margin,
        found=_way(question, found.found),
        own=_way(question, found.plain),
        saved=None if time is None or own is None else own - time,
        stops=tuple(one.words for one in found.stops),
        notes=found.notes,
        runs=found.runs,
        members=found.members,
    )


def _parts(question: LoadQuestion, plan: LoadPlan) -> list[Part]:
    """Return what lies on the trays, one entry for each food on each tray."""
    places: dict[tuple[int, int], list[int]] = defaultdict(list)
    for at, tray in enumerate(plan.trays):
        places[tray.tray, tray.food].append(at)
    alone = {food: all(len(places[key]) == 1 for key in places if key[1] == food) for _tray, food in places}
    return [
        Part(
            tray=number,
            item=question.items[food].pk,
            size=plan.trays[here[0]].size,
            mass=sum(plan.trays[at].mass for at in here),
            area=_covered(question, plan, here[0]) if alone[food] else None,
            sure=_finite(max(plan.trays[at].dry.p80 for at in here)),
            too_warm=any(plan.trays[at].over > 0.0 for at in here),
        )
        for (number, food), here in places.items()
    ]


def _covered(question: LoadQuestion, plan: LoadPlan, at: int) -> float | None:
    """Return the part of its tray that a food covers [m2], None for all of it."""
    area = covered_part(question.counter, plan.load.items[at])
    return None if area is None or area > FULL * plan.load.rig.dryer.tray_area else area


def _not_looked_at(question: LoadQuestion) -> list[Message]:
    words = "{food}: what a load file set for its heat transfer is not looked at in this search"
    return [msg(words, food=item.name) for item in question.items if "heat" in item.extra]


def _way(question: ProgramQuestion, one: Verified) -> ProgramWay:
    return ProgramWay(
        program=[
            {
                "shelf_c": round(celsius(step.shelf), 2),
                "hours": None if math.isinf(step.duration) else round(hours(step.duration), 4),
            }
            for step in one.program
        ],
        time=_finite(one.time),
        sure=_finite(one.end.p80),
        energy=_finite(one.energy),
        kept=round(100 * one.kept),
        line=_line(question.load, one.program, question.known),
    )


def _line(load: Load, program: tuple[ProgramStep, ...], known: Calibration) -> tuple[tuple[float, float], ...]:
    """Return how far the warmest ice front is over its limit [h, K], as long as there is ice; nothing when refused."""
    try:
        result = simulate(calibrated(replace(load, rig=replace(load.rig, program=program)), known))
    except (InputError, InputErrors):
        return ()
    times, over = _over_limit(result)
    return tuple(
        (round(hours(float(at)), 3), round(float(value), 3)) for at, value in zip(*thin(times, over), strict=True)
    )


def _over_limit(result: LoadResult) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    rows = []
    for tray in result.trays:
        ice = (result.time >= result.drying_start) & (tray.dried_fraction < 1.0)
        rows.append(np.where(ice, tray.front_temperature - tray.limit, -np.inf))
    over = np.max(rows, axis=0)
    there = np.isfinite(over)
    return result.time[there], over[there]


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


Found = TypeVar("Found", FoundLoad, FoundProgram)


class FoodWish(TypedDict):
    """What is wished of one food."""

    must: bool
    cut_m: list[float] | None
    value: float


class LoadAsked(TypedDict):
    """What is wished of a load; the foods by the numbers of their items."""

    time_h: float
    share: int
    apart: list[str]
    foods: dict[str, FoodWish]


class ProgramAsked(TypedDict):
    """What is wished of a program."""

    confidence: float
    steps: int
    highest_c: float | None


@dataclass(frozen=True)
class SearchState(Generic[Found]):
    """What is known of a search now.

    row: as last asked for, None when it never was
    current: it was found for the batch as it is
    working: it is being searched, or waits for another search
    tried: simulations so far
    """

    row: KeptAnswer[Found] | None = None
    current: bool = False
    working: bool = False
    tried: int = 0

    @property
    def found(self) -> bool:
        """There is an answer."""
        return self.row is not None and self.row.at is not None

    @property
    def result(self) -> Found | None:
        """What was found, None where the engine refused."""
        return None if self.row is None else self.row.result

    @property
    def broken_off(self) -> bool:
        """It was asked for, and nobody works on it any more."""
        return self.row is not None and self.row.at is None and not self.working


def answer_state(kind: Kind[Found], row: KeptAnswer[Found] | None, fingerprint: str) -> SearchState[Found]:
    """Return what is known of a search.

    row: as it is kept
    fingerprint: of what it would rest on now, empty when the engine refuses that
    """
    if row is None:
        return SearchState()
    tried = kind.task.progress(row.subject)
    current = row.at is not None and row.fingerprint == fingerprint
    return SearchState(row, current, tried is not None, int(tried or 0))


def _batch(pk: int) -> Batch | None:
    """Return a batch for which something can be searched: its run has not begun."""
    rows = Batch.objects.kept().filter(started_at=None).select_related("dryer")
    return rows.filter(pk=pk).first()


def _counted(tell: Tell) -> Callable[[int], None]:
    """Return what the engine tells its simulations to."""
    tried = 0

    def tick(count: int) -> None:
        nonlocal tried
        tried += count
        tell(tried)

    return tick


def _asked_load(pk: int, asked: Mapping[str, Any]) -> LoadQuestion | None:
    batch = _batch(pk)
    return None if batch is None else load_question(batch, asked, basket_of(batch))


def _find_load(question: LoadQuestion, _before: KeptAnswer[FoundLoad] | None, tell: Tell) -> FoundLoad:
    return found_load(question, plan_load(question.counter, known=question.known, tick=_counted(tell)))


def _asked_program(pk: int, asked: Mapping[str, Any]) -> ProgramQuestion | None:
    batch = _batch(pk)
    return None if batch is None else program_question(batch, asked)


def _find_program(question: ProgramQuestion, _before: KeptAnswer[FoundProgram] | None, tell: Tell) -> FoundProgram:
    asked = question.asked
    found = find_program(
        question.load,
        ProgramWishes(
            confidence=asked["confidence"],
            most_steps=asked["steps"],
            highest=None if asked["highest_c"] is None else kelvin(asked["highest_c"]),
        ),
        known=question.known,
        tick=_counted(tell),
    )
    return found_program(question, found)


ROUNDS = 5
BEST_LOAD = Kind("best load", FoundLoad, "minutes", wishes=LoadAsked, tells_refusal=True, rounds=ROUNDS)
"""How to cut what is in the basket of a batch, and what of it goes on which tray."""
BEST_LOAD.worked_out_by(AnswerRecipe(_asked_load, lambda question: question.fingerprint, _find_load))

BEST_PROGRAM = Kind("best program", FoundProgram, "minutes", wishes=ProgramAsked, tells_refusal=True, rounds=ROUNDS)
"""The fastest shelf program of a batch that keeps the limits."""
BEST_PROGRAM.worked_out_by(AnswerRecipe(_asked_program, lambda question: question.fingerprint, _find_program))

"""The plan that the engine made, as it is kept: its batches, what is left out, and what it rests on."""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from drystow.errors import DrystowError, InputError
from drystow.packing.shopping import Shopping
from drystow.planning.schedule.arrivals import Lots
from drystow.planning.schedule.cold_storage import verdict_words
from drystow.planning.schedule.plan import PlannedBatch, PlannedLot, Schedule
from drystow.web.kit.answers import Problem, problem_of
from drystow.web.kit.codec import Sentence
from drystow.web.plans.adapters import Basis, Rests, planned_batches
from drystow.web.plans.local_time import moment, spans
from drystow.web.plans.running import BatchNow
from drystow.web.plans.spec import lot_names
from drystow.web.plans.waiting import Limits, limits_of

FIELD = re.compile(r"^(arrival|dryer|fixed)\[(\d+)\]")
PAGES = {"home": "plan-edit", "tariff": "plan-edit", "freezer": "plan-edit", "rules": "plan-edit",
         "begin": "plan-edit", "days": "plan-edit", "step": "plan-edit", "arrival": "plan-lots",
         "dryer": "plan-dryers"}  # fmt: skip
"""Page on which a field of the engine is written."""


@dataclass(frozen=True)
class LotShown:
    """Food of one lot in a batch, or left out.

    pk: number of the lot
    name: of the lot
    food: what it is
    trays: number of trays
    mass: fresh [kg]
    frozen: it waits in the freezer until then
    verdict: on food past its limit, ``do_not_use`` or ``look_and_decide``; else empty
    """

    pk: int
    name: str
    food: str
    trays: int
    mass: float
    frozen: bool = False
    verdict: str = ""

    @property
    def verdict_words(self) -> str:
        """Its verdict as it stands beside it."""
        return verdict_words(self.verdict) if self.verdict else ""


@dataclass(frozen=True)
class LeftShown:
    """What is left out.

    lot: and how much of it
    reason: one sentence
    wished: all of it had to be dried
    """

    lot: LotShown
    reason: Sentence
    wished: bool


@dataclass(frozen=True)
class MadeBatch:
    """One batch of a plan.

    row: number of the dryer in the plan
    dryer: its name
    start: when it is loaded
    dry: when it is dry
    end: when somebody unloads it
    trays: that are used
    places: trays of the dryer
    cost: of its electricity
    begun: it is running or over
    batch: number of the batch of the kitchen, None while it is only planned
    lots: what is in it
    """

    row: int
    dryer: str
    start: datetime
    dry: datetime
    end: datetime
    trays: int
    places: int
    cost: float
    begun: bool
    batch: int | None
    lots: tuple[LotShown, ...]

    @property
    def key(self) -> str:
        """Dryer of the plan and moment of loading, to name it in a form."""
        return f"{self.row}@{self.start.isoformat()}"


@dataclass(frozen=True)
class DryerStop:
    """When a dryer is not to be had.

    row: number of the dryer in the plan
    lot: of the batch that is in it, empty: service
    begin, end: from when to when
    """

    row: int
    lot: str
    begin: datetime
    end: datetime


@dataclass(frozen=True)
class Bought:
    """What is to be bought."""

    name: Sentence
    count: int


@dataclass(frozen=True)
class PlanChange:
    """How a plan differs from the one before.

    moved, added, gone: batches
    mass: more food that is saved [kg]
    """

    moved: int
    added: int
    gone: int
    mass: float


@dataclass(frozen=True)
class MadePlan:
    """A plan.

    begin, end: first and last moment
    batches: in the order of loading
    left_out: food that is not dried
    saved, total: fresh food that is dried, and all of it [kg]
    saved_worth: what of it is dried, by its worth
    saved_value, total_value: the same as the engine counts it, and all of it
    bound: more than that no plan saves
    valued: lots differ in their worth, so that it says something
    compared: simple rule -> what it saves
    wishes_met: all is dried whole that had to be
    home: hours with somebody there, by weekday
    stops: when dryers are not to be had
    came_frozen: lots that come frozen
    arrivals: lot -> when it comes
    limits: lot -> until when it may be loaded
    shopping: what to buy
    cautions, notes: sentences
    clock_changes: days on which clocks are changed
    change: against the plan before, None where there was none
    rests_on: what it was made of
    """

    begin: datetime
    end: datetime
    batches: tuple[MadeBatch, ...]
    left_out: tuple[LeftShown, ...]
    saved: float
    total: float
    saved_worth: float
    saved_value: float
    total_value: float
    bound: float
    valued: bool
    compared: dict[str, float]
    wishes_met: bool
    home: tuple[tuple[tuple[float, float], ...], ...]
    stops: tuple[DryerStop, ...]
    came_frozen: tuple[int, ...]
    arrivals: dict[int, datetime]
    limits: dict[int, Limits]
    shopping: tuple[Bought, ...]
    cautions: tuple[Sentence, ...]
    notes: tuple[Sentence, ...]
    clock_changes: tuple[date, ...]
    rests_on: Rests
    change: PlanChange | None = None


def made_plan(basis: Basis, rests: Rests, lots: Lots, made: Schedule, shopping: Shopping) -> MadePlan:
    """Return a plan as it is kept.

    basis: that it rests on
    rests: the same by what a person would call changed
    lots: that the engine planned with
    made: by the engine
    shopping: what has to be bought
    """
    rows = {row.dryer.name: row.pk for row in basis.dryers}
    numbers = dict(zip(lot_names(basis.lots), (lot.pk for lot in basis.lots), strict=True))
    fixed = {
        (lots.dryers[one.dryer].name, one.start, one.end): now
        for one, now in zip(lots.fixed, planned_batches(basis), strict=True)
    }
    dried: defaultdict[str, float] = defaultdict(float)
    for lot in (lot for batch in made.batches for lot in batch.lots if not lot.verdict):
        dried[lot.name] += lot.mass
    saved = [(min(dried[lot.name], lot.mass), lot.value) for lot in lots.lots]
    batches = [
        _batch(one, fixed.get((one.dryer, one.start, one.end)), rows[one.dryer], numbers, basis.zone)
        for one in made.batches
    ]
    return MadePlan(
        begin=basis.begin,
        end=basis.end,
        batches=tuple(sorted(batches, key=lambda one: (one.start, one.row))),
        left_out=tuple(
            LeftShown(LotShown(numbers[one.name], one.name, "", one.trays, one.mass), one.reason, one.wished)
            for one in made.left_out
        ),
        saved=sum(mass for mass, _value in saved),
        saved_worth=sum(mass * value for mass, value in saved),  # the engine's own counts in whole cents a kilogram
        total=sum(lot.mass for lot in lots.lots),
        saved_value=round(made.saved_value, 5),
        total_value=made.total_value,
        bound=round(made.bound, 5),
        valued=len({lot.value for lot in lots.lots}) > 1,
        compared=dict(made.compared),
        wishes_met=made.wishes_met,
        home=lots.home,
        stops=tuple(_stops(basis)),
        came_frozen=tuple(lot.pk for lot in basis.lots if lot.frozen),
        arrivals={lot.pk: lot.arrives for lot in basis.lots},
        limits={lot.pk: limits_of(lot, basis.foods[lot.food]) for lot in basis.lots},
        shopping=tuple(Bought(one.name, one.count) for one in shopping.wanted),
        cautions=made.cautions,
        notes=(*made.notes, *shopping.notes),
        clock_changes=tuple(_clock_changes(basis)),
        rests_on=rests,
    )


def plan_problem(one: DrystowError, basis: Basis | None) -> Problem:
    """Return a problem of a plan that the engine refuses, with the page on which it is mended.

    basis: of the plan, None when it could not even be read
    """
    if not isinstance(one, InputError):
        return problem_of(one)
    words = one.message
    match = FIELD.match(one.field)
    if match is not None and basis is not None:
        kind, place = match[1], int(match[2]) - 1
        batches = planned_batches(basis)
        if kind == "arrival" and place < len(basis.lots):
            return Problem(words, one.field, "plan-lot", basis.lots[place].name, basis.lots[place].pk)
        if kind == "dryer" and place < len(basis.dryers):
            return Problem(words, one.field, PAGES[kind], basis.dryers[place].dryer.name)
        if kind == "fixed" and place < len(batches):
            return Problem(words, one.field, "batch", batches[place].row.lot, batches[place].pk)
    return Problem(words, one.field, PAGES.get(one.field.split(".")[0].split("[")[0], ""))


def _batch(one: PlannedBatch, now: BatchNow | None, row: int, numbers: Mapping[str, int], zone: Any) -> MadeBatch:
    """Return a batch; one that is booked was not told to the engine when it is dry."""
    start, dry, end = spans(one.start, one.dry, one.end, zone)
    if now is not None and now.state == "planned":
        dry = min(start + (end - start if now.took is None else now.took), end)
    if now is not None and now.state == "running":
        dry = min(now.end, end)
    return MadeBatch(
        row=row,
        dryer=one.dryer,
        start=start,
        dry=dry,
        end=end,
        trays=one.trays,
        places=one.places,
        cost=one.cost,
        begun=one.begun,
        batch=None if now is None else now.pk,
        lots=tuple(_lot(lot, numbers[lot.name]) for lot in one.lots),
    )


def _lot(lot: PlannedLot, number: int) -> LotShown:
    return LotShown(number, lot.name, lot.food, lot.trays, lot.mass, lot.frozen, lot.verdict)


def _stops(basis: Basis) -> Iterable[DryerStop]:
    """Yield when dryers are not to be had: service, and batches that did not come from the plan."""
    numbers = {row.dryer_id: row.pk for row in basis.dryers}
    for row in basis.dryers:
        for stop in row.stops:
            yield DryerStop(
                row.pk, "", *(moment(datetime.fromisoformat(stop[end]), basis.zone) for end in ("from", "to"))
            )
    for one in basis.others:
        yield DryerStop(numbers[one.dryer], one.lot, one.start, one.end)


def _clock_changes(basis: Basis) -> Iterable[date]:
    """Yield the days of the plan on which clocks are changed."""
    for day in (basis.begin + timedelta(days=number) for number in range(basis.plan.days)):
        if (day + timedelta(days=1)).utcoffset() != day.utcoffset():
            yield day.date()

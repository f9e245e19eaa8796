"""From the rows of a plan, and of what became of it, to the lots that the engine plans with."""

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta, tzinfo
from typing import Any

from drystow.errors import InputError, InputErrors
from drystow.foods.model import Food
from drystow.machine.sampling import Calibration
from drystow.messages import msg
from drystow.planning.schedule import arrivals
from drystow.planning.schedule.arrivals import FixedBatch, Lots, PlannedDryer
from drystow.planning.schedule.grid import at_home
from drystow.planning.schedule.replan import from_now
from drystow.web.dryers.lessons import calibration_for
from drystow.web.foods.spec import foods_of
from drystow.web.kit import records
from drystow.web.kit.answers import fingerprint
from drystow.web.kit.models import Kitchen
from drystow.web.kit.reader import kitchen_zone
from drystow.web.plans.local_time import kitchen_time
from drystow.web.plans.models import Lot, Plan, PlanDryer
from drystow.web.plans.request import dryers_of
from drystow.web.plans.running import BatchNow, Filled, InDryer, OtherBatch, booked_batches, other_batches
from drystow.web.plans.spec import lot_names, plan_spec_of

LOOK = timedelta(minutes=15)  # grid of the moments at which somebody may unload
FURTHEST = timedelta(days=7)


@dataclass(frozen=True)
class Basis:
    """All that a plan rests on, as it stands in the database.

    plan: days and hours
    dryers: of the plan, with their dryers
    lots: what comes
    foods: by reference
    known: what each dryer has learned
    booked: batches that came from the plan
    others: batches in the same dryers that did not
    kitchen: its altitude and its price of a kilowatt-hour
    zone: clock of the kitchen
    """

    plan: Plan
    dryers: tuple[PlanDryer, ...]
    lots: tuple[Lot, ...]
    foods: Mapping[str, Food]
    known: tuple[Calibration, ...]
    booked: tuple[BatchNow, ...]
    others: tuple[OtherBatch, ...]
    kitchen: Kitchen
    zone: tzinfo

    @property
    def begin(self) -> datetime:
        """First moment of the plan."""
        return datetime.combine(
            self.plan.begin, time.fromisoformat(self.plan.extra.get("begin_time", "00:00")), self.zone
        )

    @property
    def end(self) -> datetime:
        """Last moment of the plan."""
        return self.begin + timedelta(days=self.plan.days)


@dataclass(frozen=True)
class RestsOn:
    """A dryer or a lot that a plan rests on.

    name: of it
    what: hash of its own fields
    known: hash of what a dryer has learned
    """

    name: str
    what: str
    known: str = ""


@dataclass(frozen=True)
class Rests:
    """What a plan rests on, by what a person would call changed.

    hours: hash of its days, hours, prices, freezer and rules
    dryers, lots: by their numbers in the plan
    batches: of the plan, by their numbers
    others: other batches in the same dryers, by their numbers
    """

    hours: str
    dryers: dict[int, RestsOn]
    lots: dict[int, RestsOn]
    batches: dict[int, InDryer]
    others: dict[int, InDryer]


def basis_of(plan: Plan) -> Basis:
    """Return all that a plan rests on; raises `InputError` when a food or recipe is not there any more."""
    kitchen = records.kitchen()
    zone = kitchen_zone(kitchen.time_zone)
    dryers = tuple(dryers_of(plan))
    lots = tuple(plan.lots.filter(binned_at=None))
    begin = datetime.combine(plan.begin, time(), zone)
    numbers = [row.dryer_id for row in dryers]
    return Basis(
        plan=plan,
        dryers=dryers,
        lots=lots,
        foods=foods_of(lot.food for lot in lots),
        known=tuple(calibration_for(row.dryer) for row in dryers),
        booked=booked_batches(plan),
        others=other_batches(plan, numbers, begin, begin + timedelta(days=plan.days + 1)),
        kitchen=kitchen,
        zone=zone,
    )


def lots_of(basis: Basis, now: datetime) -> Lots:
    """Return what the engine plans with, from a moment on; raises `InputErrors` with all that it refuses.

    Batches that were booked stay: those that have begun as they are, the others behind what runs before them. Other
    batches block their dryer.

    basis: of the plan
    now: nothing new is loaded before it
    """
    _check_dryers(basis)
    names = lot_names(basis.lots)
    lots = arrivals.lots_of(
        plan_spec_of(
            basis.plan, basis.dryers, basis.lots, basis.foods,
            kitchen=basis.kitchen, zone=basis.zone, known=basis.known,
        )
    )  # fmt: skip
    dryers = tuple(
        _blocked(dryer, [one for one in basis.others if one.dryer == row.dryer_id], now, basis.zone)
        for dryer, row in zip(lots.dryers, basis.dryers, strict=True)
    )
    lots = replace(lots, dryers=dryers)
    local = kitchen_time(now, basis.zone)
    return from_now(replace(lots, fixed=_fixed(basis, lots, names, local)), local)


def planned_batches(basis: Basis) -> list[BatchNow]:
    """Return the booked batches that are in a dryer of the plan, in the order of `lots_of`."""
    return [made for made in basis.booked if made.dryer in {row.dryer_id for row in basis.dryers}]


def rests_on(basis: Basis) -> Rests:
    """Return the same by what a person would call changed."""
    plan = basis.plan
    return Rests(
        hours=fingerprint(plan, with_price(basis.kitchen, plan.tariff)),
        dryers={
            row.pk: RestsOn(row.dryer.name, fingerprint(row, row.dryer), fingerprint(known))
            for row, known in zip(basis.dryers, basis.known, strict=True)
        },
        lots={lot.pk: RestsOn(lot.name, fingerprint(lot, basis.foods[lot.food])) for lot in basis.lots},
        batches={made.pk: made.in_dryer for made in basis.booked},
        others={other.pk: other.in_dryer for other in basis.others},
    )


def with_price(kitchen: Kitchen, tariff: Mapping[str, Any]) -> Kitchen:
    """Return the kitchen as a plan or a season rests on it: without its price where that has a tariff of its own."""
    kitchen = copy(kitchen)
    if tariff:
        kitchen.tariff_per_kwh = 0.0
    return kitchen


def _check_dryers(basis: Basis) -> None:
    """Refuse a plan whose booked batches are in dryers that take no part in it: their food would be planned twice."""
    inside = planned_batches(basis)
    problems = []
    for made in (made for made in basis.booked if made not in inside):
        words = msg(
            "batch {lot} is in '{dryer}', which is not part of this plan; add the dryer, or move the batch to trash",
            lot=made.row.lot,
            dryer=made.row.dryer.name,
        )
        problems.append(InputError("dryer", words))
    if problems:
        raise InputErrors(problems)


def _blocked(dryer: PlannedDryer, others: list[OtherBatch], now: datetime, zone: tzinfo) -> PlannedDryer:
    """Return a dryer that is not to be had while other batches are in it and until it is clean."""
    around = timedelta(seconds=dryer.turnaround)
    spans = [
        (kitchen_time(one.start, zone), kitchen_time(max(one.end, now) if one.running else one.end, zone) + around)
        for one in others
    ]
    return replace(dryer, service=(*dryer.service, *spans))


def _fixed(basis: Basis, lots: Lots, names: list[str], now: datetime) -> tuple[FixedBatch, ...]:
    """Return the booked batches; one that began ends at the latest when the next one in its dryer began."""
    numbers = {row.dryer_id: number for number, row in enumerate(basis.dryers)}
    by_lot = dict(zip((lot.pk for lot in basis.lots), names, strict=True))
    made = planned_batches(basis)
    found = []
    for one in made:
        number = numbers[one.dryer]
        start, end = kitchen_time(one.start, basis.zone), kitchen_time(one.end, basis.zone)
        if one.state == "running":
            end = _unloaded(lots, max(end, now))
        if one.begun:
            own = [kitchen_time(other.start, basis.zone) for other in made if other.begun and other.dryer == one.dryer]
            end = min([end, *(later for later in own if later > start)])
        inside = [filled for filled in one.filled if filled.lot in by_lot]
        found.append(
            FixedBatch(
                number,
                start,
                max(end, start + LOOK),
                _trays(inside, by_lot, lots.dryers[number].rig.dryer.trays),
                tuple((by_lot[filled.lot], filled.mass) for filled in inside),
                one.begun,
            )
        )
    return tuple(found)


def _trays(inside: list[Filled], names: Mapping[int, str], places: int) -> tuple[tuple[str, int], ...]:
    """Return whole trays for each lot, no more than the dryer has, although foods may share one."""
    counts = {names[filled.lot]: max(filled.trays, 1) for filled in inside}
    while sum(counts.values()) > places and max(counts.values()) > 1:
        most = max(counts, key=lambda name: counts[name])
        counts[most] -= 1
    return tuple(counts.items())


def _unloaded(lots: Lots, dry: datetime) -> datetime:
    """Return the first moment from `dry` on at which somebody is there to unload."""
    moment = dry.replace(minute=0, second=0, microsecond=0)
    while moment < dry:
        moment += LOOK
    while moment < dry + FURTHEST:
        if at_home(lots, moment, 0.5):
            return moment
        moment += LOOK
    return dry

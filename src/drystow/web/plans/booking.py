"""Planned batches become batches of the kitchen, with food on their trays; all of it is one action, which one undo
takes back.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from django.db import transaction
from django.utils import timezone

from drystow.foods.model import Food
from drystow.machine.loadfile import CUT_KEYS
from drystow.messages import msg
from drystow.planning.separation import depth
from drystow.units import celsius
from drystow.web.batches.adapters import cut_columns
from drystow.web.batches.forms import COOL, FROZEN, next_lot
from drystow.web.batches.models import Batch, Item, Load
from drystow.web.foods.spec import foods_of
from drystow.web.kit import records
from drystow.web.kit.answers import KeptAnswer, fingerprint
from drystow.web.plans.adapters import basis_of, rests_on
from drystow.web.plans.made import LotShown, MadePlan
from drystow.web.plans.made_view import BatchShown, PlanShown, plan_view
from drystow.web.plans.making import PLAN
from drystow.web.plans.models import Booked, Lot, Plan, PlanDryer
from drystow.web.plans.running import live_bookings
from drystow.web.plans.waiting import limits_of

WORDS = msg("from a plan")


class PlanOutdated(Exception):
    """The plan is not the one that the person saw any more."""


class Spoiled(Exception):
    """Food of a batch has waited too long since the plan was made.

    lot: which, with its verdict
    """

    def __init__(self, lot: LotShown) -> None:
        super().__init__(lot.name)
        self.lot = lot


def book(plan: Plan, at: str, keys: Sequence[str], who: str) -> list[Batch]:
    """Make batches of a plan, those that are not made yet, and return them; all or none.

    plan: whose batches
    at: moment at which the plan was made that the person saw; `PlanOutdated` when it was made anew since; `Spoiled`
        when food of one of the batches waited too long, by the plan or by what stands in the database now
    keys: of the batches
    who: makes them
    """
    with transaction.atomic(), records.one_action():
        kept = PLAN.kept(plan.pk, lock=True)
        if kept is None or kept.result is None or kept.at is None or kept.at.isoformat() != at:
            raise PlanOutdated
        shown = shown_of(plan, kept.result)
        wanted = [one for one in shown.to_book if one.key in keys]
        rows = {row.pk: row for row in plan.dryers.select_related("dryer")}
        lots = {lot.pk: lot for lot in plan.lots.all()}
        foods = foods_of(lot.food for lot in lots.values())
        for one in wanted:
            _look_out_for_spoiled(one, lots, foods)
        batches = {one.key: _batch(plan, one, rows[one.row], lots, foods, who) for one in wanted}
        if batches:
            _remember(plan, kept, kept.result, {key: batch.pk for key, batch in batches.items()})
    return list(batches.values())


def shown_of(plan: Plan, made: MadePlan) -> PlanShown:
    """Return a plan for its pages, with the batches that it became."""
    rows = live_bookings(plan).select_related("batch")
    return plan_view(made, {row.batch_id: row.batch for row in rows}, timezone.now())


def _look_out_for_spoiled(one: BatchShown, lots: Mapping[int, Lot], foods: Mapping[str, Food]) -> None:
    for lot in one.lots:
        row = lots[lot.pk]
        verdict = limits_of(row, foods[row.food]).judged(lot.frozen, max(one.start, timezone.now()))
        if lot.verdict or verdict:
            raise Spoiled(replace(lot, verdict=lot.verdict or verdict))


def _batch(
    plan: Plan, one: BatchShown, row: PlanDryer, lots: Mapping[int, Lot], foods: Mapping[str, Food], who: str
) -> Batch:
    """Return a batch with its food on its trays: what is eaten as it is above, raw animal food lowest."""
    title = ", ".join(dict.fromkeys(one.names))
    batch = Batch(
        title=title if len(title) <= 120 else f"{title[:119]}…",
        lot=next_lot(),
        dryer=row.dryer,
        stage="trays",
        program=row.program,
        **_extra(row),
    )
    batch = records.create(batch, who=who, words=WORDS)
    inside, tray = [], 1
    for lot in sorted(one.lots, key=lambda lot: (depth(foods[lots[lot.pk].food]), lot.pk)):
        item = records.create(_item(batch, lot, lots[lot.pk]), who=who, words=WORDS)
        for number in range(tray, tray + lot.trays):
            records.create(Load(item=item, tray=number, mass_kg=lot.mass / lot.trays), who=who, words=WORDS)
        tray += lot.trays
        inside.append({"lot": lot.pk, "item": item.pk, "trays": lot.trays, "mass_kg": lot.mass, "frozen": lot.frozen})
    records.create(
        Booked(plan=plan, batch=batch, start=one.start, dry=one.dry, end=one.end, lots=inside), who=who, words=WORDS
    )
    return batch


def _extra(row: PlanDryer) -> dict[str, Any]:
    """Return what a plan's program says besides its steps, in the fields that a batch has for it."""
    extra = dict(row.extra)
    freezer = extra.pop("freeze", None)
    known = dict(Batch.FREEZERS)
    return {"extra": extra, **({"freezer": freezer} if freezer in known else {})}


def _item(batch: Batch, lot: LotShown, row: Lot) -> Item:
    return Item(
        batch=batch,
        food=row.food,
        name=row.name,
        mass_kg=lot.mass,
        shape=row.shape,
        size_m=row.size_m,
        **cut_columns({name: row.extra.get(name) for name in CUT_KEYS}),
        frozen=lot.frozen,
        start_c=FROZEN if lot.frozen else _fresh_c(row),
        target_moisture=row.extra.get("final_moisture"),
        skin_state=row.extra.get("skin_state", ""),
        extra={name: value for name, value in row.extra.items() if name == "like"},
    )


def _fresh_c(row: Lot) -> float:
    """Return how cold a lot is when it goes in fresh [°C]."""
    start = row.extra.get("start_temperature")
    return COOL if start is None else round(celsius(start), 3)


def _remember(plan: Plan, kept: KeptAnswer[MadePlan], made: MadePlan, batches: Mapping[str, int]) -> None:
    """Note which batches came from the plan, so that it is still the plan of what stands in the database."""
    now = rests_on(basis_of(plan))
    own = {pk: now.batches[pk] for pk in batches.values() if pk in now.batches}
    rests = replace(made.rests_on, batches=made.rests_on.batches | own)
    became = tuple(replace(one, batch=batches.get(one.key, one.batch)) for one in made.batches)
    PLAN.keep(replace(kept, result=replace(made, batches=became, rests_on=rests), fingerprint=fingerprint(rests)))

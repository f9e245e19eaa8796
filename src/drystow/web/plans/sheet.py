"""From what was kept of a plan to its sheet on paper and to its calendar."""

from collections.abc import Iterable
from datetime import UTC

from django.utils import timezone

from drystow.days import day_text
from drystow.messages import msg
from drystow.planning.schedule.plan import PlannedBatch, PlannedLot
from drystow.reports.plan_sheet import PlanSheet, SheetBatch, SheetLot
from drystow.reports.text import mass_text
from drystow.shown import money
from drystow.web.plans.local_time import kitchen_time
from drystow.web.plans.made_view import PlanShown
from drystow.web.plans.models import Made, Plan
from drystow.web.plans.pictures import days_of


def calendar_batches(shown: PlanShown) -> Iterable[PlannedBatch]:
    """Return the batches that are not over, with their moments in universal time."""
    for one in shown.batches:
        if one.over:
            continue
        start, dry, end = (at.astimezone(UTC) for at in (one.start, one.dry, one.end))
        lots = tuple(PlannedLot(lot.name, lot.food, lot.trays, lot.mass, lot.frozen, lot.verdict) for lot in one.lots)
        yield PlannedBatch(
            one.dryer, start, dry, end, end, one.trays, one.places, lots, 0.0, one.batch is not None, one.begun
        )


def sheet_of(plan: Plan, row: Made, shown: PlanShown, units: str, currency: str) -> PlanSheet:
    """Return what stands on the sheet of a plan.

    row: as it was kept
    shown: the same for pages
    units: ``us`` or ``si``
    currency: of the house
    """
    zone = timezone.get_current_timezone()
    saved, total = mass_text(shown.saved, units), mass_text(shown.total, units)
    begin, end = (kitchen_time(at, zone).date() for at in (shown.begin, shown.end))
    facts: list[tuple[str, str]] = [
        (msg("Days"), msg("{begin} to {end}", begin=day_text(begin), end=day_text(end))),
        (msg("Food dried"), msg("{saved} of {total}", saved=saved, total=total)),
        (msg("Batches"), str(len(shown.batches))),
    ]
    if shown.valued:
        part, whole = (money(value, currency) for value in (shown.saved_value, shown.total_value))
        worth = msg("{saved} of {total}", saved=part, total=whole)
        facts.append((msg("Its worth"), worth))
    if shown.cost:
        facts.append((msg("Electricity, about"), money(shown.cost, currency)))
    return PlanSheet(
        title=plan.title,
        facts=tuple(facts),
        days=days_of(row.result, shown, None),
        batches=tuple(
            SheetBatch(
                number=one.number,
                dryer=one.dryer,
                start=kitchen_time(one.start, zone),
                dry=kitchen_time(one.dry, zone),
                end=kitchen_time(one.end, zone),
                lots=tuple(SheetLot(lot.name, lot.trays, lot.mass, lot.frozen, lot.verdict) for lot in one.lots),
                label=one.batch.lot if one.batch is not None else "",
            )
            for one in shown.batches
        ),
        to_freeze=tuple((kitchen_time(at, zone), lot.mass, lot.name) for at, lot in shown.to_freeze),
        left_out=tuple((left.lot.mass, left.reason) for left in shown.left_out),
        shopping=tuple((count, name) for name, count in shown.shopping),
        cautions=shown.cautions,
        notes=shown.notes,
    )

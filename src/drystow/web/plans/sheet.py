"""From what was kept of a plan to its picture, to its sheet on paper and to its calendar."""

from collections.abc import Iterable
from datetime import UTC, datetime, time, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.days import day_text
from drystow.messages import msg
from drystow.planning.schedule.plan import PlannedBatch, PlannedLot
from drystow.reports.plan_sheet import PlanSheet, SheetBatch, SheetLot
from drystow.reports.schedule_chart import away_of, schedule_pictures, upright_picture
from drystow.reports.schedule_layout import BatchBar, Days, WaitingBar
from drystow.reports.text import mass_text
from drystow.shown import money
from drystow.web.kit.drawing import Drawing, drawing_as_made
from drystow.web.plans.local_time import kitchen_time
from drystow.web.plans.made import MadePlan
from drystow.web.plans.made_view import PlanShown
from drystow.web.plans.models import Plan

WIDE, NARROW = 1000, 340  # px
DAY = timedelta(days=1)


def days_of(shown: PlanShown, now: datetime | None) -> Days:
    """Return a plan as it is drawn, from the day on which something begins to that on which all is unloaded.

    shown: the plan for pages
    now: the moment, None where it is not to be drawn
    """
    made = shown.made
    moments = [moment for one in shown.batches for moment in (one.start, one.end)]
    first = min([*moments, max(now, made.begin)] if now else moments, default=made.begin)
    begin = datetime.combine(_here(first).date(), time())
    end = datetime.combine(_here(max(moments, default=made.begin)).date() + DAY, time())
    names = {pk: row.name for pk, row in made.rests_on.dryers.items()} | {one.row: one.dryer for one in shown.batches}
    rows = list(names)
    return Days(
        begin=begin,
        end=end,
        dryers=tuple(names.values()),
        bars=tuple(
            BatchBar(
                one.number,
                rows.index(one.row),
                *(_here(one.start), _here(one.dry), _here(one.end)),
                one.names,
                one.batch is not None,
            )
            for one in shown.batches
        ),
        frozen=tuple(_waiting(made, shown)),
        away=tuple(away_of(made.home, begin, end)),
        stops=tuple(
            (rows.index(stop.row), _here(stop.begin), _here(stop.end), stop.lot or _("stop"))
            for stop in made.stops
            if stop.row in rows
        ),
        now=None if now is None else _here(now),
    )


def drawings_of(days: Days) -> tuple[Drawing, ...]:
    """Return the pictures of a plan for its page; the first one brings the one for phones."""
    upright = upright_picture(days, NARROW)
    return tuple(
        drawing_as_made(picture, upright if number == 0 else None)
        for number, picture in enumerate(schedule_pictures(days, WIDE))
    )


def _waiting(made: MadePlan, shown: PlanShown) -> list[WaitingBar]:
    """Return what waits in the freezer, each lot once: until its last batch from there is loaded."""
    until: dict[int, tuple[str, datetime]] = {}
    for batch in shown.batches:
        for lot in batch.lots:
            if lot.frozen and not lot.verdict:
                until[lot.pk] = (lot.name, max(batch.start, until.get(lot.pk, ("", batch.start))[1]))
    return [WaitingBar(name, _here(made.arrivals[pk]), _here(end)) for pk, (name, end) in until.items()]


def _here(at: datetime) -> datetime:
    return kitchen_time(at, timezone.get_current_timezone())


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


def sheet_of(plan: Plan, shown: PlanShown, units: str, currency: str) -> PlanSheet:
    """Return what stands on the sheet of a plan.

    shown: the plan for pages
    units: ``us`` or ``si``
    currency: of the kitchen
    """
    zone, made = timezone.get_current_timezone(), shown.made
    saved, total = mass_text(made.saved, units), mass_text(made.total, units)
    begin, end = (kitchen_time(at, zone).date() for at in (made.begin, made.end))
    facts: list[tuple[str, str]] = [
        (msg("Days"), msg("{begin} to {end}", begin=day_text(begin), end=day_text(end))),
        (msg("Food dried"), msg("{saved} of {total}", saved=saved, total=total)),
        (msg("Batches"), str(len(shown.batches))),
    ]
    if made.valued:
        part, whole = (money(value, currency) for value in (made.saved_worth, made.total_value))
        worth = msg("{saved} of {total}", saved=part, total=whole)
        facts.append((msg("Its worth"), worth))
    if shown.cost:
        facts.append((msg("Electricity, about"), money(shown.cost, currency)))
    return PlanSheet(
        title=plan.title,
        facts=tuple(facts),
        days=days_of(shown, None),
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
        left_out=tuple((left.lot.mass, left.reason) for left in made.left_out),
        shopping=tuple((one.count, one.name) for one in made.shopping),
        cautions=made.cautions,
        notes=made.notes,
    )

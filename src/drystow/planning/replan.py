"""Plan again while a plan is under way: what is running or finished stays."""

from dataclasses import replace
from datetime import datetime

from drystow.planning.lots import FixedBatch, Lots
from drystow.planning.schedule import Schedule


def with_fixed(lots: Lots, made: Schedule, now: datetime) -> Lots:
    """Return the lots with every batch that was loaded before a moment fixed, to be planned again.

    lots: of the first plan, perhaps with lots that came since
    made: the first plan
    now: moment of planning again; nothing new is loaded before it
    """
    names = [dryer.name for dryer in lots.dryers]
    fixed = [
        FixedBatch(names.index(batch.dryer), batch.start, batch.end, tuple((lot.name, lot.trays) for lot in batch.lots))
        for batch in made.batches
        if batch.start < now
    ]
    dryers = tuple(
        replace(dryer, service=(*dryer.service, (lots.begin, now))) if now > lots.begin else dryer
        for dryer in lots.dryers
    )
    return replace(lots, fixed=tuple(fixed), dryers=dryers)

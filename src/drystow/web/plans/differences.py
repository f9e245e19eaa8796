"""What differs between a plan and what became of it, and between a plan and the one before, in words."""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drystow.web.plans.adapters import Rests, RestsOn
from drystow.web.plans.local_time import when
from drystow.web.plans.made import MadePlan, PlanChange
from drystow.web.plans.running import InDryer

TOLERANCE = timedelta(hours=1)  # by which a batch may begin early or late; drystow-default
LATER = timedelta(hours=2)  # by which a run may take longer before it counts; drystow-default
LITTLE = 0.05  # kilograms that do not matter; drystow-default


def differences(made: MadePlan, rests: Rests, now: datetime) -> list[str]:
    """Return what differs, a sentence each.

    made: as a plan is kept
    rests: what it rests on today
    now: moment of asking
    """
    then = made.rests_on
    found = [_("Days, hours, prices, freezer, altitude or what is dried apart")] if then.hours != rests.hours else []
    found += _rows(then.dryers, rests.dryers, _dryer_changed)
    found += _rows(then.lots, rests.lots, lambda _old, new: _("{name}: changed").format(name=new.name))
    found += _batches(then.batches, rests.batches, now)
    found += _others(then.others, rests.others)
    return found + _missed(made, rests, now)


def change_of(before: MadePlan, after: MadePlan) -> PlanChange:
    """Return how a plan differs from the one before."""
    old, new = _by_content(before), _by_content(after)
    moved = sum(1 for key, starts in new.items() for start in starts if key in old and start not in old[key])
    more = len(after.batches) - len(before.batches)
    return PlanChange(moved, max(more, 0), max(-more, 0), round(after.saved - before.saved, 3))


def change_words(change: PlanChange | None, mass: Callable[[float], str]) -> list[str]:
    """Return how a plan differs from the one before, in a few words each.

    change: from `change_of`
    mass: gives an amount of food [kg] in the reader's units
    """
    if change is None:
        return []
    told = []
    if change.moved:
        told.append(ngettext("{count} batch moved", "{count} batches moved", change.moved).format(count=change.moved))
    if change.added:
        told.append(ngettext("{count} more batch", "{count} more batches", change.added).format(count=change.added))
    if change.gone:
        told.append(ngettext("{count} fewer batch", "{count} fewer batches", change.gone).format(count=change.gone))
    if change.mass >= LITTLE:
        told.append(_("{mass} more saved").format(mass=mass(change.mass)))
    if change.mass <= -LITTLE:
        told.append(_("{mass} less saved").format(mass=mass(-change.mass)))
    return told or [_("nothing changed")]


def _by_content(plan: MadePlan) -> dict[Any, set[datetime]]:
    found: dict[Any, set[datetime]] = {}
    for one in plan.batches:
        if one.begun:
            continue
        key = (one.row, tuple(sorted(lot.pk for lot in one.lots)))
        found.setdefault(key, set()).add(one.start)
    return found


def _rows(
    then: Mapping[int, RestsOn], now: Mapping[int, RestsOn], changed: Callable[[RestsOn, RestsOn], str]
) -> list[str]:
    found = [_("{name}: new").format(name=row.name) for pk, row in now.items() if pk not in then]
    found += [_("{name}: gone").format(name=row.name) for pk, row in then.items() if pk not in now]
    return found + [changed(then[pk], row) for pk, row in now.items() if pk in then and then[pk] != row]


def _dryer_changed(old: RestsOn, new: RestsOn) -> str:
    if old.what == new.what and old.known != new.known:
        return _("{name}: its batches taught how long it takes").format(name=new.name)
    return _("{name}: changed").format(name=new.name)


def _batches(then: Mapping[int, InDryer], now: Mapping[int, InDryer], clock: datetime) -> list[str]:
    found = [
        _("batch {lot} is in the trash; its food is waiting again").format(lot=row.lot)
        for pk, row in then.items()
        if pk not in now
    ]
    found += [_("batch {lot}: new").format(lot=row.lot) for pk, row in now.items() if pk not in then]
    for pk, row in now.items():
        told = _batch(then[pk], row, clock) if pk in then else ""
        found += [told] if told else []
    return found


def _batch(old: InDryer, new: InDryer, clock: datetime) -> str:
    """Return what is different with a batch, what weighs most."""
    names = {"lot": new.lot, "dryer": new.dryer, "start": when(new.start), "end": when(new.end)}
    begun = new.start
    if old.dryer != new.dryer:
        return _("batch {lot} is in {dryer} now").format_map(names)
    if any(abs(old.filled.get(pk, 0.0) - new.filled.get(pk, 0.0)) > LITTLE for pk in {*old.filled, *new.filled}):
        return _("batch {lot} holds different amounts").format_map(names)
    if old.state != "over" and new.state == "over":
        return _("batch {lot} ended on {end}").format_map(names)
    if old.state == "over" and new.state != "over":
        return _("batch {lot} is still going").format_map(names)
    if old.state == "running" and new.state == "planned":
        return _("batch {lot} has not started").format_map(names)
    if abs(old.start - begun) > TOLERANCE:
        return _("batch {lot} started on {start}").format_map(names)
    if new.state == "planned" and begun + TOLERANCE < clock:
        return _("batch {lot} was due to load on {start} and has not started").format_map(names)
    ends = [one.end for one in (old, new)]
    if new.state == "over" and ends[0] != ends[1]:
        return _("batch {lot} ended on {end}").format_map(names)
    if new.state == "running" and max(ends[1], clock) > ends[0] + LATER:
        return _("batch {lot} takes longer, until {end}").format_map(names | {"end": when(max(ends[1], clock))})
    return ""


def _others(then: Mapping[int, InDryer], now: Mapping[int, InDryer]) -> list[str]:
    found = []
    for pk, row in now.items():
        names = {"lot": row.lot, "dryer": row.dryer, "end": when(row.end)}
        if pk not in then:
            found.append(_("batch {lot}, from outside this plan, needs {dryer} until {end}").format_map(names))
        elif _apart(then[pk], row):
            found.append(_("batch {lot}, from outside this plan, needs {dryer} until {end} now").format_map(names))
    return found + [
        _("batch {lot} no longer needs {dryer}").format(lot=row.lot, dryer=row.dryer)
        for pk, row in then.items()
        if pk not in now
    ]


def _apart(old: InDryer, new: InDryer) -> bool:
    moments = ((old.start, new.start), (old.end, new.end))
    return old.dryer != new.dryer or any(abs(one - other) > LATER for one, other in moments)


def _missed(made: MadePlan, rests: Rests, now: datetime) -> list[str]:
    """Return the planned batches that nobody made in time."""
    return [
        _("no one made the batch for {dryer} on {start}").format(dryer=one.dryer, start=when(one.start))
        for one in made.batches
        if one.batch not in rests.batches and one.start + TOLERANCE < now
    ]

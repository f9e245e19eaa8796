"""The plan as a calendar that phones and computers read (iCalendar, RFC 5545)."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Any

from drystow.errors import DrystowError
from drystow.messages import Message, Translate, english, listed, msg, told
from drystow.planning.schedule.cold_storage import verdict_words
from drystow.planning.schedule.plan import PlannedBatch, PlannedLot, Schedule

PRODUCT = "-//Drystow//Plan of batches//EN"
WORK = timedelta(minutes=30)  # that loading, unloading and packing take in the calendar; drystow-default
REMINDER = timedelta(minutes=15)


def calendar_bytes(made: Schedule, stamp: datetime, translate: Translate = english) -> bytes:
    """Return the plan as an iCalendar file; times are the kitchen's own.

    made: the plan
    stamp: moment at which the file is written, with its time zone
    translate: to the reader's language
    """
    return batches_calendar(made.title, made.batches, stamp, translate)


def batches_calendar(
    title: str, batches: Iterable[PlannedBatch], stamp: datetime, translate: Translate = english
) -> bytes:
    """Return batches as an iCalendar file: one event each to load, unload and pack.

    title: of the calendar
    batches: in any order; times without a time zone are those of whoever reads them
    stamp: moment at which the file is written, with its time zone
    translate: to the reader's language
    """
    try:
        from icalendar import Calendar
    except ImportError:
        raise DrystowError(
            msg("a calendar needs one more Python package; install it with: pip install 'drystow[plan]'")
        ) from None
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("name", title)
    for batch in batches:
        for kind, when, summary, words in _events(batch):
            told_both = told(summary, translate), told(words, translate)
            calendar.add_component(_event(batch, kind, when, *told_both, stamp))
    written: bytes = calendar.to_ical()
    return written


def _events(batch: PlannedBatch) -> list[tuple[str, datetime, Message, Message]]:
    good = [lot for lot in batch.lots if not lot.verdict]
    spoiled = [lot for lot in batch.lots if lot.verdict]
    lots = listed(_tray_words(lot) for lot in good)
    out = msg("Check that it is dry, then unload: {lots}", lots=lots)
    unload = msg("Unload '{dryer}'", dryer=batch.dryer)
    pack = msg("Pack what came from '{dryer}'", dryer=batch.dryer)
    foods = listed(dict.fromkeys(lot.name for lot in good))
    packed = msg("Pack at once; dry food picks up water from the air: {foods}", foods=foods)
    found = [
        ("unload", batch.end, unload, _with_verdicts(out, good, spoiled)),
        ("pack", batch.end + WORK, pack, _with_verdicts(packed, good, spoiled)),
    ]
    if not batch.begun:
        load = msg("Load '{dryer}'", dryer=batch.dryer)
        found.insert(0, ("load", batch.start, load, _with_verdicts(msg("Load: {lots}", lots=lots), good, spoiled)))
    return found


def _with_verdicts(words: Message, good: list[PlannedLot], spoiled: list[PlannedLot]) -> Message:
    """Return what to do with food that is in time, and first the verdict on other food."""
    verdicts = [msg("{name}: {verdict}", name=lot.name, verdict=verdict_words(lot.verdict)) for lot in spoiled]
    return listed([*verdicts, words] if good else verdicts) if verdicts else words


def _tray_words(lot: PlannedLot) -> Message:
    if lot.frozen:
        return msg("{trays} × {name} (from the freezer)", trays=lot.trays, name=lot.name)
    return msg("{trays} × {name}", trays=lot.trays, name=lot.name)


def _event(batch: PlannedBatch, kind: str, when: datetime, title: str, words: str, stamp: datetime) -> Any:
    from icalendar import Alarm, Event

    event = Event()
    key = f"{kind}|{batch.dryer}|{batch.start.isoformat()}"
    event.add("uid", f"{sha256(key.encode()).hexdigest()[:24]}@drystow.invalid")
    event.add("dtstamp", stamp)
    event.add("dtstart", when)
    event.add("dtend", when + WORK)
    event.add("summary", title)
    event.add("description", words)
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", title)
    alarm.add("trigger", -REMINDER)
    event.add_component(alarm)
    return event

"""One live message after the other: kept, known already, or refused with its reason; nothing makes it stop."""

from dataclasses import dataclass
from datetime import UTC, datetime

from django.db import transaction

from drystow.errors import InputError
from drystow.messages import msg, msg_many
from drystow.web.dryers.models import Dryer
from drystow.web.kit.words import kept
from drystow.web.readings import drift
from drystow.web.readings.models import Channel, LiveSource
from drystow.web.readings.storage import add_readings, channel_for
from drystow.web.readings.topics import PayloadValue, dryer_named, parts_of, quantity_named, read_payload

MOST_SOURCES = 500
WHO = "live"
KEPT, REPEATED, REFUSED = "added", "repeated", "refused"


@dataclass(frozen=True)
class Arrived:
    """A message as it came.

    topic: it was sent to
    payload: what it says
    arrival: when it came [ms since 1970]
    retained: the broker had kept it for whoever asks
    again: the broker had sent it before
    """

    topic: str
    payload: bytes
    arrival: int
    retained: bool = False
    again: bool = False


def take(message: Arrived, pattern: str) -> str:
    """Keep what a message says and return what became of it: added, repeated or refused.

    Only a database that does not answer raises: then the broker keeps the message and sends it again.

    message: as it came
    pattern: topic pattern of the kitchen
    """
    with transaction.atomic():
        source = _source(message)
        if source is None:
            return REFUSED
        source.received += 1
        source.seen_at = datetime.fromtimestamp(message.arrival / 1000, UTC)
        try:
            outcome = _keep(message, pattern, source)
        except InputError as problem:
            outcome = REFUSED
            source.problem, source.problem_said = problem.message[:400], kept(problem.message)
        setattr(source, outcome, getattr(source, outcome) + 1)
        source.save()
    return outcome


def _source(message: Arrived) -> LiveSource | None:
    """Return the row of a topic; no flood of topics fills the database."""
    topic = message.topic[:200].replace("\0", "")
    found: LiveSource | None = LiveSource.objects.select_for_update().filter(topic=topic).first()
    if found is None and LiveSource.objects.count() < MOST_SOURCES:
        found = LiveSource(topic=topic)
    return found


def _keep(message: Arrived, pattern: str, source: LiveSource) -> str:
    parts = parts_of(pattern, message.topic)
    if parts is None:
        raise InputError("topic", msg("the topic does not match '{pattern}'", pattern=pattern))
    quantity, tray = quantity_named(parts[1])
    dryer = dryer_named(parts[0], list(Dryer.objects.kept().order_by("pk")))
    said = read_payload(message.payload, quantity)
    if said.at is None:
        outcome = _without_time(message, said, source)
        if outcome:
            return outcome
        moment = max(message.arrival, int(source.memory.get("last_at", 0)) + 1)
        source.memory = source.memory | {"last_at": moment, "last_value": said.value}
    else:
        clock = drift.clock_from(source.memory, source.offset_ms)
        at = round(said.at.timestamp() * 1000)
        if at in clock.times:
            return REPEATED
        if not message.retained:
            clock = drift.seen(clock, at, message.arrival)
            source.memory, source.offset_ms = drift.memory_of(clock), clock.offset
        _check_time(message, at, clock)
        moment = drift.corrected(clock, at)
    channel = _channel(source, dryer, quantity, tray, message.topic, said)
    return KEPT if add_readings(channel, [moment], [said.value]) else REPEATED


def _without_time(message: Arrived, said: PayloadValue, source: LiveSource) -> str:
    """Return what becomes of a message without a time that came late or twice, nothing when it counts as of now."""
    if message.retained:
        raise InputError("at", msg("a retained message without a time does not say when it was measured"))
    return REPEATED if message.again and source.memory.get("last_value") == said.value else ""


def _check_time(message: Arrived, at: int, clock: drift.SourceClock) -> None:
    if not drift.is_absurd(clock, at, message.arrival):
        return
    off = clock.offset if abs(clock.offset) > drift.SMALL else message.arrival - at
    minutes = round(abs(off) / 60_000)
    told = (
        msg_many("its clock is {count} minute behind; set it", "its clock is {count} minutes behind; set it", minutes)
        if off > 0
        else msg_many(
            "its clock is {count} minute ahead; set it", "its clock is {count} minutes ahead; set it", minutes
        )
    )
    raise InputError("at", told)


def _channel(source: LiveSource, dryer: Dryer, quantity: str, tray: int, topic: str, said: PayloadValue) -> Channel:
    known = source.channel
    if known is not None and (known.dryer_id, known.quantity, known.tray) == (dryer.pk, quantity, tray):
        return known
    found = Channel.objects.filter(dryer=dryer, quantity=quantity, tray=tray, source=topic[:200]).first()
    source.channel = found or channel_for(dryer, quantity, tray, topic, said.unit, who=WHO)
    assert source.channel is not None
    return source.channel

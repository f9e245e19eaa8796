"""Is the clock of a sensor right? Its times are held against the arrival of its messages; knows no database."""

from dataclasses import dataclass, replace
from typing import Any

KEPT = 40
"""Latest delays and latest times that are remembered of a source."""
ENOUGH = 5  # messages that came as they were measured, before a clock is judged
UNSEEN = 3_000  # offset that is left alone: the way through the network [ms]
SMALL = 600_000  # offset that is corrected [ms]
AHEAD = 600_000  # a single message this far in the future is refused at once [ms]
OLDEST = 31 * 86_400_000  # a message older than this is refused [ms]
STEP = 2_000  # a new estimate counts when it is this far from the one in use [ms]


@dataclass(frozen=True)
class SourceClock:
    """What is known of the clock of a source.

    offset: added to its times [ms]
    delays: arrival less written time of the latest messages that came as they were measured [ms]
    last_at: written time of the last message [ms since 1970]
    last_arrival: when it came [ms since 1970]
    times: latest written times, to know a repeated message by [ms since 1970]
    """

    offset: int = 0
    delays: tuple[int, ...] = ()
    last_at: int = 0
    last_arrival: int = 0
    times: tuple[int, ...] = ()


def seen(clock: SourceClock, at: int, arrival: int) -> SourceClock:
    """Return what is known of a clock after one more message.

    The smallest delay of the latest messages is the clock's offset: the way through the network only adds to it. A
    message that waited at the broker says nothing, and is known by coming faster than it was measured.

    at: written time [ms since 1970]
    arrival: when it came [ms since 1970]
    """
    live = clock.last_at > 0 and at > clock.last_at and arrival - clock.last_arrival >= 0.5 * (at - clock.last_at)
    delays = (*clock.delays, arrival - at)[-KEPT:] if live else clock.delays
    offset = clock.offset
    if len(delays) >= ENOUGH:
        estimate = min(delays[-ENOUGH:])
        if abs(estimate - offset) > STEP:
            offset = 0 if abs(estimate) <= UNSEEN else round(estimate, -3)
    return replace(
        clock,
        offset=offset,
        delays=delays,
        last_at=max(at, clock.last_at) if live or not clock.last_at else at,
        last_arrival=arrival,
        times=(*clock.times, at)[-KEPT:],
    )


def is_absurd(clock: SourceClock, at: int, arrival: int) -> bool:
    """Return whether a time cannot be used: far in the future, very old, or of a clock that is far off."""
    return at - arrival > AHEAD or arrival - at > OLDEST or abs(clock.offset) > SMALL


def corrected(clock: SourceClock, at: int) -> int:
    """Return when something was measured, by the right time [ms since 1970]."""
    return at + (clock.offset if abs(clock.offset) <= SMALL else 0)


def clock_from(memory: dict[str, Any], offset: int) -> SourceClock:
    """Return a clock as it was remembered."""
    return SourceClock(
        offset,
        tuple(int(one) for one in memory.get("delays", ())),
        int(memory.get("last_at", 0)),
        int(memory.get("last_arrival", 0)),
        tuple(int(one) for one in memory.get("times", ())),
    )


def memory_of(clock: SourceClock) -> dict[str, Any]:
    """Return what is to be remembered of a clock, besides its offset."""
    return {
        "delays": list(clock.delays),
        "last_at": clock.last_at,
        "last_arrival": clock.last_arrival,
        "times": list(clock.times),
    }

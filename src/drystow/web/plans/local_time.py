"""The kitchen's own time, as plans are written in, and moments, as the database keeps them.

On the two days a year on which clocks are changed, hours with somebody there stay what the clock shows; what dries
takes as long as it takes.
"""

from datetime import UTC, datetime, tzinfo

from django.utils import timezone

from drystow.days import day_text
from drystow.web.kit.words import in_words


def kitchen_time(at: datetime, zone: tzinfo) -> datetime:
    """Return what the clock of the kitchen shows at a moment.

    >>> from zoneinfo import ZoneInfo
    >>> house_time(datetime(2026, 7, 1, 12, tzinfo=UTC), ZoneInfo("America/New_York")).hour
    8
    """
    return at.astimezone(zone).replace(tzinfo=None)


def moment(local: datetime, zone: tzinfo) -> datetime:
    """Return the moment at which the clock of the kitchen shows a time; the first one where it does so twice."""
    return local.replace(tzinfo=zone).astimezone(UTC)


def spans(start: datetime, dry: datetime, end: datetime, zone: tzinfo) -> tuple[datetime, datetime, datetime]:
    """Return the moments of loading, of being dry and of unloading, where the clock may be changed between them.

    start, dry, end: what the clock of the kitchen shows when no clock is changed
    """
    loaded = moment(start, zone)
    ready = loaded + (dry - start)
    return loaded, ready, max(moment(end, zone), ready)


def when(at: datetime | str) -> str:
    """Return a moment with its weekday and clock; one without a time zone is the kitchen's own time."""
    found = datetime.fromisoformat(at) if isinstance(at, str) else at
    local = timezone.localtime(found) if found.tzinfo else found
    return in_words(day_text(local, "weekday_clock"))

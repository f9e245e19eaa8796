"""The clock of the house."""

from functools import cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones


def kitchen_zone(name: str) -> ZoneInfo:
    """Return the time zone that the house names, UTC when this computer does not know it."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo("UTC")


@cache
def time_zones() -> list[tuple[str, str]]:
    """Return every time zone that this computer knows."""
    return [(name, name.replace("_", " ")) for name in sorted(available_timezones())]

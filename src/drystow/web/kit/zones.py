"""The clock of the house."""

from zoneinfo import ZoneInfo, ZoneInfoNotFoundError


def house_zone(name: str) -> ZoneInfo:
    """Return the time zone that the house names, UTC when this computer does not know it."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo("UTC")

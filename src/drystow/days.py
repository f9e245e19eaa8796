"""The only place where days and times of day become text, in the order and by the clock of the reader."""

from datetime import date, datetime, timedelta
from math import ceil

from drystow.messages import Late, Reader, msg

MONTHS = (
    msg("Jan"), msg("Feb"), msg("Mar"), msg("Apr"), msg("May"), msg("Jun"),
    msg("Jul"), msg("Aug"), msg("Sep"), msg("Oct"), msg("Nov"), msg("Dec"),
)  # fmt: skip
DAYS = (msg("Mon"), msg("Tue"), msg("Wed"), msg("Thu"), msg("Fri"), msg("Sat"), msg("Sun"))

CLOCK = msg("7:12 pm")
"""Twelve past seven in the evening, in the catalogues for whether the language has a clock of twelve hours."""

STYLES = {
    # style: {system: pattern}
    "day": {"us": "{month} {day}, {year}", "si": "{day} {month} {year}"},
    "month_day": {"us": "{month} {day}", "si": "{day} {month}"},
    "weekday": {"us": "{weekday}, {month} {day}", "si": "{weekday} {day} {month}"},
    "month": {"us": "{month} {year}", "si": "{month} {year}"},
    "name": {"us": "{weekday}", "si": "{weekday}"},
}
"""How a day is written, for the catalogues."""

WITH_CLOCK = {
    # style: style of its day, how day and clock stand together
    "moment": ("day", "{day}, {clock}"),
    "second": ("day", "{day}, {clock}"),
    "weekday_clock": ("weekday", "{day}, {clock}"),
    "name_clock": ("name", "{day} {clock}"),
    "month_day_clock": ("month_day", "{day}, {clock}"),
}
NAMED = range(-6, 7)  # days from today whose weekday says enough


class Moment(Late):
    """A day or a time that is written in the order and by the clock of its reader; make it with `day_text`."""

    at: str
    style: str

    def told(self, reader: Reader) -> str:
        """Return the day or the time for a reader."""
        at = datetime.fromisoformat(self.at)
        if self.style == "clock":
            return _clock(at, reader)
        if self.style in STYLES:
            return _day(at, self.style, reader)
        style, pattern = WITH_CLOCK[self.style]
        clock = _clock(at, reader, seconds=self.style == "second")
        return reader(pattern).format(day=_day(at, style, reader), clock=clock)


def day_text(at: date | datetime | str, style: str = "day") -> Moment:
    """Return a day or a time as text.

    at: also as ISO text; the clock is read as it is, so change to the reader's time zone before
    style: of `STYLES` or `WITH_CLOCK`, or ``clock`` for the time of day alone

    >>> evening, us = day_text("2029-05-26T19:12", "moment"), Reader(units="us")
    >>> evening, evening.told(us), day_text("2029-05-26").told(us)
    ('26 May 2029, 19:12', 'May 26, 2029, 7:12 pm', 'May 26, 2029')
    >>> day_text("2026-11-30T07:05", "weekday_clock").told(us), day_text("2026-11-30", "weekday")
    ('Mon, Nov 30, 7:05 am', 'Mon 30 Nov')
    """
    blank = Moment()
    blank.__dict__ = {"at": at if isinstance(at, str) else at.isoformat(), "style": style}
    made = Moment(blank.told(Reader()))
    made.__dict__ = dict(blank.__dict__)
    return made


class AxisFormat(Late):
    """How the axis of a chart writes days and times, in the order and by the clock of its reader."""

    style: str

    def told(self, reader: Reader) -> str:
        """Return the format for a reader, as charts want it."""
        style, pattern = WITH_CLOCK.get(self.style, (self.style, "{day}"))
        words = reader(STYLES[style][reader.units]).format(weekday="%a", month="%b", day="%-d", year="%Y")
        return reader(pattern).format(day=words, clock="%-I:%M %p" if _twelve(reader) else "%H:%M")


def axis_format(style: str = "day") -> AxisFormat:
    """Return how an axis writes days in a style of `STYLES` or `WITH_CLOCK`.

    >>> axis_format(), axis_format("month_day_clock").told(Reader(units="us"))
    ('%-d %b %Y', '%b %-d, %-I:%M %p')
    """
    blank = AxisFormat()
    blank.__dict__ = {"style": style}
    made = AxisFormat(blank.told(Reader()))
    made.__dict__ = dict(blank.__dict__)
    return made


def near(at: datetime, now: datetime, after: datetime | None = None) -> str:
    """Return a time at which something is to be done: today and tomorrow before a weekday, that before a date.

    at, now: on the same clock
    after: begin of a range that this ends; the day is not said again

    >>> now = datetime(2026, 11, 30, 9, 0)
    >>> near(datetime(2026, 11, 30, 19, 12), now), near(datetime(2026, 12, 1, 7, 0), now)
    ('today 19:12', 'tomorrow 07:00')
    >>> near(datetime(2026, 12, 1, 9, 30), now, after=datetime(2026, 12, 1, 7, 0))
    '09:30'
    >>> near(datetime(2026, 12, 3, 7, 0), now), near(datetime(2026, 12, 24, 7, 0), now)
    ('Thu 07:00', 'Thu 24 Dec, 07:00')
    """
    if after is not None and after.date() == at.date():
        return day_text(at, "clock")
    days = (at.date() - now.date()) // timedelta(days=1)
    clock = day_text(at, "clock")
    if days == 0:
        return msg("today {clock}", clock=clock)
    if days == 1:
        return msg("tomorrow {clock}", clock=clock)
    if days == -1:
        return msg("yesterday {clock}", clock=clock)
    return day_text(at, "name_clock" if days in NAMED else "weekday_clock")


def ahead(at: datetime, now: datetime) -> str:
    """Return how long it is until something, nothing where that was before or is more than two days away.

    at, now: on the same clock

    >>> now = datetime(2026, 11, 30, 9, 0)
    >>> ahead(datetime(2026, 11, 30, 17, 20), now), ahead(datetime(2026, 11, 30, 9, 25), now), ahead(now, now)
    ('in about 8 h', 'in about 25 min', '')
    """
    minutes = (at - now).total_seconds() / 60.0
    if not 1.0 <= minutes <= 48 * 60:
        return ""
    if minutes < 55.0:
        return msg("in about {count} min", count=5 * ceil(minutes / 5.0))
    return msg("in about {count} h", count=round(minutes / 60.0))


def _day(at: datetime, style: str, reader: Reader) -> str:
    return reader(STYLES[style][reader.units]).format(
        weekday=reader(DAYS[at.weekday()]), month=reader(MONTHS[at.month - 1]), day=at.day, year=at.year
    )


def _clock(at: datetime, reader: Reader, *, seconds: bool = False) -> str:
    below = f":{at.minute:02d}" + (f":{at.second:02d}" if seconds else "")
    if _twelve(reader):
        return f"{at.hour % 12 or 12}{below} {'pm' if at.hour >= 12 else 'am'}"
    return f"{at.hour:02d}{below}"


def _twelve(reader: Reader) -> bool:
    return reader.units == "us" and reader(CLOCK)[-1:].isalpha()

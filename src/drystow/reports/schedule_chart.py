"""Picture of a plan of batches over the days: a lane for each dryer, wide for a screen or paper, upright for a phone.

Everything stands at hours since the begin of the picture, by the clock of the kitchen. A batch that was made already is
filled, one that is only planned is light with a broken edge; where the food is dry and waits for somebody the bar is
empty; so the picture reads without colour.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from math import ceil

from drystow.days import day_text
from drystow.messages import msg
from drystow.reports.pictures import Picture
from drystow.reports.schedule_days import Days
from drystow.reports.schedule_upright import upright
from drystow.reports.schedule_wide import wide

MOST_DAYS = 14  # in one wide picture; longer plans get several


def away_of(
    home: Sequence[Sequence[Sequence[float]]], begin: datetime, end: datetime
) -> list[tuple[datetime, datetime]]:
    """Return when nobody is there.

    home: parts of the day with somebody there, per weekday from Monday [h]
    begin, end: between which
    """
    found = []
    since, day = begin, datetime.combine(begin.date(), datetime.min.time())
    while day < end:
        for start, until in sorted((part[0], part[1]) for part in home[day.weekday()]):
            come, go = (min(max(day + timedelta(hours=hour), begin), end) for hour in (start, until))
            if come > since:
                found.append((since, come))
            since = max(since, go)
        day += timedelta(days=1)
    return [*found, (since, end)] if since < end else found


def schedule_pictures(days: Days, width: int) -> tuple[Picture, ...]:
    """Return the pictures of a plan, each of two weeks at most.

    days: of the plan
    width: of the drawing [px]
    """
    parts = _parts(days)
    return tuple(
        Picture(
            "schedule", _title(part, len(parts)), _words(days) if number == 0 else _title(part, 2), wide(part, width)
        )
        for number, part in enumerate(parts)
    )


def upright_picture(days: Days, width: int) -> Picture:
    """Return the picture of a plan with time running down, for a narrow screen.

    days: of the plan
    width: of the drawing [px]
    """
    return Picture("schedule", _title(days, 1), _words(days), upright(days, width))


def _title(days: Days, count: int) -> str:
    if count == 1:
        return msg("When each dryer is loaded")
    last = days.end - timedelta(minutes=1)
    return msg("{begin} to {end}", begin=_day_text(days.begin.date()), end=_day_text(last.date()))


def _words(days: Days) -> str:
    planned = sum(1 for bar in days.bars if not bar.made)
    return msg(
        "One bar per batch, {all} in all, {planned} of them only planned, from loading to "
        "unloading. Filled or light: drying. Outlined: dry and waiting for someone. Shaded: no "
        "one is there. Numbers match the list.",
        all=len(days.bars),
        planned=planned,
    )


def _day_text(day: date) -> str:
    return day_text(day, "weekday")


def _parts(days: Days) -> list[Days]:
    length = days.end - days.begin
    count = max(ceil(length / timedelta(days=MOST_DAYS)), 1)
    part = timedelta(days=ceil(length / count / timedelta(days=1)))
    found, begin = [], days.begin
    while begin < days.end:
        end = min(begin + part, days.end)
        found.append(
            replace(
                days,
                begin=begin,
                end=end,
                bars=tuple(bar for bar in days.bars if bar.start < end and bar.end > begin),
                frozen=tuple(one for one in days.frozen if one.start < end and one.end > begin),
                away=tuple(span for span in days.away if span[0] < end and span[1] > begin),
                stops=tuple(stop for stop in days.stops if stop[1] < end and stop[2] > begin),
            )
        )
        begin = end
    return found

"""Picture of a plan of batches over the days: a lane for each dryer, wide for a screen or paper, upright for a phone.

Everything stands at hours since the begin of the picture, by the clock of the kitchen. A batch that was made already is
filled, one that is only planned is light with a broken edge; where the food is dry and waits for somebody the bar is
empty; so the picture reads without colour.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from math import ceil

from drystow.days import DAYS, day_text
from drystow.messages import msg
from drystow.reports.charts import Spec
from drystow.reports.pictures import Picture
from drystow.reports.schedule_layout import (
    BOLD,
    LETTER,
    BatchBar,
    Days,
    Scale,
    bar_boxes,
    box,
    drawn,
    month_day,
    named,
    short,
    stacked,
    text,
    wrapped,
)
from drystow.reports.text import plain

HEAD, LINE = 30, 14  # px: of the names above, of a line of text
CLOCK = 44  # px left for the days
DAY, LONG_DAY, LONG = 84.0, 56.0, 14 * 24  # px of a day; of a day in a plan longer than so many hours
DATE = 30  # px of a day's name and date
FROST = 18.0  # px for each food that waits
EDGE = 4.0  # px beside a bar


def upright(days: Days, width: int) -> Spec:
    """Return the specification.

    days: of the plan
    width: of the drawing [px]
    """
    hours = (days.end - days.begin).total_seconds() / 3600.0
    scale = Scale(days, (DAY if hours <= LONG else LONG_DAY) / 24.0, HEAD)
    waiting = stacked(days.frozen)
    lines = max((line + 1 for line, _one in waiting), default=0)
    frost = min(FROST, 0.4 * (width - CLOCK) / max(lines, 1))
    right = width - (lines * frost + 2 * EDGE if lines else 0.0)
    column = (right - CLOCK) / max(len(days.dryers), 1)
    height = HEAD + hours * scale.hour
    boxes = [box(CLOCK, scale.at(begin), right, scale.at(end), "away") for begin, end in days.away]
    texts: list[Spec] = []
    for day in scale.midnights:
        y = scale.at(day)
        boxes.append(box(0, y, width, y + 0.8, "line"))
        texts += [text(0, y + 14, DAYS[day.weekday()], "bold"), text(0, y + 28, month_day(day), "quiet")]
    for lane, name in enumerate(days.dryers):
        x = CLOCK + lane * column
        boxes.append(box(x, HEAD - 20, x + 0.8, height, "line"))
        texts.append(text(x + 4, HEAD - 8, plain(name, max(int((column - 4) / BOLD), 2)), "bold"))
    for lane, begin, end, reason in days.stops:
        x, y = CLOCK + lane * column + EDGE, scale.at(begin)
        boxes.append(box(x, y, x + column - 2 * EDGE, scale.at(end), "stop"))
        if scale.at(end) - y >= LINE:
            texts.append(text(x + 3, y + 12, short(reason, int((column - 12) / LETTER)), "plain"))
    for bar in days.bars:
        x = CLOCK + bar.dryer * column + EDGE
        along = (scale.at(bar.start), scale.at(bar.dry), scale.at(bar.end))
        boxes += bar_boxes(along, (x, x + column - 2 * EDGE), bar.made, down=True)
        texts += _column_texts(scale, bar, x, int((column - 12) / (BOLD if bar.made else LETTER)))
    if lines:
        boxes.append(box(right, HEAD - 20, right + 0.8, height, "line"))
        texts.append(text(width, HEAD - 8, msg("Freezer"), "end"))
    for line, one in waiting:
        x, y = right + EDGE + line * frost, scale.at(one.start)
        boxes.append(box(x, y, x + frost - 2, scale.at(one.end), "frozen"))
        texts.append(text(x + 0.3 * frost, y + 3, short(one.food, int((scale.at(one.end) - y) / LETTER)), "turned"))
    if scale.has_now and days.now is not None:
        y = scale.at(days.now)
        boxes.append(box(0, y - 0.75, width, y + 0.75, "now"))
        midnight = max(scale.at(day) for day in scale.midnights if day <= days.now)
        clear = y - 3 if y - midnight >= DATE + LINE else max(y + LINE - 3, midnight + DATE + LINE - 3)
        texts.append(text(CLOCK - EDGE, clear, msg("now"), "end"))
    return drawn(boxes, texts, width, height)


def _column_texts(scale: Scale, bar: BatchBar, left: float, letters: int) -> list[Spec]:
    """Return the number and the foods, as far as there is room in the bar."""
    top = scale.at(bar.start)
    lines = max(int((scale.at(bar.dry) - top - 4) / LINE), 1)
    first = f"{bar.number} {bar.foods[0]}" if bar.foods else str(bar.number)
    told = named((first, *bar.foods[1:]), letters, lines)
    return [
        text(left + 4, top + 13 + line * LINE, words, "on" if bar.made else "plain") for line, words in enumerate(told)
    ]


HEAD, LANE, BAR, GAP = 36, 68, 26, 8  # px: of the days above, of a lane, of the bar in it, above the bar
LINE = 13  # px of a line of names below the bar
FREEZER_LINE = 18  # px for each food that waits
NAMES = 84  # px left for the names of the lanes
NOW = 14  # px of the word below
WHOLE_DATE = 46  # px that a day needs for its month


def wide(days: Days, width: int) -> Spec:
    """Return the specification.

    days: of the plan
    width: of the drawing [px]
    """
    hours = (days.end - days.begin).total_seconds() / 3600.0
    scale = Scale(days, (width - NAMES) / hours, NAMES)
    waiting = stacked(days.frozen)
    lines = max((line + 1 for line, _one in waiting), default=0)
    top = HEAD + LANE * len(days.dryers)
    bottom = top + (FREEZER_LINE * lines + 12 if lines else 0)
    height = bottom + (NOW if scale.has_now else 0)
    boxes = [box(scale.at(begin), HEAD, scale.at(end), top, "away") for begin, end in days.away]
    texts: list[Spec] = []
    for day in scale.midnights:
        at = scale.at(day)
        date = month_day(day) if 24 * scale.hour >= WHOLE_DATE else str(day.day)
        boxes.append(box(at, 0, at + 0.8, bottom, "line"))
        texts += [text(at + 4, 13, DAYS[day.weekday()], "bold"), text(at + 4, 27, date, "quiet")]
    for lane, name in enumerate(days.dryers):
        y = HEAD + lane * LANE
        boxes.append(box(0, y, width, y + 0.8, "line"))
        told = wrapped(plain(name).split(), int(NAMES / BOLD), 2)
        texts += [text(0, y + GAP + 17 + LINE * line, words, "bold") for line, words in enumerate(told)]
    for lane, begin, end, reason in days.stops:
        y, left, right = HEAD + lane * LANE + GAP, scale.at(begin), scale.at(end)
        boxes.append(box(left, y, right, y + BAR, "stop"))
        if right - left - 4 >= len(reason) * LETTER:
            texts.append(text(left + 3, y + 17, reason, "plain"))
    for bar in days.bars:
        y = HEAD + bar.dryer * LANE + GAP
        along = (scale.at(bar.start), scale.at(bar.dry), scale.at(bar.end))
        boxes += bar_boxes(along, (y, y + BAR), bar.made, down=False)
        texts += _lane_texts(scale, bar)
    if lines:
        boxes.append(box(0, top, width, top + 0.8, "line"))
        texts.append(text(0, top + 20, msg("Freezer"), "bold"))
    for line, one in waiting:
        y, left = top + 8 + line * FREEZER_LINE, scale.at(one.start)
        boxes.append(box(left, y, scale.at(one.end), y + FREEZER_LINE - 3, "frozen"))
        texts.append(text(left + 3, y + 11.5, short(one.food, int((width - left) / LETTER)), "plain"))
    if scale.has_now and days.now is not None:
        at = scale.at(days.now)
        boxes.append(box(at - 0.75, HEAD - 3, at + 0.75, bottom, "now"))
        texts.append(text(at, height - 3, msg("now"), "now"))
    return drawn(boxes, texts, width, height)


def _lane_texts(scale: Scale, bar: BatchBar) -> list[Spec]:
    """Return the number in the bar, and the foods below it as far as the next one."""
    days, y, left = scale.days, HEAD + bar.dryer * LANE + GAP, scale.at(bar.start)
    later = [one.start for one in days.bars if one.dryer == bar.dryer and one.start > bar.start]
    room = scale.at(min(later, default=days.end)) - left - 6
    number = text(left + 5, y + 18, str(bar.number), "on" if bar.made else "bold")
    return [
        number,
        *(
            text(left + 2, y + BAR + LINE * (line + 1), words, "plain")
            for line, words in enumerate(named(bar.foods, int(room / LETTER), 2))
        ),
    ]


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

"""The picture of a plan with time running down, for a narrow screen."""

from drystow.days import DAYS
from drystow.messages import msg
from drystow.reports.charts import Spec
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
        texts += _texts(scale, bar, x, int((column - 12) / (BOLD if bar.made else LETTER)))
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


def _texts(scale: Scale, bar: BatchBar, left: float, letters: int) -> list[Spec]:
    """Return the number and the foods, as far as there is room in the bar."""
    top = scale.at(bar.start)
    lines = max(int((scale.at(bar.dry) - top - 4) / LINE), 1)
    first = f"{bar.number} {bar.foods[0]}" if bar.foods else str(bar.number)
    told = named((first, *bar.foods[1:]), letters, lines)
    return [
        text(left + 4, top + 13 + line * LINE, words, "on" if bar.made else "plain") for line, words in enumerate(told)
    ]

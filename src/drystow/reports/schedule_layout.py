"""What the pictures of a plan are made of: its batches, and boxes and texts at pixels."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from drystow.days import day_text
from drystow.reports.charts import COLOURS, GRID, INK, MUTED, Spec
from drystow.reports.text import plain


@dataclass(frozen=True)
class BatchBar:
    """One batch.

    number: in the list of batches
    dryer: number of the lane
    start: when it is loaded
    dry: when it is dry
    end: when somebody unloads it
    foods: names of what is in it
    made: it is a batch of the kitchen already
    """

    number: int
    dryer: int
    start: datetime
    dry: datetime
    end: datetime
    foods: tuple[str, ...]
    made: bool = False


@dataclass(frozen=True)
class WaitingBar:
    """Food that waits in the freezer.

    food: its name
    start: when it is frozen
    end: when it is loaded
    """

    food: str
    start: datetime
    end: datetime


@dataclass(frozen=True)
class Days:
    """A plan as it is drawn; all times by the clock of the kitchen.

    begin, end: first and last moment
    dryers: names of the lanes
    bars: batches
    frozen: what waits in the freezer
    away: when nobody is there
    stops: lane, begin, end and reason of times in which a dryer is not to be had
    now: the moment, None when it is not to be drawn
    """

    begin: datetime
    end: datetime
    dryers: tuple[str, ...]
    bars: tuple[BatchBar, ...]
    frozen: tuple[WaitingBar, ...] = ()
    away: tuple[tuple[datetime, datetime], ...] = ()
    stops: tuple[tuple[int, datetime, datetime, str], ...] = ()
    now: datetime | None = None


LETTER = 6.0  # px that a letter takes at most, on the average
BOLD = 7.4  # of the kinds "bold" and "on"; measured with a wide letter of a screen (DejaVu Sans)
MADE, PLANNED, FROZEN, NOW = COLOURS[0], COLOURS[5], COLOURS[3], COLOURS[1]
BROKEN = [4, 3]
BOXES: dict[str, dict[str, Any]] = {
    "away": {"fill": GRID, "fillOpacity": 0.75},
    "line": {"fill": MUTED, "fillOpacity": 0.4},
    "stop": {"fill": MUTED, "fillOpacity": 0.4},
    "frozen": {"fill": FROZEN, "fillOpacity": 0.35},
    "under": {"fill": "white"},
    "planned": {"fill": PLANNED, "fillOpacity": 0.3},
    "planned-waits": {"fill": "white", "stroke": MADE, "strokeWidth": 1.2, "strokeDash": BROKEN},
    "made-waits": {"fill": "white", "stroke": MADE, "strokeWidth": 1.5},
    "made": {"fill": MADE},
    "planned-edge": {"fill": "white", "fillOpacity": 0, "stroke": MADE, "strokeWidth": 1.2, "strokeDash": BROKEN},
    "now": {"fill": NOW},
}
"""Kinds of boxes, the lowest first."""
TEXTS: dict[str, dict[str, Any]] = {
    "plain": {"color": INK, "fontSize": 11},
    "bold": {"color": INK, "fontSize": 12, "fontWeight": 600},
    "quiet": {"color": MUTED, "fontSize": 11},
    "on": {"color": "white", "fontSize": 11.5, "fontWeight": 600},
    "turned": {"color": INK, "fontSize": 11, "angle": 90},
    "now": {"color": INK, "fontSize": 11, "fontWeight": 600, "align": "center"},
    "end": {"color": INK, "fontSize": 11, "fontWeight": 600, "align": "right"},
}


@dataclass(frozen=True)
class Scale:
    """Hours to pixels of one drawing.

    days: that are drawn
    hour: of an hour [px]
    origin: where the first hour is [px]
    """

    days: Days
    hour: float
    origin: float

    def at(self, moment: datetime) -> float:
        """Return where a moment is, inside the drawing [px]."""
        inside = min(max(moment, self.days.begin), self.days.end)
        return self.origin + (inside - self.days.begin).total_seconds() / 3600.0 * self.hour

    @property
    def midnights(self) -> list[datetime]:
        """Begins of the days, the first one perhaps before the drawing."""
        first = datetime.combine(self.days.begin.date(), datetime.min.time())
        count = (self.days.end.date() - first.date()).days + 1
        return [day for number in range(count) if (day := first + timedelta(days=number)) < self.days.end]

    @property
    def has_now(self) -> bool:
        """The moment now is inside."""
        return self.days.now is not None and self.days.begin <= self.days.now < self.days.end


def box(x: float, y: float, x2: float, y2: float, kind: str) -> Spec:
    """Return a box between two corners, of a kind of `BOXES`."""
    return {"x": round(x, 1), "y": round(y, 1), "x2": round(x2, 1), "y2": round(y2, 1), "kind": kind}


def bar_boxes(along: tuple[float, float, float], across: tuple[float, float], made: bool, *, down: bool) -> list[Spec]:
    """Return the boxes of a batch: while it dries, and while it is dry and waits for somebody.

    along: where it is loaded, dry and unloaded [px]
    across: its two long edges [px]
    made: it is a batch of the kitchen already
    down: time runs down
    """

    def part(begin: float, end: float, kind: str) -> Spec:
        return box(across[0], begin, across[1], end, kind) if down else box(begin, across[0], end, across[1], kind)

    start, dry, end = along
    waits = [part(dry, end, "made-waits" if made else "planned-waits")] if end - dry >= 1.0 else []
    if made:
        return [part(start, dry, "made"), *waits]
    return [part(start, dry, "under"), part(start, dry, "planned"), *waits, part(start, end, "planned-edge")]


def text(x: float, y: float, words: str, kind: str) -> Spec:
    """Return words that begin at a place, of a kind of `TEXTS`."""
    return {"x": round(x, 1), "y": round(y, 1), "words": words, "kind": kind}


def short(words: str, letters: int) -> str:
    """Return words that fit into so many letters."""
    return plain(words, letters) if letters > 1 else plain(words)[:1]


def named(foods: Sequence[str], letters: int, lines: int) -> list[str]:
    """Return the names of foods on a few lines, what does not fit as an ellipsis.

    >>> named(("Tomatoes", "Apples", "Onions"), 16, 2)
    ['Tomatoes,', 'Apples, Onions']
    >>> named(("Tomatoes", "Apples", "Onions"), 9, 2)
    ['Tomatoes,', 'Apples,…']
    """
    return wrapped([f"{food}," for food in foods[:-1]] + list(foods[-1:]), letters, lines)


def wrapped(parts: Sequence[str], letters: int, lines: int) -> list[str]:
    """Return words on a few lines, what does not fit as an ellipsis."""
    told: list[str] = []
    for number, part in enumerate(parts):
        if told and len(told[-1]) + 1 + len(part) <= letters:
            told[-1] += f" {part}"
        elif len(told) < lines:
            told.append(short(part, letters))
        else:
            told[-1] = short(f"{told[-1]} {' '.join(parts[number:])}", max(letters, len(told[-1]) + 2))
            break
    return told


def month_day(day: datetime) -> str:
    """Return a day without its year."""
    return day_text(day, "month_day")


def stacked(frozen: Sequence[WaitingBar]) -> list[tuple[int, WaitingBar]]:
    """Return what waits, each on the first line that is free."""
    free: list[datetime] = []
    found = []
    for one in sorted(frozen, key=lambda one: (one.start, one.end, one.food)):
        line = next((number for number, until in enumerate(free) if until <= one.start), len(free))
        free[line : line + 1] = [one.end]
        found.append((line, one))
    return found


def drawn(boxes: Sequence[Spec], texts: Sequence[Spec], width: float, height: float) -> Spec:
    """Return the specification of a drawing of this size [px]."""
    corners = {
        "x": {"field": "x", "type": "quantitative", "axis": None, "scale": {"domain": [0, width], "zero": False}},
        "y": {"field": "y", "type": "quantitative", "axis": None, "scale": {"domain": [height, 0], "zero": False}},
    }
    boxed = {**corners, "x2": {"field": "x2"}, "y2": {"field": "y2"}}
    written = {**corners, "text": {"field": "words", "type": "nominal"}}
    layers: list[Spec] = [_layer(boxes, kind, {"type": "rect", **look}, boxed) for kind, look in BOXES.items()]
    usual = {"type": "text", "align": "left", "baseline": "alphabetic"}
    layers += [_layer(texts, kind, {**usual, **look}, written) for kind, look in TEXTS.items()]
    return {
        "width": width,
        "height": height,
        "background": "white",
        "padding": 2,
        "layer": [layer for layer in layers if layer["data"]["values"]],
        "config": {"view": {"stroke": None}},
    }


def _layer(rows: Sequence[Spec], kind: str, mark: Spec, encoding: Spec) -> Spec:
    values = [{name: value for name, value in row.items() if name != "kind"} for row in rows if row["kind"] == kind]
    return {"data": {"values": values}, "mark": mark, "encoding": encoding}

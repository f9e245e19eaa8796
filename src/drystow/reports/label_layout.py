"""Where every word of a label goes: type as large as fits, and what is left out when even the smallest does not."""

from dataclasses import dataclass
from functools import cache

from drystow.reports.metrics import Runs, text_width, wrap

REGULAR, SEMIBOLD, BOLD, ITALIC = range(4)
POINT = 25.4 / 72  # mm

SMALLEST_TYPE = 6.0
"""Smallest type [pt]: small letters are then about 0.9 mm high. Source: common practice."""
LARGEST_TYPE = 14.0
SMALLEST_MODULE = 0.33
"""Smallest square of the code [mm] that phones and office printers manage. Source: common practice."""
LARGEST_CODE = 24.0  # mm
QUIET_MODULES = 4  # ISO/IEC 18004: free border around the symbol, in modules
LEAST_WIDTH = 24.0  # mm of text beside the code
NAME = 1.35  # size of the name to the size of the other lines
PITCH = 1.2  # from line to line, in type sizes
CAP = 0.65  # height of capitals, in type sizes
BOX = 0.32  # free space inside the box around a caution, in type sizes
SAFE = 0.985  # share of the line that estimated widths may fill


@dataclass(frozen=True)
class Wording:
    """What a label says, each part on lines of its own, as (word, style) pairs.

    name: name of the food
    must: lines that are never left out, with those to put in a box marked True
    optional: lines left out from the last when there is no room
    below: text under everything, for the code
    modules: of the code per side, 0 without one
    """

    name: Runs
    must: tuple[tuple[Runs, bool], ...]
    optional: tuple[Runs, ...]
    below: Runs
    modules: int


@dataclass(frozen=True)
class Layout:
    """A label set in type, measured in mm from its top left corner.

    runs: (x, baseline, type size in pt, style, text)
    boxes: (x, y, width, height) around cautions
    code: (x, y, side) or None
    left_out: how many of the optional lines found no room
    """

    runs: tuple[tuple[float, float, float, int, str], ...]
    boxes: tuple[tuple[float, float, float, float], ...]
    code: tuple[float, float, float] | None
    left_out: int


@dataclass(frozen=True)
class _Frame:
    width: float
    height: float
    pad: float
    side: float
    quiet: float

    @property
    def beyond(self) -> float:
        """Free border that the code needs beyond the padding."""
        return max(self.quiet - self.pad, 0.0) if self.side else 0.0

    @property
    def column(self) -> float:
        beside = self.side + self.quiet + self.beyond if self.side else 0.0
        return self.width - 2 * self.pad - beside


@cache
def _frame(width: float, height: float, modules: int) -> _Frame:
    pad = min(max(0.05 * height, 1.3), 3.5)
    least = modules * SMALLEST_MODULE
    side = max(least, min(0.42 * height, 0.27 * width, LARGEST_CODE)) if modules else 0.0
    return _Frame(width, height, pad, side, side / modules * QUIET_MODULES if modules else 0.0)


def smallest_size(wording: Wording, width: float) -> tuple[float, float]:
    """Return the least width from `width` on and the least height [mm] that the mandatory lines need."""
    height = 1.0
    for _ in range(100):  # padding and code grow with the label
        frame = _frame(width, height, wording.modules)
        needed = _set(wording, frame, SMALLEST_TYPE, 0)[1]
        if frame.column < LEAST_WIDTH:
            width += LEAST_WIDTH - frame.column + 0.01
        elif needed > height:
            height = needed
        else:
            break
    return width, height


@cache
def _sizes(width: float, height: float) -> tuple[float, ...]:
    largest = min(max(min(height / 4.2, width / 7.5), SMALLEST_TYPE), LARGEST_TYPE)
    count = int((largest - SMALLEST_TYPE) / 0.4)
    return (*(largest - 0.4 * step for step in range(count)), SMALLEST_TYPE)


def lay_out(wording: Wording, width: float, height: float) -> Layout | None:
    """Return the layout on a label of this size [mm], or None when the mandatory lines do not fit."""
    frame = _frame(width, height, wording.modules)
    if frame.column < LEAST_WIDTH:
        return None
    sizes = _sizes(width, height)
    everything = len(wording.optional)
    low, high = 0, len(sizes) - 1
    while low < high:
        middle = (low + high) // 2
        if _set(wording, frame, sizes[middle], everything)[1] <= height:
            high = middle
        else:
            low = middle + 1
    for count in range(everything, -1, -1):
        layout, needed = _set(wording, frame, sizes[low], count)
        if needed <= height:
            return layout
    return None


def _set(wording: Wording, frame: _Frame, size: float, count: int) -> tuple[Layout, float]:
    """Return the layout in one type size with `count` optional lines, and the height [mm] it needs."""
    runs: list[tuple[float, float, float, int, str]] = []
    boxes = []
    y = frame.pad
    name_size = NAME * size
    for line in _lines(wording.name, frame.column, name_size):
        y = _put(runs, line, frame.pad, y, name_size, 1.08)
    y += 0.1 * size * POINT
    for words, boxed in (*wording.must, *((words, False) for words in wording.optional[:count])):
        inset = BOX * size * POINT if boxed else 0.0
        lines = _lines(words, frame.column - 4 * inset, size)
        top = y
        y += 1.6 * inset
        for line in lines:
            y = _put(runs, line, frame.pad + 2 * inset, y, size, PITCH)
        if boxed:
            widest = max(sum(text_width(text, style) for text, style in line) for line in lines) * size * POINT
            bottom = y - (PITCH - CAP) * size * POINT + inset
            boxes.append((frame.pad, top + 0.6 * inset, widest + 4 * inset, bottom - top - 0.6 * inset))
            y += 1.6 * inset
    y -= (PITCH - CAP - 0.2) * size * POINT  # room below the last baseline for descending letters only
    code_bottom = frame.pad + frame.beyond + frame.side
    if wording.below:
        small = max(5.0, 0.72 * size)
        start = max(y + 0.5 * size * POINT, code_bottom + frame.quiet)
        lines = _lines(wording.below, frame.width - 2 * frame.pad, small)
        needed_lines = (len(lines) * PITCH - (PITCH - CAP - 0.2)) * small * POINT
        start = max(start, frame.height - frame.pad - needed_lines)
        y = start + needed_lines
        for line in lines:
            start = _put(runs, line, frame.pad, start, small, PITCH)
    code = None
    if frame.side:
        code = (frame.width - frame.pad - frame.beyond - frame.side, frame.pad + frame.beyond, frame.side)
    layout = Layout(tuple(runs), tuple(boxes), code, len(wording.optional) - count)
    return layout, max(y, code_bottom + frame.beyond) + frame.pad


def _lines(words: Runs, width: float, size: float) -> tuple[Runs, ...]:
    return wrap(words, SAFE * width / (size * POINT))


def _put(
    runs: list[tuple[float, float, float, int, str]],
    line: Runs,
    x: float,
    y: float,
    size: float,
    pitch: float,
) -> float:
    for text, style in line:
        runs.append((x, y + CAP * size * POINT, size, style, text))
        x += text_width(text, style) * size * POINT
    return y + pitch * size * POINT

"""Where every word of a label goes: type as large as fits, and what is left out when even the smallest does not.

Lines stand beside the code until they are below it, then they take the whole width. What may not be left out and has no
room on lines of its own runs on in one paragraph.
"""

import json
import unicodedata
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from math import ceil
from typing import Any

from drystow.reports.typeset import compiler

STYLES = ("regular", "semibold", "bold", "italic")
_LETTERS = "".join(map(chr, (*range(0x20, 0x7F), *range(0xA0, 0x180), *range(0x370, 0x530), *range(0x5D0, 0x5EB))))
_SIGNS = "–—‘’“”„•…′″€−≤≥×½¼¾"


@cache
def _widths() -> tuple[dict[str, float], ...]:
    text = "".join(letter for letter in _LETTERS + _SIGNS if unicodedata.category(letter)[0] not in "MC")
    values: Any = json.loads(
        compiler("label_layout.typ", {"letters": text}).query("<finding>", field="value", one=True)
    )
    return tuple(dict(zip(text, row, strict=True)) for row in values)


@lru_cache(maxsize=50_000)
def text_width(text: str, style: int) -> float:
    """Return the width of `text` in units of its type size; `style` is a place in `STYLES`.

    Kerning is left out, which makes it some per mille too wide; letters that the carried fonts lack get an average.
    """
    widths = _widths()[style]
    return sum(widths[letter] if letter in widths else _other_width(letter) for letter in text)


def _other_width(letter: str) -> float:
    if unicodedata.combining(letter) or unicodedata.category(letter) in ("Mn", "Me", "Cf"):
        return 0.0
    return 1.0 if unicodedata.east_asian_width(letter) in "WF" else 0.62


Runs = tuple[tuple[str, int], ...]


@lru_cache(maxsize=50_000)
def wrap(words: Runs, rooms: tuple[float, ...]) -> tuple[Runs, ...]:
    """Return lines of (text, style) runs no wider than their room, in units of the type size.

    words: (word, style) in order; a phrase stays together if a line can hold it, and a word wider than a line is
        broken between letters
    rooms: of the first lines; the last one is that of all further lines
    """
    least = min(rooms)
    parts = [
        (part, style)
        for word, style in words
        for part in (word.split(" ") if text_width(word, style) > least else [word])
    ]
    lines: list[list[tuple[str, int]]] = [[]]
    used = 0.0
    for word, style in parts:
        width = text_width(word, style)
        space = text_width(" ", style) if lines[-1] else 0.0
        if used + space + width <= rooms[min(len(lines), len(rooms)) - 1]:
            _append(lines[-1], word, style)
            used += space + width
            continue
        if lines[-1]:
            lines.append([])
        *full, rest = _pieces(word, style, least) if width > least else [word]
        lines[-1:] = [[(piece, style)] for piece in (*full, rest)]
        used = text_width(rest, style)
    return tuple(map(tuple, lines))


def _append(line: list[tuple[str, int]], word: str, style: int) -> None:
    if line and line[-1][1] == style:
        line[-1] = (f"{line[-1][0]} {word}", style)
    elif line:
        line[-1] = (line[-1][0] + " ", line[-1][1])
        line.append((word, style))
    else:
        line.append((word, style))


def _pieces(word: str, style: int, room: float) -> list[str]:
    pieces = [""]
    used = 0.0
    for letter in word:
        width = text_width(letter, style)
        if pieces[-1] and used + width > room:
            pieces.append("")
            used = 0.0
        pieces[-1] += letter
        used += width
    return pieces


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
LEAST_PAD = 1.3  # mm of free paper round everything
NAME = 1.35  # size of the name to the size of the other lines
TIGHT_NAME = 1.1  # likewise where room is short
PITCH = 1.2  # from line to line, in type sizes
TIGHT_PITCH = 1.12  # likewise where room is short
CAP = 0.65  # height of capitals, in type sizes
BOX = 0.32  # free space inside the box around a caution, in type sizes
TIGHT_BOX = 0.2  # likewise where room is short
JOINT = "·"  # between parts that run on in one paragraph
SAFE = 0.985  # share of the line that estimated widths may fill


@dataclass(frozen=True)
class Wording:
    """What a label says, each part on lines of its own, as (word, style) pairs.

    name: name of the food
    must: lines that are never left out, with those to put in a box marked True
    optional: lines left out from the last when there is no room
    below: text under everything, for the code
    modules: of the code per side, 0 without one
    tight: the code as small as can be, the name hardly larger than the rest, lines and boxes close
    """

    name: Runs
    must: tuple[tuple[Runs, bool], ...]
    optional: tuple[Runs, ...]
    below: Runs
    modules: int
    tight: bool = False


@dataclass(frozen=True)
class Layout:
    """A label set in type, measured in mm from its top left corner.

    runs: (x, baseline, type size in pt, style, text)
    boxes: (x, y, width, height) around cautions
    code: (x, y, side) or None
    left_out: how many of the optional lines found no room
    below: the text under everything found room
    """

    runs: tuple[tuple[float, float, float, int, str], ...]
    boxes: tuple[tuple[float, float, float, float], ...]
    code: tuple[float, float, float] | None
    left_out: int
    below: bool = True


@dataclass(frozen=True)
class _LabelFrame:
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

    @property
    def code_end(self) -> float:
        """Where the code and its free border end, from the top."""
        return self.pad + self.beyond + self.side + self.quiet if self.side else 0.0

    def rooms(self, y: float, pitch: float, together: bool) -> tuple[float, ...]:
        """Return the room of lines that begin so far from the top; all the same when they stay `together`."""
        above = max(ceil((self.code_end - y) / pitch - 1e-9), 0)
        whole = self.width - 2 * self.pad
        return (self.column,) if above and together else (*(self.column,) * above, whole)


@cache
def _frame(width: float, height: float, modules: int, tight: bool) -> _LabelFrame:
    pad = LEAST_PAD if tight else min(max(0.05 * height, LEAST_PAD), 3.5)
    least = modules * SMALLEST_MODULE
    side = least if tight else max(least, min(0.42 * height, 0.27 * width, LARGEST_CODE)) if modules else 0.0
    return _LabelFrame(width, height, pad, side, side / modules * QUIET_MODULES if modules else 0.0)


def smallest_size(wording: Wording, width: float) -> tuple[float, float]:
    """Return the least width from `width` on and the least height [mm] that the mandatory lines need."""
    beside = width - _frame(width, 1.0, wording.modules, True).column
    width = max(width, LEAST_WIDTH + beside + 0.01)
    return width, _set(_run_on(wording), _frame(width, 1.0, wording.modules, True), SMALLEST_TYPE, 0)[1]


@cache
def _sizes(width: float, height: float) -> tuple[float, ...]:
    largest = min(max(min(height / 4.2, width / 7.5), SMALLEST_TYPE), LARGEST_TYPE)
    count = int((largest - SMALLEST_TYPE) / 0.4)
    return (*(largest - 0.4 * step for step in range(count)), SMALLEST_TYPE)


def lay_out(wording: Wording, width: float, height: float) -> Layout | None:
    """Return the layout on a label of this size [mm], or None when the mandatory lines do not fit."""
    loose = _frame(width, height, wording.modules, False)
    sizes, everything = _sizes(width, height), len(wording.optional)
    low, high = 0, len(sizes) - 1
    while low < high:
        middle = (low + high) // 2
        if _set(wording, loose, sizes[middle], everything)[1] <= height:
            high = middle
        else:
            low = middle + 1
    if layout := _fullest(wording, loose, sizes[low]):
        return layout
    close = _fullest(_run_on(wording), _frame(width, height, wording.modules, True), SMALLEST_TYPE)
    return replace(close, below=not wording.below) if close else None


def _fullest(wording: Wording, frame: _LabelFrame, size: float) -> Layout | None:
    """Return the layout in one type size with as many optional lines as find room, None when not even the others do."""
    if frame.column < LEAST_WIDTH:
        return None
    for count in range(len(wording.optional), -1, -1):
        layout, needed = _set(wording, frame, size, count)
        if needed <= frame.height:
            return layout
    return None


def _run_on(wording: Wording) -> Wording:
    """Return the wording with all that needs no box in one paragraph, and without the text for the code."""
    boxed = tuple(part for part in wording.must if part[1])
    words: Runs = ()
    for part, in_box in wording.must:
        if not in_box:
            words += (((JOINT, REGULAR),) if words else ()) + part
    return replace(wording, must=(*boxed, (words, False)) if words else boxed, below=(), tight=True)


def _set(wording: Wording, frame: _LabelFrame, size: float, count: int) -> tuple[Layout, float]:
    """Return the layout in one type size with `count` optional lines, and the height [mm] it needs."""
    runs: list[tuple[float, float, float, int, str]] = []
    boxes = []
    y, pitch = frame.pad, TIGHT_PITCH if wording.tight else PITCH
    name_size = (TIGHT_NAME if wording.tight else NAME) * size
    for line in _lines(wording.name, frame.rooms(y, 1.08 * name_size * POINT, False), name_size):
        y = _put(runs, line, frame.pad, y, name_size, 1.08)
    y += 0.1 * size * POINT
    for words, boxed in (*wording.must, *((words, False) for words in wording.optional[:count])):
        inset = (TIGHT_BOX if wording.tight else BOX) * size * POINT if boxed else 0.0
        rooms = frame.rooms(y, pitch * size * POINT, boxed)
        lines = _lines(words, tuple(room - 4 * inset for room in rooms), size)
        top = y
        y += 1.6 * inset
        for line in lines:
            y = _put(runs, line, frame.pad + 2 * inset, y, size, pitch)
        if boxed:
            widest = max(sum(text_width(text, style) for text, style in line) for line in lines) * size * POINT
            bottom = y - (pitch - CAP) * size * POINT + inset
            boxes.append((frame.pad, top + 0.6 * inset, widest + 4 * inset, bottom - top - 0.6 * inset))
            y += 1.6 * inset
    y -= (pitch - CAP - 0.2) * size * POINT  # room below the last baseline for descending letters only
    code_bottom = frame.code_end - frame.quiet if frame.side else 0.0
    if wording.below:
        small = max(5.0, 0.72 * size)
        start = max(y + 0.5 * size * POINT, frame.code_end)
        lines = _lines(wording.below, (frame.width - 2 * frame.pad,), small)
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


def _lines(words: Runs, rooms: tuple[float, ...], size: float) -> tuple[Runs, ...]:
    return wrap(words, tuple(SAFE * room / (size * POINT) for room in rooms))


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

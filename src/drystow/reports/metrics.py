"""Widths of the letters that the typesetter carries, asked from the typesetter itself once per process."""

import json
import unicodedata
from functools import cache, lru_cache
from typing import Any

from drystow.reports.typeset import compiler

STYLES = ("regular", "semibold", "bold", "italic")
_LETTERS = "".join(map(chr, (*range(0x20, 0x7F), *range(0xA0, 0x180), *range(0x370, 0x530), *range(0x5D0, 0x5EB))))
_SIGNS = "–—‘’“”„•…′″€−≤≥×½¼¾"


@cache
def _widths() -> tuple[dict[str, float], ...]:
    text = "".join(letter for letter in _LETTERS + _SIGNS if unicodedata.category(letter)[0] not in "MC")
    values: Any = json.loads(compiler("metrics.typ", {"letters": text}).query("<finding>", field="value", one=True))
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

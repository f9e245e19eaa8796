"""How each food of a batch is drawn: a fill and a pattern of its own, so that colour alone never tells."""

from collections.abc import Sequence
from dataclasses import dataclass

from drystow.web.batches.models import Item

MARKS = (
    "M-4 4L4-4M-2 14L14-2M8 16L16 8",  # rising lines
    "M0 6H12",  # level lines
    "M6 3.5a2.5 2.5 0 1 0 .01 0",  # rings
    "M-4 8L4 16M-2-2L14 14M8-4L16 4",  # falling lines
    "M6 0V12",  # upright lines
    "M6 3V9M3 6H9",  # crosses
    "M0 8L3 4L6 8L9 4L12 8",  # waves
    "M6 0V12M0 6H12",  # grid
)
"""Strokes within a tile of 12 by 12; the fills of the same number are in batches.css."""


@dataclass(frozen=True)
class Look:
    """How a food is drawn.

    item: number of the food, which its pattern is named after
    fill: number of its colour
    mark: strokes of its pattern
    """

    item: int
    fill: int
    mark: str


def looks_of(items: Sequence[Item]) -> dict[int, Look]:
    """Return the look of every food by its number; the first 8 differ in both colour and pattern, any 64 in one.

    items: all that were ever in the batch, oldest first, so that a food keeps its look when another is taken out
    """
    count = len(MARKS)
    return {
        item.pk: Look(item.pk, place % count, MARKS[(place + place // count) % count])
        for place, item in enumerate(items)
    }

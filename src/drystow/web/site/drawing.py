"""Charts for the page: the shared definitions drawn as SVG, once for wide screens and once for phones."""

import re
from dataclasses import dataclass
from typing import Any

from drystow.machine.result import LoadResult
from drystow.reports.charts import COLOURS, GRID, INK, MUTED, chart_svg, drying_chart, temperature_chart

WIDE = (940, 320)
NARROW = (292, 300)
COLOUR = re.compile(r'\b(?P<what>fill|stroke)="(?P<colour>white|#[0-9a-f]{6})"')
TONES = {"white": "paper", INK: "ink", MUTED: "axis", GRID: "grid"} | {
    colour: f"line-{number}" for number, colour in enumerate(COLOURS, start=1)
}
"""Names under which app.css exchanges the colours of a chart, for dark screens."""


@dataclass(frozen=True)
class Drawing:
    """One chart of a load.

    title: heading of the figure
    words: what a person who does not see it should know
    wide: SVG for a wide screen
    narrow: SVG for a phone
    """

    title: str
    words: str
    wide: str
    narrow: str


def draw(result: LoadResult, units: str) -> tuple[Drawing, ...]:
    """Return the charts of a load.

    result: of the simulated load
    units: ``us`` or ``si``
    """
    return (
        _drawing(
            drying_chart(result),
            "How the water leaves",
            "Water left on each tray, in percent of the start, over the hours. Steep while ice turns to vapour, flat"
            " while the last bound water leaves.",
        ),
        _drawing(
            temperature_chart(result, units),
            "How warm it gets",
            "Temperature of the ice, then of the dried food, on each tray, and of the shelf, over the hours. Dotted"
            " level lines: the limit of each tray for as long as it has ice.",
        ),
    )


def _drawing(spec: dict[str, Any], title: str, words: str) -> Drawing:
    bare = {key: value if key == "config" else _without_legends(value) for key, value in spec.items() if key != "title"}
    wide, narrow = (
        _for_page(chart_svg({**bare, "width": width, "height": height}, "system-ui, sans-serif"))
        for width, height in (WIDE, NARROW)
    )
    return Drawing(title, words, wide, narrow)


def _without_legends(part: Any) -> Any:
    """Return a specification without its legends; the page writes its own, in text that wraps."""
    if isinstance(part, list):
        return [_without_legends(item) for item in part]
    if isinstance(part, dict):
        return {key: None if key == "legend" else _without_legends(value) for key, value in part.items()}
    return part


def _for_page(svg: str) -> str:
    """Return an SVG that takes the width of its place and whose colours carry names."""
    head, rest = svg.split(">", 1)
    head = re.sub(r' (width|height)="[\d.]+"', "", head)
    return f"{head}>{re.sub(COLOUR, _named, rest)}"


def _named(match: re.Match[str]) -> str:
    tone = TONES.get(match["colour"])
    return f'{match.group()} data-{match["what"]}="{tone}"' if tone else match.group()

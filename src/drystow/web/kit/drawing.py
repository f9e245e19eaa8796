"""Charts for the page: the shared definitions drawn as SVG, once for wide screens and once for phones."""

import re
from dataclasses import dataclass

from drystow.machine.result import LoadResult
from drystow.reports.charts import COLOURS, GRID, INK, MUTED, ChartLine, Spec, bare_chart, chart_svg
from drystow.reports.pictures import Picture, load_pictures
from drystow.web.kit.reader import reader
from drystow.web.kit.words import later_words

WIDE, NARROW = 940, 292
TALL = {"drying": (320, 300), "temperature": (320, 300)}
"""Heights for wide screens and phones of the pictures that hold many lines."""
LOW = (200, 200)
COLOUR = re.compile(r'\b(?P<what>fill|stroke)="(?P<colour>white|#[0-9a-f]{6})"')
PATHS = re.compile(r'\b(?:d|transform)="[^"]*"')
SPOKEN = re.compile(r' (?:aria-[a-z]+|role)="[^"]*"')
"""What an SVG says of its parts; on the page the figure speaks for all of them."""
FINE = re.compile(r"(\.\d)\d+")
TONES = {"white": "paper", INK: "ink", MUTED: "axis", GRID: "grid"} | {
    colour: f"line-{number}" for number, colour in enumerate(COLOURS, start=1)
}
"""Names under which app.css exchanges the colours of a chart, for dark screens."""


@dataclass(frozen=True)
class Key:
    """One line of a chart in its key.

    text: sign and name
    tone: name of its colour
    colour: on a light screen
    dash: lengths of strokes and gaps
    """

    text: str
    tone: str
    colour: str
    dash: str


@dataclass(frozen=True)
class Drawing:
    """One chart.

    title: heading of the figure
    words: what a person who does not see it should know
    wide: SVG for a wide screen
    narrow: SVG for a phone
    keys: its lines, where the key of the page does not name them
    """

    title: str
    words: str
    wide: str
    narrow: str
    keys: tuple[Key, ...] = ()


def draw(result: LoadResult, units: str) -> tuple[Drawing, ...]:
    """Return the charts of a load, the text inside them in the language of the moment.

    result: of the simulated load
    units: ``us`` or ``si``
    """
    return tuple(drawing_of(picture) for picture in load_pictures(result, units))


def drawing_of(picture: Picture) -> Drawing:
    """Return a picture drawn for the page, the text inside it in the language of the moment."""
    bare = bare_chart(picture.spec)
    wide, narrow = (
        page_svg({**bare, "width": width, "height": height})
        for width, height in zip((WIDE, NARROW), TALL.get(picture.name, LOW), strict=True)
    )
    return Drawing(
        later_words(picture.title), later_words(picture.words), wide, narrow, tuple(map(_key, picture.lines))
    )


def drawing_as_made(picture: Picture, narrow: Picture | None) -> Drawing:
    """Return a picture in the size that it was made for, and another one for phones, where there is one."""
    phone = page_svg(narrow.spec) if narrow is not None else ""
    return Drawing(later_words(picture.title), later_words(picture.words), page_svg(picture.spec), phone)


def page_svg(spec: Spec) -> str:
    """Return a chart as the page shows it, the text inside it in the language of the moment."""
    return _for_page(chart_svg(spec, "system-ui, sans-serif", reader()))


def _key(line: ChartLine) -> Key:
    return Key(later_words(line.name), TONES[line.colour], line.colour, " ".join(map(str, line.dash)))


def _for_page(svg: str) -> str:
    """Return an SVG that takes the width of its place, in tenths of a pixel, and whose colours carry names."""
    head, rest = svg.split(">", 1)
    head = re.sub(r' (width|height)="[\d.]+"', "", head)
    rest = PATHS.sub(lambda found: FINE.sub(r"\1", found.group()), rest)
    return f"{SPOKEN.sub('', head)}>{COLOUR.sub(_named, SPOKEN.sub('', rest))}"


def _named(match: re.Match[str]) -> str:
    tone = TONES.get(match["colour"])
    return f'{match.group()} data-{match["what"]}="{tone}"' if tone else match.group()

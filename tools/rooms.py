"""The rooms of the house: which layers and rooms there are, and in what order they stand.

Each may import only from rows before its own; names in one row never import each other. tests/test_import_order.py
enforces it and docs/rooms.svg shows it: ``python -m tools.rooms`` draws it, ``--check`` compares instead.
"""

import ast
import sys
from pathlib import Path
from textwrap import wrap
from xml.etree import ElementTree as Tree

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "drystow"
PICTURE = ROOT / "docs" / "rooms.svg"

GROUND = [
    *("figures", "messages", "errors", "numerals", "unit_table", "units", "shown", "days"),
    *("constants", "sources", "ranges", "fields"),
]
"""Modules that every layer stands on; among themselves they are free."""
LAYERS = [
    GROUND,
    ["numerics"],
    ["foods"],
    ["properties"],
    ["freezing", "drying"],
    ["machine"],
    ["evidence", "planning"],
    ["packing"],
    ["keeping", "serving", "costs"],
    ["reports"],
    ["cli", "web"],
]
ROOMS = {
    "planning": [["hours", "separation", "watching"], ["load"], ["program"], ["schedule"], ["season"]],
    "evidence": [["band"], ["dryness"], ["learning", "outage", "machine_tests"]],
    "web": [
        ["folder", "locked"],
        ["kit"],
        ["accounts"],
        ["once"],
        ["foods", "dryers"],
        ["readings"],
        ["batches"],
        ["pantry"],
        ["packing", "costs"],
        ["plans"],
        ["season"],
        ["data"],
        ["demo"],
        ["site"],
        ["middleware", "server", "settings", "urls"],
    ],
}
"""Rooms of a layer, the lowest row first."""

WIDE, EDGE, GAP, ROW, LETTER = 1000, 20, 8, 46, 6.1  # px; LETTER: mean width of one at 12 px
ENGINE, WEB = (EDGE, 600), (640, WIDE - EDGE)  # px, left and right
STYLE = """
svg { font-family: system-ui, sans-serif; font-size: 12px; fill: #24332c }
.paper { fill: #fbfaf6 } .room { fill: #fff; stroke: #b9c4bb } .layer { fill: #eef2ec; stroke: #b9c4bb }
.name { font-weight: 600; font-size: 13px } .head { font-size: 14px; font-weight: 600 }
@media (prefers-color-scheme: dark) {
  svg { fill: #e4ebe4 } .paper { fill: #161c19 }
  .room { fill: #202824; stroke: #46544c } .layer { fill: #1b2320; stroke: #46544c }
}
"""


def words_of(*names: str) -> str:
    """Return what a package says of itself in its first line, without the period; nothing for a module."""
    file = SOURCE.joinpath(*names, "__init__.py")
    if not file.exists():
        return ""
    said = ast.get_docstring(ast.parse(file.read_text(encoding="utf-8"))) or ""
    return said.splitlines()[0].removesuffix(".")


class Drawing:
    """A picture under way.

    svg: its root
    """

    def __init__(self, tall: float) -> None:
        self.svg = Tree.Element("svg", xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {WIDE} {tall:g}", role="img")
        Tree.SubElement(self.svg, "title").text = "The rooms of the house; each stands on those that it may use"
        Tree.SubElement(self.svg, "style").text = STYLE
        self.box("paper", 0, 0, WIDE, tall)

    def box(self, kind: str, left: float, top: float, wide: float, tall: float) -> None:
        """Draw a box [px]."""
        place = {"x": left, "y": top, "width": wide, "height": tall}
        Tree.SubElement(self.svg, "rect", {"class": kind, **{key: f"{at:g}" for key, at in place.items()}, "rx": "5"})

    def text(self, kind: str, left: float, top: float, text: str) -> None:
        """Write one line [px]."""
        line = Tree.SubElement(self.svg, "text", {"class": kind, "x": f"{left:g}", "y": f"{top:g}"})
        line.text = text

    def room(self, kind: str, left: float, top: float, wide: float, tall: float, name: str, words: str) -> None:
        """Draw a box with its name and, below, what it is for [px]."""
        self.box(kind, left, top, wide, tall)
        self.text("name", left + 8, top + 18, name)
        for number, line in enumerate(wrap(words, int((wide - 16) / LETTER))):
            self.text("words", left + 8, top + 34 + 14 * number, line)

    def row(self, names: list[str], span: tuple[float, float], top: float, tall: float, above: str = "") -> None:
        """Draw the rooms of a row side by side, each with its own rooms inside [px]."""
        left, right = span
        wide = (right - left - GAP * (len(names) - 1)) / len(names)
        for number, name in enumerate(names):
            here = left + number * (wide + GAP)
            inner = [] if name == "web" else ROOMS.get(name, [])
            self.room("layer" if inner else "room", here, top, wide, tall, name, words_of(*filter(None, (above, name))))
            bottom = top + tall - GAP
            for rooms in inner:
                self.row_of_names(rooms, (here + GAP, here + wide - GAP), bottom - 22)
                bottom -= 26

    def row_of_names(self, names: list[str], span: tuple[float, float], top: float) -> None:
        """Draw a row of rooms with their names only [px]."""
        here, letters = span[0], sum(map(len, names))
        for name in names:
            wide = (span[1] - span[0] - 4 * (len(names) - 1)) * len(name) / letters
            self.box("room", here, top, wide, 22)
            self.text("words", here + 6, top + 15, name)
            here += wide + 4


def height(names: list[str], span: tuple[float, float], above: str) -> float:
    """Return how tall a row is [px]."""
    letters = int(((span[1] - span[0]) / len(names) - 24) / LETTER)
    lines = max(len(wrap(words_of(*filter(None, (above, name))), letters)) for name in names)
    inside = max(0 if name == "web" else len(ROOMS.get(name, [])) for name in names)
    return ROW + 14 * max(lines - 1, 0) + 26 * inside


def picture() -> str:
    """Return the rooms as SVG: the engine on the left, the kitchen app on the right, the ground below both."""
    rows = [[name for name in row if name != "web"] for row in LAYERS[1:]]
    ground = 2 * ROW
    left = sum(height(row, ENGINE, "") + GAP for row in rows)
    right = sum(height(row, WEB, "web") + GAP for row in ROOMS["web"][1:-1])
    floor = EDGE + 24 + max(left, right)
    drawing = Drawing(floor + ground + EDGE)
    for span, head, parts, above in (
        (ENGINE, "The engine, on paper and at the command line", rows, ""),
        (WEB, "The kitchen app (web), on all of the engine", ROOMS["web"][1:-1], "web"),
    ):
        bottom = floor
        for row in parts:
            tall = height(row, span, above)
            drawing.row(row, span, bottom - tall, tall, above)
            bottom -= tall + GAP
        drawing.text("head", span[0], bottom - 4, head)
    drawing.room("layer", EDGE, floor + GAP, WIDE - 2 * EDGE, ground - GAP, "The ground", ", ".join(GROUND))
    rule = "Each room stands on those that it may use; of two side by side, none uses the other."
    drawing.text("words", EDGE + 8, floor + GAP + 58, rule)
    Tree.indent(drawing.svg)
    return Tree.tostring(drawing.svg, encoding="unicode") + "\n"


def main() -> None:
    """Draw the picture, or see that the one kept is of today."""
    drawn = picture()
    if "--check" not in sys.argv:
        PICTURE.write_text(drawn, encoding="utf-8")
    elif not PICTURE.exists() or PICTURE.read_text(encoding="utf-8") != drawn:
        sys.exit(f"{PICTURE.relative_to(ROOT)} is stale: run `python -m tools.rooms` and commit it")


if __name__ == "__main__":
    main()

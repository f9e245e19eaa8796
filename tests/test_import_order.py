"""Each layer imports only from the layers below it: tools/rooms.py holds the order, docs/rooms.svg shows it."""

import ast
import re
from pathlib import Path

import pytest
from tools.rooms import GROUND, LAYERS, PICTURE, ROOMS, picture

ROOT = Path(__file__).parent.parent / "src" / "drystow"
LEVEL = {name: level for level, names in enumerate(LAYERS) for name in names}
ALLOWED = {
    ("cli/serve.py", "web"),
    ("cli/account.py", "web"),
    ("cli/data.py", "web"),
}  # commands on the kitchen's records


def imported_layers(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            if node.module == "drystow":
                names = [f"drystow.{alias.name}" for alias in node.names]
            elif node.module:
                names = [node.module]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        found |= {name.split(".")[1] for name in names if name.startswith("drystow.")}
    return found - {"__version__"}


def test_every_file_imports_only_from_layers_above_it() -> None:
    wrong = []
    for path in sorted(ROOT.rglob("*.py")):
        layer = path.relative_to(ROOT).parts[0].removesuffix(".py")
        if layer == "__init__":
            continue
        for other in imported_layers(path):
            if other == layer:
                continue
            assert other in LEVEL, f"{path}: unknown layer {other}"
            friends = {layer, other} <= set(GROUND)
            if LEVEL[other] >= LEVEL[layer] and not friends and (str(path.relative_to(ROOT)), other) not in ALLOWED:
                wrong.append(f"{path.relative_to(ROOT)} imports {other}")
    assert wrong == []


def rooms_used(path: Path, layer: str) -> set[str]:
    """The rooms of a layer from which a file of it imports."""
    used = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and f"{node.module}.".startswith(f"drystow.{layer}."):
            inner = node.module.split(".")[2:]
            used |= {inner[0]} if inner else {alias.name for alias in node.names}
    return used


@pytest.mark.parametrize("layer", ROOMS)
def test_every_room_of_a_layer_imports_only_from_rooms_above_it(layer: str) -> None:
    level = {room: number for number, row in enumerate(ROOMS[layer]) for room in row}
    top, wrong = len(ROOMS[layer]) - 1, []
    for path in sorted((ROOT / layer).rglob("*.py")):
        room = path.relative_to(ROOT / layer).parts[0].removesuffix(".py")
        if room == "__init__":
            continue
        for other in rooms_used(path, layer) - {room}:
            assert other in level, f"{path}: unknown room {other}"
            both_on_top = level[room] == level[other] == top and layer == "web"
            if level[other] >= level[room] and not both_on_top:
                wrong.append(f"{path.relative_to(ROOT)} imports {other}")
    assert wrong == []


LONGEST_FILE = 500  # lines
WIDEST_TEMPLATE = 120  # characters


def test_every_file_holds_one_subject() -> None:
    long_files = {
        str(path.relative_to(ROOT)): lines
        for pattern in ("*.py", "*.html")
        for path in ROOT.rglob(pattern)
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > LONGEST_FILE
    }
    assert long_files == {}


def test_every_line_of_a_template_can_be_read() -> None:
    wide = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in sorted(ROOT.rglob("*.html"))
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if len(line) > WIDEST_TEMPLATE
    ]
    assert wide == []


def test_the_engine_knows_neither_web_nor_printing() -> None:
    engine = [path for path in ROOT.rglob("*.py") if path.relative_to(ROOT).parts[0] not in ("cli", "web", "reports")]
    forbidden = re.compile(r"import django|(?<!>>> )\bprint\(")
    assert [str(path) for path in engine if forbidden.search(path.read_text(encoding="utf-8"))] == []


def test_the_picture_of_the_rooms_is_of_today() -> None:
    assert PICTURE.read_text(encoding="utf-8") == picture(), "draw it again: python -m tools.rooms"

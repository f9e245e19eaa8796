"""The arrays of the compiled code are read by the names of their columns."""

import ast
from pathlib import Path

import pytest

SRC = Path(__file__).parents[2] / "src" / "drystow"
NAMED = {
    "after", "around", "before", "chamber", "drawn", "event_times", "food", "food_states", "foods", "machine",
    "machines", "noted", "program", "rates", "row", "rows", "series", "state", "states", "steps", "times", "tray",
    "now", "tray_times", "trays", "trial",
}  # fmt: skip
"""Arrays whose last axis `layout` or `thawing` names."""


def bare(tree: ast.AST) -> list[str]:
    """Indices of named columns that are written as a number."""
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.Subscript):
            continue
        name = node.value.attr if isinstance(node.value, ast.Attribute) else getattr(node.value, "id", "")
        index = node.slice.elts[-1] if isinstance(node.slice, ast.Tuple) else node.slice
        numbered = isinstance(index, ast.Constant) and isinstance(index.value, int)
        whole_row = not isinstance(node.slice, ast.Tuple) and name in {"times", "program"}  # rows of these go by number
        if name in NAMED and numbered and not whole_row:
            found.append(ast.unparse(node))
    return found


@pytest.mark.parametrize(
    "path",
    [*sorted(SRC.glob("machine/*.py")), *sorted(SRC.glob("evidence/outage/*.py"))],
    ids=lambda path: f"{path.parent.name}/{path.name}",
)
def test_no_column_of_the_compiled_arrays_is_a_bare_number(path: Path) -> None:
    assert bare(ast.parse(path.read_text())) == []


def test_a_bare_column_is_found() -> None:
    assert bare(ast.parse("state[0] + raw.rows[:, 4] + trays[j, Tray.ICE] + program[0, ProgramRow.SETPOINT]")) == [
        "state[0]", "raw.rows[:, 4]",
    ]  # fmt: skip

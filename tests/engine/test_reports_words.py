"""The fixed words of the printed sheets: a layout looks up exactly what its module gives it."""

import re
from importlib import import_module
from pathlib import Path

import pytest

from drystow import reports

LAYOUTS = sorted(
    path
    for path in Path(reports.__file__).parent.glob("*.typ")
    if hasattr(import_module(f"drystow.reports.{path.stem}"), "WORDS")
)
QUOTED = r'"([^"]*)"'


def test_the_sheets_with_words_of_their_own_are_found() -> None:
    assert {path.stem for path in LAYOUTS} >= {"batch_sheet", "labels", "pantry_list", "plan_sheet"}


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda path: path.stem)
def test_a_layout_looks_up_each_word_that_it_is_given_and_no_other(layout: Path) -> None:
    given = {str(word) for word in import_module(f"drystow.reports.{layout.stem}").WORDS}
    text = layout.read_text(encoding="utf-8")
    quoted = set(re.findall(QUOTED, text))
    looked_up = set(re.findall(rf"(?:say|words\.at)\(\s*{QUOTED}", text))
    for listed in re.findall(r"\(([^()]*)\)\.map\((?:say\b|cell =>\s*text\([^\n]*say\(cell\))", text):
        looked_up |= set(re.findall(QUOTED, listed))
    assert looked_up - given <= {""}  # a column without a heading
    assert given - quoted == set()

"""A table that the program writes as TOML reads back as it was, whatever stands in it, and as a person writes it."""

import tomllib
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from drystow.fields import toml_text

KEYS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
PLAIN = (
    st.booleans()
    | st.integers(-(2**63), 2**63 - 1)
    | st.floats(allow_nan=False)
    | st.dates(min_value=date(1000, 1, 1))
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
)
VALUES = st.recursive(
    PLAIN,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=12,
)


@given(st.dictionaries(KEYS, VALUES, max_size=5))
def test_any_table_reads_back_as_it_was(table: dict[str, object]) -> None:
    assert tomllib.loads(toml_text(table)) == table


def test_lists_stand_on_one_line_and_every_tray_under_its_heading() -> None:
    trays = [{"food": "kale", "heat": {"contact": "15 W/m^2/K"}}, {"food": "leek"}]
    text = toml_text({"tray": trays, "program": {"shelf": ["-10 degC for 2 h", "40 degC until dry"]}, "title": "Two"})
    assert 'shelf = ["-10 degC for 2 h", "40 degC until dry"]' in text
    assert text.count("[[tray]]") == 2
    assert "[tray.heat]" in text
    assert text.startswith('title = "Two"')

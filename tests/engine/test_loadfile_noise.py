"""Files that are no load files at all, and random tables: never anything but an `InputError`."""

import copy
import random
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drystow.errors import InputError, InputErrors
from drystow.machine.load import Load
from drystow.machine.loadfile import parse_load, read_load
from tests.engine.test_loadfile import GOOD, WRONG_FIELD, changed

HELD = {"pressure_mode": "held", "chamber_pressure": "50 Pa", "shelf_temperature": "20 degC"}


FILES = [
    ("not TOML", b"shelf = = 3", "not TOML"),
    ("binary", bytes(range(256)) * 4, "text"),
    ("empty", b"", ""),
    ("NUL bytes", b"\x00\x00\x00", ""),
    ("ten MB of noise", random.Random(1).randbytes(10_000_000), "MB"),
    ("deep nesting", b"a = " + b"[" * 20_000, ""),
    ("doubled key", b"[dryer]\nprofile = 'a'\nprofile = 'b'\n", "not TOML"),
    ("huge number", b"title = " + b"9" * 5000, ""),
    ("UTF-16", "title = 'x'".encode("utf-16"), "text"),
]


@pytest.mark.parametrize(("content", "words"), [pytest.param(c, w, id=name) for name, c, w in FILES])
def test_a_file_that_is_no_load_gives_a_clear_error(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "load.toml"
    path.write_bytes(content)
    with pytest.raises((InputError, InputErrors)) as caught:
        read_load(path)
    assert words in str(caught.value)
    assert len(str(caught.value)) < 1500


def test_an_empty_file_is_told_what_is_missing(tmp_path: Path) -> None:
    path = tmp_path / "empty.toml"
    path.write_text("")
    with pytest.raises(InputErrors) as caught:
        read_load(path)
    assert sorted(problem.field for problem in caught.value.problems) == ["dryer.profile", "program.shelf", "tray"]


def test_a_missing_file_and_a_folder_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises((InputError, InputErrors), match=r"there is no (such )?file"):
        read_load(tmp_path / "nothing.toml")
    with pytest.raises((InputError, InputErrors), match="folder"):
        read_load(tmp_path)


HUGE = st.integers(0, 4200).map(lambda power: 10**power)  # Python reads no longer ones from a file
SCALARS = st.one_of(
    st.booleans(), st.integers(), HUGE, st.floats(), st.text(max_size=12), st.dates(), st.times(), st.datetimes(),
    st.sampled_from(["1 kg", "-5 mm", "40 degC until dry", "50 Pa", "held", "slab", "1e400 m", "nan", "Apples", "9%"]),
)  # fmt: skip
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=8,
)
MORE_PLACES = (
    "title dryer program tray.food tray.name tray.composition tray.composition.water tray.composition.sugars"
    " tray.composition.salt tray.ice_mass tray.heat.ice_mass tray.heat.bulk_density tray.dried_layer.A1"
    " tray.dried_layer.A2 tray.areas.above dryer.words dryer.chamber_pressure dryer.upper_temperature dryer.leak"
)
PLACES = st.sampled_from(sorted({row[0] for row in WRONG_FIELD if row[0] != "tray"} | set(MORE_PLACES.split())))


WILD = [10**400, -(10**4200), float("nan"), float("inf"), "1 kg**9**9**9", "9" * 400 + " kg", "1e999 kg", "\ud800"]


@pytest.mark.parametrize(
    "value", WILD, ids=["400 digits", "4201 digits", "nan", "inf", "tower", "long", "1e999", "half"]
)
@pytest.mark.parametrize(
    "place", sorted({row[0] for row in WRONG_FIELD if row[0] != "tray"} | set(MORE_PLACES.split()))
)
def test_a_wild_number_in_any_field_gets_short_sentences(place: str, value: Any) -> None:
    raw = changed(place, value)
    try:
        parse_load(raw)
    except (InputError, InputErrors) as caught:
        told = [str(problem) for problem in caught.problems]
    else:
        told = []
    assert all(len(sentence.encode()) < 700 for sentence in told)
    assert told or place in ("title", "tray.name", "dryer.words", "tray.composition.ice")


@given(st.lists(st.tuples(PLACES, VALUES), min_size=1, max_size=3), st.booleans())
@settings(max_examples=250, deadline=None)
def test_wrong_types_anywhere_are_input_errors(changes: list[tuple[str, Any]], is_held: bool) -> None:
    raw = copy.deepcopy(GOOD)
    if is_held:
        raw["dryer"] = dict(HELD)
    for place, value in changes:
        *path, last = place.split(".")
        table: Any = raw
        for key in path:
            table = table.get(key)
            if isinstance(table, list) and table:
                table = table[0]
            if not isinstance(table, dict):
                break
        if isinstance(table, dict):
            table[last] = value
    _only_input_errors(raw)


@given(st.dictionaries(st.sampled_from(["title", "dryer", "program", "tray", "x"]), VALUES, max_size=5))
@settings(max_examples=200, deadline=None)
def test_random_tables_are_input_errors(raw: dict[str, Any]) -> None:
    _only_input_errors(raw)


def _only_input_errors(raw: dict[str, Any]) -> None:
    found: tuple[InputError, ...] = ()
    try:
        assert isinstance(parse_load(raw), Load)
    except InputErrors as many:
        found = many.problems
    except InputError as one:
        found = (one,)
    for problem in found:
        assert problem.message
        assert "\n" not in problem.message

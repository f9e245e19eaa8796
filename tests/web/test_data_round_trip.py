"""What a load file sets beyond the forms survives the way file -> batch -> file; "the same" is the engine's reading."""

import math
import tomllib
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st

from drystow.errors import InputErrors
from drystow.machine.load import Load
from drystow.machine.loadfile import parse_load
from drystow.machine.run import simulate
from drystow.web.batches.adapters import load_of
from drystow.web.data.loads import batch_from_table, batch_from_text, load_text

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))
ALIKE = ("mass", "shape", "size", "faces", "areas", "density", "frozen", "ice", "unfrozen", "contact_fixed",
         "above_fixed", "frozen_conductivity", "target")  # fmt: skip
QUIET = settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])

some = st.floats(1.0, 3.0).map(lambda value: round(value, 3))
heats = st.fixed_dictionaries(
    {},
    optional={
        "contact": some.map(lambda value: f"{10 * value:g} W/m^2/K"),
        "above": some.map("{} W/m^2/K".format),
        "frozen_conductivity": some.map("{} W/m/K".format),
    },
)
areas = st.fixed_dictionaries({}, optional={"outer": some.map("{} m^2".format), "above": some.map("{} ft^2".format)})
extras = st.fixed_dictionaries(
    {},
    optional={
        "heat": heats,
        "areas": areas,
        "ice_mass": some.map(lambda value: f"{value / 10:g} kg"),
        "area": some.map(lambda value: f"{0.06 + value / 100:g} m^2"),
    },
)
programs = st.fixed_dictionaries(
    {}, optional={"freeze_to": st.sampled_from(["-12 degC", "5 degF"]), "overload": st.just(True)}
)


def assert_same(again: Load, written: Load) -> None:
    """Every number of the engine's reading agrees to a millionth; the file's rounding of hours and °C is finer."""
    assert (again.title, again.dryer, again.freezer, again.overload) == (
        written.title,
        written.dryer,
        written.freezer,
        written.overload,
    )
    assert again.freeze_to == pytest.approx(written.freeze_to, abs=1e-3)
    for ours, theirs in zip(again.program, written.program, strict=True):
        assert ours.shelf == pytest.approx(theirs.shelf, abs=1e-3)
        assert ours.duration == pytest.approx(theirs.duration, rel=1e-4) or math.isinf(theirs.duration)
    for one, other in zip(again.items, written.items, strict=True):
        assert (one.food.composition, one.food.food_class) == (other.food.composition, other.food.food_class)
        for name in ALIKE:
            mine, yours = getattr(one, name), getattr(other, name)
            if name == "areas":
                mine, yours = vars(mine), vars(yours)
            assert mine == (yours if isinstance(yours, str | None) else pytest.approx(yours, rel=1e-3)), name
        assert one.layer == other.layer
        assert one.start_temperature == pytest.approx(other.start_temperature, abs=1e-3)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_comes_back_and_dries_the_same(path: Path) -> None:
    written = parse_load(tomllib.loads(path.read_text()))
    batch, _notes = batch_from_text(path.read_text())
    text = load_text(batch)
    assert_same(load_of(batch), written)
    assert_same(parse_load(tomllib.loads(text)), written)
    ours, theirs = (simulate(load, series=False) for load in (parse_load(tomllib.loads(text)), written))
    assert ours.total_time == pytest.approx(theirs.total_time, rel=2e-3)
    assert load_text(batch_from_text(text)[0]) == text


@QUIET
@given(st.sampled_from(EXAMPLES), programs, st.lists(extras, min_size=5, max_size=5), st.data())
def test_whatever_a_file_sets_beyond_the_forms_comes_back(
    path: Path, program: dict[str, Any], trays: list[dict[str, Any]], data: st.DataObject
) -> None:
    raw = tomllib.loads(path.read_text())
    raw["program"] |= program
    for tray, extra in zip(raw["tray"], trays, strict=False):
        tray.update({name: value for name, value in extra.items() if value})
        if layer := data.draw(st.just({}) | st.just({"conductivity": "0.03 W/m/K", "A1": "2e8 1/s", "A2": "900 1/m"})):
            tray["dried_layer"] = layer
    try:
        written = parse_load(raw)
    except InputErrors:  # a pile above the rim: not a file that a batch is made of
        reject()
    with transaction.atomic():
        batch, notes = batch_from_table(raw)
        text = load_text(batch)
        assert_same(load_of(batch), written)
        assert_same(parse_load(tomllib.loads(text)), written)
        assert bool(notes) == bool(batch.extra or any(item.extra for item in batch.items.all()))
        again, _notes = batch_from_text(text)
        assert load_text(again) == text
        transaction.set_rollback(True)

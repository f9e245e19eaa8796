"""Whatever an answer holds comes back from the database as it went there."""

import dataclasses
import math
import typing
from datetime import UTC, date, datetime, timedelta, timezone
from types import NoneType, UnionType
from typing import Annotated, Any, Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drystow.days import day_text
from drystow.messages import Message, msg, msg_many
from drystow.numerics import Array
from drystow.shown import both, money, quantity
from drystow.web.kit.answers import KINDS, Problem
from drystow.web.kit.codec import Codec, Sentence

FLOATS = st.floats(allow_nan=True, allow_infinity=True)
SENTENCES = st.one_of(
    st.text(),
    st.builds(
        lambda name, mass: msg("{name}: {mass}", name=name, mass=quantity(mass, "mass")), st.text(), st.floats(0, 9)
    ),
    st.builds(lambda count: msg_many("{count} tray", "{count} trays", count), st.integers(0, 99)),
    st.builds(lambda value: money(value, "$"), st.floats(0, 999)),
    st.builds(lambda at: day_text(at, "weekday_clock"), st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1))),
    st.builds(lambda value: both(value, "temperature"), st.floats(200, 300)),
)
ZONES = st.builds(lambda minutes: timezone(timedelta(minutes=minutes)), st.integers(-720, 720))
PLAIN: dict[Any, st.SearchStrategy[Any]] = {
    bool: st.booleans(),
    int: st.integers(-(2**53), 2**53),
    float: FLOATS,
    str: st.text(),
    NoneType: st.none(),
    datetime: st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.one_of(st.just(UTC), ZONES)),
    date: st.dates(),
    timedelta: st.timedeltas(timedelta(days=-99), timedelta(days=99)),
}


def values(kind: Any) -> st.SearchStrategy[Any]:
    """Values of a type, as wild as it allows."""
    if kind == Sentence:
        return SENTENCES
    if kind == Array:
        return st.lists(FLOATS, max_size=3).map(np.array) | st.just(np.array([[1.5, -math.inf], [math.nan, 0.1]]))
    if kind in PLAIN:
        return PLAIN[kind]
    origin, inner = typing.get_origin(kind), typing.get_args(kind)
    if origin is Annotated:
        return values(inner[0])
    if origin is Literal:
        return st.sampled_from(inner)
    if origin in (typing.Union, UnionType):
        return st.one_of([values(one) for one in inner])
    if origin is tuple:
        if inner and inner[-1] is Ellipsis:
            return st.lists(values(inner[0]), max_size=2).map(tuple)
        return st.tuples(*(values(one) for one in inner))
    if origin is list:
        return st.lists(values(inner[0]), max_size=2)
    if origin is dict:
        return st.dictionaries(values(inner[0]), values(inner[1]), max_size=2)
    hints = typing.get_type_hints(kind, include_extras=True)
    if dataclasses.is_dataclass(kind):
        return st.builds(kind, **{field.name: values(hints[field.name]) for field in dataclasses.fields(kind)})
    assert typing.is_typeddict(kind) or issubclass(kind, dict), kind
    return st.fixed_dictionaries({name: values(one) for name, one in hints.items()})


def same(one: Any, other: Any) -> bool:
    """The same value of the same type; not a number is the same as itself, and a sentence has the same parts."""
    if isinstance(one, np.ndarray):
        return type(one) is type(other) and one.shape == other.shape and np.array_equal(one, other, equal_nan=True)
    if dataclasses.is_dataclass(one):
        names = [field.name for field in dataclasses.fields(one)]
        return type(one) is type(other) and all(same(getattr(one, name), getattr(other, name)) for name in names)
    if isinstance(one, tuple | list):
        return type(one) is type(other) and len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(same(value, other[name]) for name, value in one.items())
    if isinstance(one, float):
        return isinstance(other, float) and (one == other or (math.isnan(one) and math.isnan(other)))
    if isinstance(one, str):
        parts = [same(getattr(one, "values", {}), getattr(other, "values", {})) if isinstance(one, Message) else True]
        return type(one) is type(other) and str(one) == str(other) and all(parts)
    return bool(one == other)


TYPES = {name: kind.result for name, kind in KINDS.items()}
TYPES |= {f"{name}, wishes": kind.wishes for name, kind in KINDS.items() if kind.wishes is not None}
TYPES |= {"problems": tuple[Problem, ...]}


@pytest.mark.parametrize("name", TYPES)
@given(data=st.data())
@settings(max_examples=40, deadline=None)
def test_a_value_comes_back_exactly(name: str, data: st.DataObject) -> None:
    codec: Codec[Any] = Codec(TYPES[name])
    value = data.draw(values(TYPES[name]))
    assert same(codec.read(codec.write(value)), value)


def test_a_type_with_another_field_has_another_form_and_words_about_it_do_not_matter() -> None:
    def made(*fields: Any, words: str = "") -> Any:
        kind = dataclasses.make_dataclass("Made", fields, frozen=True)
        kind.__doc__ = words
        return kind

    forms = {
        Codec(made(*fields)).form
        for fields in (
            [("a", int)],
            [("a", float)],
            [("b", int)],
            [("a", int), ("b", int)],
            [("a", int | None)],
            [("a", tuple[int, ...])],
            [("a", Sentence)],
            [("a", Array)],
        )
    }
    assert len(forms) == 8
    assert Codec(made(("a", int), words="one")).form == Codec(made(("a", int), words="another")).form


@pytest.mark.parametrize("text", ["", "[", "null", "[1, 2]", '[{"a": 1}]', "[" * 9000])
def test_what_is_no_answer_is_refused(text: str) -> None:
    for kind in TYPES.values():
        with pytest.raises(ValueError, match="alid"):
            Codec(kind).read(text)

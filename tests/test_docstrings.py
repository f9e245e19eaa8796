"""Every public engine function and dataclass says its parameters, their units and its source."""

import dataclasses
import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from typing import Any

import pytest

from drystow.sources import MARKS, bibliography

PHYSICS = ("properties", "freezing", "drying", "machine", "evidence", "packing", "keeping", "serving", "costs")
NUMBER_TYPES = {"float", "Numeric", "float | None", "Array"}


def physics_modules() -> Iterator[Any]:
    for layer in PHYSICS:
        package = importlib.import_module(f"drystow.{layer}")
        yield package
        for info in pkgutil.walk_packages(package.__path__, f"drystow.{layer}."):
            yield importlib.import_module(info.name)


def public_members(kind: Any) -> Iterator[Any]:
    for module in physics_modules():
        for name, member in vars(module).items():
            if not name.startswith("_") and getattr(member, "__module__", None) == module.__name__ and kind(member):
                yield pytest.param(member, id=f"{module.__name__}.{name}")


def type_name(annotation: object) -> str:
    return annotation if isinstance(annotation, str) else getattr(annotation, "__name__", str(annotation))


def is_number(annotation: object) -> bool:
    text = type_name(annotation)
    return text in NUMBER_TYPES or text.startswith("float")


@pytest.mark.parametrize("function", list(public_members(inspect.isfunction)))
def test_function_docstring_has_units_and_source(function: Any) -> None:
    doc = inspect.getdoc(function) or ""
    assert doc, "no docstring"
    signature = inspect.signature(function)
    for parameter in signature.parameters.values():
        line = re.search(rf"^\s*{re.escape(parameter.name)}: .*$", doc, re.MULTILINE)
        assert line, f"parameter {parameter.name} is not described"
        if is_number(parameter.annotation):
            assert re.search(r"\[[^\]]+\]", line.group()), f"parameter {parameter.name} has no [unit]"
    if is_number(signature.return_annotation):
        assert re.search(r"\[[^\]]+\]", doc.splitlines()[0]), "first line does not state the result's [unit]"
        assert "Source: " in doc, "no Source line"
    for line in re.findall(r"^\s*Source: (.*)$", doc, re.MULTILINE):
        key = re.split(r"[,;. ]", line, maxsplit=1)[0]
        assert key in bibliography(), f"source '{key}' is not in sources.toml"


@pytest.mark.parametrize("cls", list(public_members(lambda m: inspect.isclass(m) and dataclasses.is_dataclass(m))))
def test_dataclass_docstring_has_fields_and_units(cls: Any) -> None:
    doc = inspect.getdoc(cls) or ""
    for field in dataclasses.fields(cls):
        line = re.search(rf"^\s*{re.escape(field.name)}: .*$", doc, re.MULTILINE)
        assert line, f"field {field.name} is not described"
        if is_number(field.type):
            assert re.search(r"\[[^\]]+\]", line.group()), f"field {field.name} has no [unit]"


def test_every_source_has_a_known_mark() -> None:
    assert {source.mark for source in bibliography().values()} <= set(MARKS)

"""Runs every check_*.py generator in this folder; each yields `Check` rows.

`compare_…` holds what Drystow computes against a number from outside the project. `in_step_…` holds a number that the
program carries to the text it was taken from, or two ways through one equation to each other: that keeps what is typed
twice in step, and says nothing about the world.
"""

import importlib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from drystow.sources import bibliography
from tests.published.check import Check

MARKS = {"read", "memory", "common practice", "calc", "library", "definition", "fitted"}


def generators(prefix: str) -> dict[str, Callable[[], Iterator[Check]]]:
    """Return the generators of this folder by module and name.

    prefix: of their names, compare_ or in_step_
    """
    modules = [
        importlib.import_module(f"tests.published.{path.stem}")
        for path in sorted(Path(__file__).parent.glob("check_*.py"))
    ]
    return {
        f"{module.__name__.rpartition('.')[2]}.{name}": function
        for module in modules
        for name, function in sorted(vars(module).items())
        if name.startswith(prefix)
    }


def all_checks() -> Iterator[Check]:
    """Yield every comparison with the outside."""
    for function in generators("compare_").values():
        yield from function()


def definitions() -> Iterator[Check]:
    """Yield every definition that is kept in step."""
    for function in generators("in_step_").values():
        yield from function()


@pytest.mark.parametrize("check", [pytest.param(check, id=check.name) for check in all_checks()])
def test_agrees_with_the_outside(check: Check) -> None:
    assert check.source in bibliography(), f"unknown source {check.source}"
    assert check.mark in MARKS
    assert check.holds, f"{check.name}: got {check.got:.6g}, expected {check.expected} ({check.source}, {check.where})"


@pytest.mark.parametrize("check", [pytest.param(check, id=check.name) for check in definitions()])
def test_definitions_are_in_step(check: Check) -> None:
    assert check.source in bibliography(), f"unknown source {check.source}"
    assert check.holds, f"{check.name}: got {check.got:.6g}, expected {check.expected} ({check.source}, {check.where})"


def test_a_definition_is_not_counted_as_a_comparison() -> None:
    """What the program takes from a rule, or repeats from one equation, stands in its own section of the page."""
    outside = {check.name for check in all_checks()}
    assert not outside & {check.name for check in definitions()}
    assert not [check.name for check in all_checks() if check.source == "definition"]

"""Runs every check_*.py generator in this folder; each yields `Check` rows."""

import importlib
from collections.abc import Iterator
from pathlib import Path

import pytest

from drystow.sources import bibliography
from tests.published.check import Check

MARKS = {"read", "memory", "common practice", "calc", "library", "definition"}


def all_checks() -> Iterator[Check]:
    for path in sorted(Path(__file__).parent.glob("check_*.py")):
        module = importlib.import_module(f"tests.published.{path.stem}")
        for name, function in sorted(vars(module).items()):
            if name.startswith("compare_"):
                yield from function()


@pytest.mark.parametrize("check", [pytest.param(check, id=check.name) for check in all_checks()])
def test_agrees_with_the_outside(check: Check) -> None:
    assert check.source in bibliography(), f"unknown source {check.source}"
    assert check.mark in MARKS
    assert check.holds, f"{check.name}: got {check.got:.6g}, expected {check.expected} ({check.source}, {check.where})"

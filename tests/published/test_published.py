"""Runs every generator of this folder; each yields `Check` rows."""

import pytest

from drystow.sources import bibliography
from tests.published.check import Check
from tests.published.gathered import all_checks, definitions

MARKS = {"read", "memory", "common practice", "calc", "library", "definition", "fitted"}


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

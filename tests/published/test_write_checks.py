"""The page of checks grows stale when what comes out changes, not only when a row comes or goes."""

from dataclasses import replace

import pytest
from tools.write_checks import COLUMNS, _row, differences

from tests.published.check import Check

CHECK = Check("ice front of a slab", -29.322, -29.4, 0.3, "abs", "°C", "fd-encyclopedia", "figure", why="0.1 K")
BAND = Check("time of a slab", 14.838, (12.0, 20.0), kind="band", unit="h", source="fd-encyclopedia", where="text")


def page(*checks: Check) -> str:
    return COLUMNS + "".join(map(_row, checks))


def test_a_page_that_says_what_comes_out_is_not_stale() -> None:
    assert not list(differences(page(CHECK, BAND), page(CHECK, BAND)))
    rounded = replace(CHECK, got=CHECK.got * 1.0005), replace(BAND, got=BAND.got * 0.9995)
    assert not list(differences(page(CHECK, BAND), page(*rounded)))


@pytest.mark.parametrize(
    "changed",
    [
        replace(CHECK, got=-29.0),
        replace(CHECK, expected=-29.0),
        replace(CHECK, tolerance=0.4),
        replace(CHECK, unit="K"),
        replace(CHECK, why="0.2 K"),
        replace(CHECK, name="ice front of a cube"),
        replace(CHECK, expected=(-30.0, -29.0), kind="band"),
    ],
    ids=["got", "expected", "tolerance", "unit", "why", "name", "band"],
)
def test_a_row_that_changed_makes_the_page_stale(changed: Check) -> None:
    assert list(differences(page(BAND, CHECK), page(BAND, changed)))


def test_a_row_that_came_or_went_makes_the_page_stale() -> None:
    assert list(differences(page(CHECK, BAND), page(CHECK)))
    assert list(differences("", page(CHECK)))

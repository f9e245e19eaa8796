"""The course of a load in sentences."""

from dataclasses import replace
from datetime import datetime

import pytest

from drystow.reports.timeline import timeline, when_text
from tests.engine.load_by_hand import HOUR, load_by_hand

RESULT = load_by_hand()


def said(units: str = "us") -> list[str]:
    return [row.what for row in timeline(RESULT, units)]


def test_rows_come_in_order_of_time_from_start_to_end() -> None:
    rows = timeline(RESULT)
    assert [row.time for row in rows] == sorted(row.time for row in rows)
    assert (rows[0].kind, rows[-2].kind, rows[-1].kind) == ("start", "end", "trap")
    assert rows[0].when == "start"


def test_every_tray_gets_its_milestones() -> None:
    lines = said()
    assert "All trays frozen through." in lines
    assert "Tray 1, Blueberries, raw: ice gone." in lines
    assert "Tray 2, Chicken, breast, cooked: dry to 2.0% moisture." in lines
    assert lines.count("Vacuum and heat on.") == 1


def test_masses_follow_the_unit_system() -> None:
    # 2.1 kg x 2.20462 = 4.63 lb, 4.5 kg = 9.92 lb
    assert said("us")[-1] == "Ice on the trap: 4.6 lb of the 9.9 lb it holds."
    assert said("si")[-1] == "Ice on the trap: 2.10 kg of the 4.50 kg it holds."
    assert said("si")[0] == "Food in: 3 trays, 3.00 kg, of which 2.28 kg is water."


def test_limits_are_warnings_and_milestones_are_not_said_twice() -> None:
    rows = timeline(RESULT)
    assert [row.kind for row in rows if row.warning] == ["collapse_limit"]
    assert not any("is frozen through" in row.what for row in rows)


def test_trays_that_freeze_apart_are_told_apart() -> None:
    trays = (replace(RESULT.trays[0], freezing_end=6 * HOUR), *RESULT.trays[1:])
    lines = [row.what for row in timeline(replace(RESULT, trays=trays))]
    assert "Tray 1, Blueberries, raw: frozen through." in lines
    assert "All trays frozen through." not in lines


def test_a_tray_that_never_dries_is_not_called_dry_and_the_end_is_a_warning() -> None:
    tray = replace(RESULT.trays[0], primary_end=None, dry_end=None, freezing_end=0.0)
    rows = timeline(
        replace(RESULT, trays=(tray,), ended_by="trap_full", ended_text="The trap is full before the food is dry.")
    )
    assert not any(row.kind in ("dry", "ice_gone", "frozen") for row in rows)
    assert [row.what for row in rows if row.warning][-1] == "The trap is full before the food is dry."


def test_the_clock_is_shown_when_the_start_is_known() -> None:
    # 12 March 2027 is a Friday
    rows = timeline(RESULT, "us", datetime(2027, 3, 12, 20, 0))
    assert rows[0].when == "start (Fri 8:00 pm)"
    assert rows[-1].when == "34 h (Sun 6:00 am)"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "start"),
        (30, "30 s"),
        (60, "1 min"),
        (3599, "1 h"),
        (5400, "1 h 30 min"),
        (86399, "24 h"),
        (90000, "25 h"),
    ],
)
def test_spans_are_rounded_to_what_a_cook_needs(seconds: float, words: str) -> None:
    assert when_text(seconds) == words

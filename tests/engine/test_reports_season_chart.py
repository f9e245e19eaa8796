"""The picture of a season."""

from datetime import date, timedelta

import pytest

from drystow.messages import Message, told
from drystow.reports.charts import chart_svg
from drystow.reports.season_chart import WeekShown, season_picture

WEEKS = [
    WeekShown(date(2026, 6, 1) + timedelta(weeks=number), came, 0.5 * came, 1.5 * came, lost, came - lost)
    for number, (came, lost) in enumerate([(10.0, 0.0), (30.0, 6.0), (20.0, 0.0)])
]


@pytest.mark.parametrize(("units", "factor"), [("si", 1.0), ("us", 2.2046226)])
def test_bars_stand_on_each_other_and_reach_what_came(units: str, factor: float) -> None:
    bars, lines = season_picture(WEEKS, units).spec["datasets"].values()
    for week, (kept, lost) in zip(WEEKS, zip(bars[::2], bars[1::2], strict=True), strict=True):
        assert kept["low"] == 0.0
        assert kept["high"] == lost["low"] == pytest.approx(factor * (week.came - week.lost), abs=1e-3)
        assert lost["high"] == pytest.approx(factor * week.came, abs=1e-3)
    assert [row["value"] for row in lines] == pytest.approx([factor * week.loaded for week in WEEKS], abs=1e-3)


def test_who_does_not_see_it_is_told_the_fullest_week_and_what_is_lost() -> None:
    picture = season_picture(WEEKS, "si")
    assert "8 Jun 2026" in picture.words
    assert "30.0 kg" in picture.words
    assert "6.00 kg" in picture.words
    assert isinstance(picture.words, Message)
    assert len(picture.lines) == 4


def test_nothing_lost_names_no_worst_week() -> None:
    assert "Mostly" not in season_picture(WEEKS[:1], "si").words


def test_it_is_drawn_in_the_reader_s_language() -> None:
    words = {"Per week ({unit})": "Una semana ({unit})"}
    svg = chart_svg(
        season_picture(WEEKS, "si").spec, translate=lambda text: told(text, lambda one: words.get(one, one))
    )
    assert "Una semana (kg)" in svg

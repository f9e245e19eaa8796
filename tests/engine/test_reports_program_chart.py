"""The picture of two shelf programs: what it shows and what it says."""

import pytest

from drystow.reports.charts import chart_svg
from drystow.reports.pictures import limit_picture

BELOW = [(4.0, -20.0), (6.0, -5.0), (9.0, -10.0)]
ABOVE = [(4.0, -20.0), (5.0, 2.0)]


def test_the_words_tell_how_near_and_on_which_side() -> None:
    picture = limit_picture(BELOW, ABOVE, "si")
    assert picture is not None
    assert "Program found: at least 5.0 °C below the limit, ice until hour 9.0." in picture.words
    assert "Your program: up to 2.0 °C above the limit, ice until hour 5.0." in picture.words


def test_a_kelvin_is_nine_fifths_of_a_degree_fahrenheit() -> None:
    """By definition of the scales; the zero of a difference does not move."""
    values = {}
    for units in ("si", "us"):
        picture = limit_picture(BELOW, [], units)
        assert picture is not None
        values[units] = list(picture.lines[0].values)
    assert values["us"] == pytest.approx([1.8 * value for value in values["si"]])


def test_a_program_without_a_course_is_left_out() -> None:
    picture = limit_picture(BELOW, [], "us")
    assert picture is not None
    assert [line.mark for line in picture.lines] == ["A"]
    assert "as it is" not in picture.words
    assert limit_picture([], [], "us") is None


def test_it_can_be_drawn_with_its_limit() -> None:
    picture = limit_picture(BELOW, ABOVE, "us")
    assert picture is not None
    svg = chart_svg(picture.spec)
    assert svg.startswith("<svg")
    assert ">limit<" in svg

"""Days and times of day come in the order and by the clock of their reader, from one place."""

import ast
import re
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tools.write_catalogue import read

import drystow
from drystow.days import STYLES, WITH_CLOCK, ahead, axis_format, day_text, near
from drystow.messages import Reader, msg, told
from drystow.web.kit.words import again, kept

ENGINE = Path(drystow.__file__).parent
SPANISH = {text: words[0] for text, words in read().items()}
US, METRIC = Reader(units="us"), Reader(units="si")
SPANISH_US, SPANISH_METRIC = (Reader(lambda text: SPANISH.get(text, text), units) for units in ("us", "si"))
EVENING = datetime(2029, 5, 26, 19, 12, 5)
NOW = datetime(2026, 11, 30, 9, 0)


@pytest.mark.parametrize(
    ("style", "american", "metric", "spanish"),
    [
        ("day", "May 26, 2029", "26 May 2029", "26 may 2029"),
        ("moment", "May 26, 2029, 7:12 pm", "26 May 2029, 19:12", "26 may 2029, 19:12"),
        ("second", "May 26, 2029, 7:12:05 pm", "26 May 2029, 19:12:05", "26 may 2029, 19:12:05"),
        ("weekday", "Sat, May 26", "Sat 26 May", "sáb 26 may"),
        ("weekday_clock", "Sat, May 26, 7:12 pm", "Sat 26 May, 19:12", "sáb 26 may, 19:12"),
        ("name_clock", "Sat 7:12 pm", "Sat 19:12", "sáb 19:12"),
        ("month_day", "May 26", "26 May", "26 may"),
        ("month", "May 2029", "May 2029", "may 2029"),
        ("clock", "7:12 pm", "19:12", "19:12"),
    ],
)
def test_each_reader_has_the_own_order_and_clock(style: str, american: str, metric: str, spanish: str) -> None:
    text = day_text(EVENING, style)
    assert (told(text, US), told(text, METRIC), str(text)) == (american, metric, metric)
    assert {told(text, SPANISH_US), told(text, SPANISH_METRIC)} == {spanish}


@pytest.mark.parametrize(("hour", "words"), [(0, "12:05 am"), (1, "1:05 am"), (11, "11:05 am"), (12, "12:05 pm")])
def test_midnight_and_noon_are_twelve_on_a_clock_of_twelve_hours(hour: int, words: str) -> None:
    assert told(day_text(datetime(2026, 1, 1, hour, 5), "clock"), US) == words


@given(st.datetimes(datetime(1990, 1, 1), datetime(2100, 1, 1)))
def test_no_two_minutes_read_the_same(at: datetime) -> None:
    minute = at.replace(second=0, microsecond=0)
    words = told(day_text(minute, "moment"), US)
    assert datetime.strptime(words, "%b %d, %Y, %I:%M %p") == minute
    assert datetime.strptime(told(day_text(minute, "moment"), METRIC), "%d %b %Y, %H:%M") == minute
    assert told(day_text(minute.date()), US) == words.rsplit(", ", 1)[0]


@pytest.mark.parametrize("style", [*STYLES, *WITH_CLOCK, "clock"])
def test_a_kept_sentence_tells_its_day_later_to_whoever_reads_it(style: str) -> None:
    sentence = msg("until {day}", day=day_text(EVENING, style))
    later = again(kept(sentence), "")
    assert [told(later, one) for one in (US, METRIC)] == [told(sentence, one) for one in (US, METRIC)]


@given(st.integers(-20 * 24 * 60, 20 * 24 * 60))
def test_near_days_are_named_and_far_ones_dated(minutes: int) -> None:
    at = NOW + timedelta(minutes=minutes)
    words = told(near(at, NOW), US)
    days = (at.date() - NOW.date()).days
    first = {0: "today", 1: "tomorrow", -1: "yesterday"}.get(days, f"{at:%a}")
    assert words.startswith(first)
    assert words.endswith(told(day_text(at, "clock"), US))
    assert bool(re.search(r"[A-Z][a-z]{2} \d{1,2},", words)) is (abs(days) > 6)
    assert told(near(at, NOW, after=at - timedelta(minutes=1)), METRIC).endswith(f"{at:%H:%M}")


@given(st.floats(-100.0, 100.0))
def test_how_long_it_is_is_said_of_what_comes_within_two_days(hours: float) -> None:
    words = ahead(NOW + timedelta(hours=hours), NOW)
    if hours < 0.0 or hours > 48.1:
        assert words == ""
    elif hours > 1.0:
        found = re.fullmatch(r"in about (\d+) h", words)
        assert hours > 47.9 or found is not None
        assert found is None or abs(int(found[1]) - hours) <= 0.51


def test_the_axes_of_charts_follow_their_reader() -> None:
    assert told(axis_format(), US) == "%b %-d, %Y"
    assert told(axis_format("month_day_clock"), METRIC) == "%-d %b, %H:%M"
    assert told(axis_format("month_day_clock"), SPANISH_US) == "%-d %b, %H:%M"


FOR_PROGRAMS = {
    "reports/codes.py",
    "web/batches/views/readings.py",
    "web/readings/storage.py",
    "web/batches/forms.py",
    "cli/account.py",
}
"""Codes, values of inputs, names of zones and lots, times of UTC."""


@pytest.mark.parametrize("path", sorted(ENGINE.rglob("*.py")), ids=lambda path: "/".join(path.parts[-2:]))
def test_no_day_is_written_by_hand(path: Path) -> None:
    if path.relative_to(ENGINE).as_posix() in FOR_PROGRAMS | {"days.py"}:
        return
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"\.strftime\(|date_format\(", text), "use drystow.days.day_text"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FormattedValue) and node.format_spec is not None:
            spec = ast.unparse(node.format_spec)
            assert not re.search(r"%[aAbBdHIMp]", spec) or "%y%m%d" in spec.lower(), ast.unparse(node)


@pytest.mark.parametrize("path", sorted(ENGINE.rglob("templates/**/*.html")), ids=lambda path: path.name)
def test_no_template_writes_a_day_by_itself(path: Path) -> None:
    assert not re.search(r"\|(?:date(?!:'c')|time(?:since|until)?|natural\w+)\b", path.read_text(encoding="utf-8"))


def test_a_bare_day_needs_no_clock() -> None:
    assert told(msg("Best before {day}", day=day_text(date(2027, 3, 4))), US) == "Best before Mar 4, 2027"

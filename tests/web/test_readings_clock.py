"""Times of loggers become moments: every way of writing, and the nights on which clocks are changed.

The changes of the clock are those of the law: in the European Union at 01:00 UTC on the last Sundays of March and
October (Directive 2000/84/EC), in the United States at 2:00 local time on the second Sunday of March and the first of
November (15 U.S.C. 260a).
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drystow.errors import InputError
from drystow.web.readings.timestamps import guess_format, reader_of, utc_of_local

BERLIN, CHICAGO = ZoneInfo("Europe/Berlin"), ZoneInfo("America/Chicago")


def moments(*local: datetime, zone: ZoneInfo = BERLIN, steady: bool = False) -> list[datetime]:
    found, wrong, _notes = utc_of_local(local, zone, steady)
    assert not wrong
    return [datetime.fromtimestamp(at / 1000, UTC) for at in found]


def every(minutes: int, start: datetime, end: datetime) -> list[datetime]:
    """UTC moments from start to before end."""
    count = int((end - start).total_seconds() // 60 // minutes)
    return [start + timedelta(minutes=minutes * number) for number in range(count)]


@pytest.mark.parametrize(
    ("text", "format", "expected"),
    [
        ("2026-03-04T14:05:06", "ymd", datetime(2026, 3, 4, 14, 5, 6)),
        ("2026/03/04 14:05", "ymd", datetime(2026, 3, 4, 14, 5)),
        ("2026-03-04 14:05:06.250", "ymd", datetime(2026, 3, 4, 14, 5, 6, 250_000)),
        ("4.3.2026 14:05", "dmy", datetime(2026, 3, 4, 14, 5)),
        ("04/03/26 14:05:06", "dmy", datetime(2026, 3, 4, 14, 5, 6)),
        ("25-Nov-2026 06:00", "dmy", datetime(2026, 11, 25, 6)),
        ("3/4/2026 2:05 PM", "mdy", datetime(2026, 3, 4, 14, 5)),
        ("3/4/2026 12:05 am", "mdy", datetime(2026, 3, 4, 0, 5)),
        ("Mar 4, 2026 2:05:00 PM", "mdy", datetime(2026, 3, 4, 14, 5)),
    ],
)
def test_a_written_time_is_read_in_its_order(text: str, format: str, expected: datetime) -> None:
    assert reader_of(format)(text) == (expected, False)


def test_a_time_with_its_zone_and_a_count_since_1970_are_utc() -> None:
    noon = datetime(2026, 3, 4, 12, tzinfo=UTC)
    assert reader_of("ymd")("2026-03-04T14:00:00+02:00") == (noon, True)
    assert reader_of("ymd")("2026-03-04T12:00:00Z") == (noon, True)
    assert reader_of("epoch")(str(int(noon.timestamp()))) == (noon, True)
    assert reader_of("epoch ms")(str(int(noon.timestamp() * 1000))) == (noon, True)


def test_a_spreadsheets_serial_counts_days_since_1900() -> None:
    # 36526 is 2000-01-01 in the 1900 date system (ECMA-376 part 1, 18.17.4.1)
    assert reader_of("serial")("36526.5") == (datetime(2000, 1, 1, 12), False)


def test_elapsed_times_need_their_start() -> None:
    start = datetime(2026, 3, 4, 10, tzinfo=UTC)
    assert reader_of("elapsed min", start)("90.5") == (datetime(2026, 3, 4, 11, 30, 30, tzinfo=UTC), True)
    with pytest.raises(InputError, match="need a start time"):
        reader_of("elapsed min")


@pytest.mark.parametrize(
    "text", ["31/02/2026 10:00", "4/3/2026 25:00", "4/3/2026 13:05 PM", "yesterday", "4/3/2026 10:61"]
)
def test_a_moment_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="is not a date with a time"):
        reader_of("dmy")(text)


def test_a_day_beyond_the_twelfth_decides_the_order_and_nothing_else_does() -> None:
    assert guess_format(["03/04/2026 10:00", "13/04/2026 10:00"]) == guess_format(["25/12/2026 10:00"])
    assert guess_format(["03/04/2026 10:00", "03/14/2026 10:00"]).format == "mdy"
    assert guess_format(["03/04/2026 10:00", "04/04/2026 10:00"]).ask
    assert guess_format(["1772618706", "1772618716"]).format == "epoch"
    assert guess_format(["1772618706000", "1772618716000"]).format == "epoch ms"
    assert guess_format(["46085.5", "46085.6"]).format == "serial"
    assert guess_format(["0", "10", "20"]).format == "elapsed s"
    assert guess_format(["apples", "pears"]).format == ""


@pytest.mark.parametrize(
    ("zone", "start"),
    [(BERLIN, datetime(2026, 10, 24, 20, tzinfo=UTC)), (CHICAGO, datetime(2026, 11, 1, 3, tzinfo=UTC))],
)
@pytest.mark.parametrize("minutes", [1, 10, 60])
def test_the_hour_that_comes_twice_is_told_apart_by_the_sequence(zone: ZoneInfo, start: datetime, minutes: int) -> None:
    real = every(minutes, start, start + timedelta(hours=10))
    local = [moment.astimezone(zone).replace(tzinfo=None) for moment in real]
    assert moments(*local, zone=zone) == real
    assert moments(*local[::-1], zone=zone) == real[::-1]  # newest first


@pytest.mark.parametrize("zone", [BERLIN, CHICAGO])
def test_the_hour_that_is_left_out_needs_nothing(zone: ZoneInfo) -> None:
    start = datetime(2026, 3, 28, 20, tzinfo=UTC) if zone is BERLIN else datetime(2026, 3, 8, 3, tzinfo=UTC)
    real = every(10, start, start + timedelta(hours=10))
    assert moments(*[moment.astimezone(zone).replace(tzinfo=None) for moment in real], zone=zone) == real


def test_a_file_that_begins_in_the_second_hour_is_decided_by_its_distances() -> None:
    real = every(10, datetime(2026, 10, 25, 1, 10, tzinfo=UTC), datetime(2026, 10, 25, 4, tzinfo=UTC))
    assert moments(*[moment.astimezone(BERLIN).replace(tzinfo=None) for moment in real]) == real


def test_an_hour_that_came_twice_and_was_written_once_is_told() -> None:
    local = [datetime(2026, 10, 25, 1) + timedelta(minutes=10 * number) for number in range(20)]
    _found, wrong, notes = utc_of_local(local, BERLIN)
    assert not wrong
    assert len(notes) == 1
    assert "2026-10-25 02:00 came twice" in notes[0]


def test_a_clock_that_is_never_changed_is_told_and_read_when_that_is_said() -> None:
    real = every(10, datetime(2026, 3, 28, 22, tzinfo=UTC), datetime(2026, 3, 29, 4, tzinfo=UTC))
    local = [moment.replace(tzinfo=None) + timedelta(hours=1) for moment in real]  # UTC+1 all the year
    _found, wrong, _notes = utc_of_local(local, BERLIN)
    assert [local[place].hour for place in wrong] == [2] * 6
    assert "keep the same time all year" in next(iter(wrong.values()))
    assert moments(*local, steady=True) == real


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(["Europe/Berlin", "America/Chicago", "Australia/Lord_Howe", "Asia/Kolkata", "UTC"]),
    st.datetimes(datetime(2024, 1, 1), datetime(2026, 12, 1)),
    st.sampled_from([1, 5, 30]),
)
def test_whole_days_of_any_zone_come_back_as_they_were(name: str, start: datetime, minutes: int) -> None:
    zone = ZoneInfo(name)
    begin = start.replace(second=0, microsecond=0, tzinfo=UTC)
    real = every(minutes, begin, begin + timedelta(hours=30))
    local = [moment.astimezone(zone).replace(tzinfo=None) for moment in real]
    found, wrong, notes = utc_of_local(local, zone)
    if not notes:  # a file may begin or end within the hour that comes twice, and is told then
        assert not wrong
        assert [datetime.fromtimestamp(at / 1000, UTC) for at in found] == real

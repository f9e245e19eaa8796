"""Files of any logger: guessed, shown, corrected, read in as a whole or not at all, and never twice.

Conversions are held against the definitions: 0 °F is 255.372 K, 1 Torr is 101325/760 Pa (NIST SP 811, appendix B.8).
"""

import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client, override_settings

from drystow.errors import InputError
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.readings.csvfile import CsvWay, decoded, guess_plan, guess_way, number_in
from drystow.web.readings.models import Channel, FileWay, Reading
from drystow.web.readings.reading_in import content_of, write_content
from tests.web.page_form import sent_back

UTC_ZONE = ZoneInfo("UTC")
PLAIN = "Time,Shelf temp (°F),Vacuum (mTorr)\n2026-03-04 10:00,0,500\n2026-03-04 10:01,1.5,510\n"
COMMAS = (
    "Logger 7;;;\n\nDatum;Uhrzeit;Shelf °C;Probe 2 °C;P mbar\n"
    "13.03.2026;10:00:00;-20,5;-30,25;0,5\n13.03.2026;10:00:30;-20,4;---;0,51\n"
)
AMBIGUOUS = "When,Shelf C\n03/04/2026 10:00,-20\n03/04/2026 10:01,-19.9\n"


@pytest.fixture
def dryer() -> Dryer:
    return records.create(Dryer(name="Bench", profile="bench-4"))


@pytest.fixture(autouse=True)
def folder(tmp_path: Path) -> Any:
    with override_settings(DATA_FOLDER=tmp_path):
        yield tmp_path


def upload(client: Client, dryer: Dryer, text: str | bytes) -> Any:
    data = text.encode() if isinstance(text, str) else text
    return client.post(f"/dryers/{dryer.pk}/readings/file/", {"file": SimpleUploadedFile("log.csv", data)})


def read_in(client: Client, dryer: Dryer, text: str, **changes: Any) -> Any:
    address = upload(client, dryer, text).headers["Location"]
    return client.post(f"{address}read/", sent_back(client.get(address), **changes))


def values(quantity: str) -> list[float]:
    return list(Reading.objects.filter(channel__quantity=quantity).order_by("at_ms").values_list("value", flat=True))


def test_a_plain_file_is_read_with_two_clicks(client: Client, dryer: Dryer) -> None:
    answer = read_in(client, dryer, PLAIN)
    assert answer.status_code == 302
    assert values("shelf") == pytest.approx([255.372, 256.206], abs=1e-3)
    assert values("pressure") == pytest.approx([500 * 101.325 / 760, 510 * 101.325 / 760], rel=1e-6)
    assert Reading.objects.order_by("at_ms").first().at == datetime(2026, 3, 4, 10, tzinfo=UTC)  # type: ignore[union-attr]
    assert "4 new readings saved" in client.get(answer.headers["Location"]).content.decode()


def test_decimal_commas_a_title_above_the_head_and_two_columns_of_time_are_guessed() -> None:
    plan = guess_plan(COMMAS)
    assert plan.way == CsvWay(";", ",", 3)
    assert (plan.time, plan.clock, plan.format, plan.ask) == (0, 1, "dmy", False)
    told = [(column.quantity, column.tray, column.unit) for column in plan.columns]
    assert told == [("", 0, ""), ("", 0, ""), ("shelf", 0, "°C"), ("product", 2, "°C"), ("pressure", 0, "mbar")]
    content = content_of(COMMAS, plan, UTC_ZONE)
    assert not content.wrong
    shelf, product, pressure = content.courses
    assert shelf.values == pytest.approx([252.65, 252.75])
    assert product.values == pytest.approx([242.9])  # the sensor had no value in the second line
    assert pressure.values == pytest.approx([50.0, 51.0])


def test_the_same_file_read_twice_adds_nothing_and_a_longer_one_only_its_end(client: Client, dryer: Dryer) -> None:
    read_in(client, dryer, PLAIN)
    again = read_in(client, dryer, PLAIN)
    assert "0 new readings saved. 4 were already here." in client.get(again.headers["Location"]).content.decode()
    read_in(client, dryer, PLAIN + "2026-03-04 10:02,2,520\n")
    assert (Channel.objects.count(), Reading.objects.count()) == (2, 6)


def test_day_and_month_are_asked_when_no_date_decides_them(client: Client, dryer: Dryer) -> None:
    address = upload(client, dryer, AMBIGUOUS).headers["Location"]
    page = client.get(address)
    assert "could be day/month or month/day" in page.content.decode()
    answer = client.post(f"{address}read/", sent_back(page))
    assert answer.status_code == 422
    assert not Reading.objects.exists()
    client.post(f"{address}read/", sent_back(page, format="mdy"))
    assert Reading.objects.earliest("at_ms").at == datetime(2026, 3, 4, 10, tzinfo=UTC)


def test_a_correction_is_remembered_for_the_next_file_with_these_columns(client: Client, dryer: Dryer) -> None:
    read_in(client, dryer, AMBIGUOUS, format="mdy", q1="trap", u1="°F")
    assert FileWay.objects.count() == 1
    page = client.get(upload(client, dryer, AMBIGUOUS).headers["Location"])
    assert "this one is read the same way" in page.content.decode()
    there = sent_back(page)
    assert (there["format"], there["q1"], there["u1"]) == ("mdy", "trap", "°F")


def test_what_cannot_be_read_is_told_with_its_line_and_nothing_is_written(client: Client, dryer: Dryer) -> None:
    text = PLAIN + "yesterday,3,4\n2026-03-04 10:03,cold,520\n2026-03-04 10:04,900,520\n"
    address = upload(client, dryer, text).headers["Location"]
    page = client.get(address)
    answer = client.post(f"{address}read/", sent_back(page))
    told = answer.content.decode()
    assert answer.status_code == 422
    for words in (
        "Line 4: &#x27;yesterday&#x27; is not a date",
        "Line 5, Shelf temp (°F): &#x27;cold&#x27;",
        "Line 6, Shelf",
    ):
        assert words in told
    assert not Reading.objects.exists()
    assert not Channel.objects.exists()
    assert client.post(f"{address}read/", sent_back(page, leave_out="on")).status_code == 302
    assert (len(values("shelf")), len(values("pressure"))) == (2, 4)


def test_a_write_that_fails_in_the_middle_leaves_nothing(dryer: Dryer, monkeypatch: pytest.MonkeyPatch) -> None:
    from drystow.web.readings import reading_in

    plan = guess_plan(PLAIN)
    content = content_of(PLAIN, plan, UTC_ZONE)
    calls = iter([2])

    def break_at_the_second(*_arguments: Any) -> int:
        return next(calls)

    monkeypatch.setattr(reading_in, "add_readings", break_at_the_second)
    with pytest.raises((RuntimeError, StopIteration)):
        write_content(content, plan, dryer, ["Time", "Shelf", "Vacuum"])
    assert not Channel.objects.exists()


def test_another_delimiter_guesses_the_columns_anew(client: Client, dryer: Dryer) -> None:
    address = upload(client, dryer, PLAIN).headers["Location"]
    page = client.post(address, sent_back(client.get(address), delimiter=";"))
    assert "q1" not in sent_back(page)
    page = client.post(address, sent_back(page, delimiter=","))
    there = sent_back(page)
    assert (there["q1"], there["q2"], there["u2"]) == ("shelf", "pressure", "mTorr")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"PK\x03\x04aaaa", "save it as CSV first"),
        (b"\x89PNG\r\n\x00\x00", "not a text file"),
        (b"   \n", "the file is empty"),
    ],
)
def test_what_is_no_text_is_refused(client: Client, dryer: Dryer, data: bytes, words: str) -> None:
    answer = upload(client, dryer, data)
    assert answer.status_code == 422
    assert words in answer.content.decode()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_every_usual_encoding_is_read(encoding: str) -> None:
    assert "Shelf temp (°F)" in decoded(PLAIN.encode(encoding))


def test_a_file_without_a_head_is_read_by_its_numbers(dryer: Dryer) -> None:
    text = "1772618706\t-20.5\t66\n1772618716\t-20.4\t67\n"
    plan = guess_plan(text)
    assert plan.way == CsvWay("\t", ".", 0)
    assert (plan.time, plan.format) == (0, "epoch")
    with pytest.raises(InputError, match="no column chosen"):
        content_of(text, plan, UTC_ZONE)


def test_a_file_that_waits_no_more_is_told(client: Client, dryer: Dryer) -> None:
    for token in ("0" * 32, "..", "secret-key"):
        answer = client.get(f"/dryers/{dryer.pk}/readings/file/{token}/", follow=True)
        assert answer.status_code in (200, 404)
        assert "choose it again" in answer.content.decode() or answer.status_code == 404


def test_numbers_are_read_as_loggers_write_them() -> None:
    assert number_in("1.013,25", ",") == 1013.25
    assert number_in("1,013.25", ".") == 1013.25
    assert number_in("−12.5", ".") == -12.5
    assert number_in("-12.5 °C", ".") == -12.5
    assert number_in("4.5e-2", ".") == 0.045
    assert [number_in(text, ".") for text in ("NaN", "OL", " ", "---")] == [None] * 4
    assert guess_way("a|b\n1|2\n").delimiter == "|"


def test_a_logger_that_saw_the_air_tells_its_unit() -> None:
    for air, unit in ((101_300, "Pa"), (1013, "mbar"), (760, "Torr"), (760_000, "mTorr")):
        rows = "".join(f"2026-03-04 10:{minute:02},{air * 0.7**minute:g}\n" for minute in range(30))
        column = guess_plan(f"Time,Pressure\n{rows}").columns[1]
        assert (column.unit, column.sure) == (unit, True)
    asked = guess_plan("Time,Pressure\n2026-03-04 10:00,300\n2026-03-04 10:01,290\n").columns[1]
    assert not asked.sure


def test_a_hundred_thousand_lines_take_a_few_seconds(dryer: Dryer) -> None:
    start, lines = datetime(2026, 5, 1), ["Time,Shelf (C),Probe 1 (C),Pressure (Pa),Power (W)"]
    for number in range(100_000):
        at = start + timedelta(seconds=20 * number)
        lines.append(
            f"{at:%Y-%m-%d %H:%M:%S},{-20 + number % 50:.1f},{-30 + number % 7},{60 + number % 9},{900 + number % 99}"
        )
    text = "\n".join(lines)
    guess_plan(PLAIN)
    begin = time.process_time()
    plan = guess_plan(text)
    content = content_of(text, plan, ZoneInfo("Europe/Berlin"))
    added = write_content(content, plan, dryer, lines[0].split(","))
    assert time.process_time() - begin < 10.0
    assert sum(added.values()) == Reading.objects.count() == 400_000

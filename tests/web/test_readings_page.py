"""Readings of a dryer on their page, in the CSV, over the interface for programs, in a backup and as evidence."""

import csv
import io
import json
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.test import Client, override_settings

from drystow.reports.readings_chart import Measured, readings_pictures
from drystow.web.accounts.tokens import new_token
from drystow.web.batches.run_readings import evidence_of
from drystow.web.data.backup import write_backup
from drystow.web.data.restore import restore_backup
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.readings.models import Broker, Channel, FileWay, LiveSource, Reading
from drystow.web.readings.storage import add_readings, channel_for, course, outline, thinned
from tests.web.batch_rows import a_batch
from tests.web.queries import queries

START = datetime(2026, 3, 1, 6, tzinfo=UTC)


@pytest.fixture
def dryer() -> Dryer:
    return records.create(Dryer(name="Bench", profile="bench-4"))


def measured(
    dryer: Dryer, quantity: str, values: Any, *, tray: int = 0, minutes: float = 1.0, hour: float = 0.0
) -> Channel:
    channel = channel_for(dryer, quantity, tray, f"{quantity} {tray}", "K")
    first = round((START + timedelta(hours=hour)).timestamp() * 1000)
    add_readings(channel, [first + round(number * minutes * 60_000) for number in range(len(values))], values)
    return channel


def test_a_dryer_without_readings_says_how_to_begin(client: Client, dryer: Dryer) -> None:
    page = client.get(f"/dryers/{dryer.pk}/readings/").content.decode()
    assert "Nothing measured yet" in page
    assert f"/dryers/{dryer.pk}/readings/file/" in page
    assert f"/dryers/{dryer.pk}/readings/" in client.get(f"/dryers/{dryer.pk}/").content.decode()


def test_the_page_draws_every_kind_and_shows_the_last_values(client: Client, dryer: Dryer) -> None:
    measured(dryer, "shelf", [250.0, 255.0, 260.15])
    measured(dryer, "product", [240.0, 241.0], tray=2)
    measured(dryer, "pressure", [60.0, 50.0])
    measured(dryer, "power", [900.0, 1200.0])
    with queries(at_most=16):
        page = client.get(f"/dryers/{dryer.pk}/readings/?units=si").content.decode()
    assert page.count('role="img"') == 6  # temperatures, pressure, power: each for wide screens and for phones
    assert "−13.0 °C" in page
    assert "food temperature, tray 2" in page


def test_a_span_and_channels_can_be_chosen(client: Client, dryer: Dryer) -> None:
    shelf = measured(dryer, "shelf", np.linspace(250, 300, 600).tolist())
    measured(dryer, "power", [900.0] * 600)
    address = f"/dryers/{dryer.pk}/readings/"
    page = client.get(address, {"channel": str(shelf.pk), "from": "2026-03-01T07:00", "to": "2026-03-01T08:00"})
    html = page.content.decode()
    assert html.count('role="img"') == 2
    assert "−1 °F to 8 °F" in html  # 255.0 K an hour after the start, 260.0 K after two: -0.7 and 8.4 °F
    assert (
        "The end must be after the start"
        in client.get(address, {"from": "2026-03-01T08:00", "to": "x"}).content.decode()
    )
    assert client.get(address, {"span": "nonsense"}).status_code == 200


def test_a_batch_shows_what_was_measured_between_its_start_and_its_end(client: Client, dryer: Dryer) -> None:
    measured(dryer, "shelf", np.linspace(250, 300, 600).tolist())
    batch = a_batch(started_at=START + timedelta(hours=1), ended_at=START + timedelta(hours=2), stage="proof")
    html = client.get(f"/dryers/{dryer.pk}/readings/?batch={batch.pk}").content.decode()
    assert "Readings of the run" in html
    assert "from" not in [part.split('"')[0] for part in html.split('name="')]
    assert f"?batch={batch.pk}" in client.get(f"/batches/{batch.pk}/running/").content.decode()
    other = records.create(Dryer(name="Other", profile="bench-4"))
    assert client.get(f"/dryers/{other.pk}/readings/?batch={batch.pk}").status_code == 404


def test_a_long_curve_is_thinned_and_keeps_its_extremes() -> None:
    moments = np.arange(200_000.0)
    values = np.sin(moments / 900.0)
    values[123_456], values[77_777] = 9.0, -9.0
    kept, numbers = thinned(moments, values)
    assert len(kept) <= 1000
    assert (numbers.max(), numbers.min()) == (9.0, -9.0)
    assert (kept[0], kept[-1]) == (0.0, 199_999.0)
    assert np.all(np.diff(kept) > 0)
    picture = readings_pictures([Measured("Shelf", "power", kept, numbers, 1.0)])[0]
    assert len(picture.spec["datasets"]["rows0"]) <= 1001


def test_the_database_outlines_a_curve_with_its_extremes(dryer: Dryer) -> None:
    values = np.sin(np.arange(20_000) / 90.0)
    values[12_345], values[7_777] = 9.0, -9.0
    channel = channel_for(dryer, "power", 0, "logger", "W")
    add_readings(channel, (np.arange(20_000) * 1000).tolist(), values.tolist())
    moments, numbers = outline(channel, 0, 19_999_000)
    assert 900 <= len(moments) <= 1000
    assert (numbers.max(), numbers.min()) == (9.0, -9.0)
    assert np.all(np.diff(moments) > 0)
    assert abs(moments[int(np.argmax(numbers))] - 12_345_000) <= 40_000  # within its stretch of 40 s


def test_a_silent_sensor_breaks_its_line() -> None:
    moments = np.concatenate([np.arange(0.0, 60.0), np.arange(600.0, 660.0)]) * 60_000
    rows = readings_pictures([Measured("Shelf", "temperature", moments, np.full(120, 250.0), 60_000.0)])[0].spec[
        "datasets"
    ]["rows0"]
    assert [row["value"] for row in rows].count(None) == 1


def test_readings_of_the_same_moment_are_kept_once(dryer: Dryer) -> None:
    channel = channel_for(dryer, "shelf", 0, "logger", "°C")
    assert add_readings(channel, [1000, 2000], [250.0, 251.0]) == 2
    assert add_readings(channel, [2000, 3000, 3000], [999.0, 252.0, 253.0]) == 1
    assert course(channel, 0, 10_000)[1].tolist() == [250.0, 251.0, 252.0]


def test_the_csv_holds_the_span_without_formulas(client: Client, dryer: Dryer) -> None:
    channel = channel_for(dryer, "shelf", 0, "=1+1", "°C", label="+cmd")
    add_readings(channel, [1_772_344_800_000, 1_772_344_860_500], [250.0, 251.25])
    answer = client.get(f"/dryers/{dryer.pk}/readings.csv?span=all")
    rows = list(csv.DictReader(io.StringIO(b"".join(answer.streaming_content).decode())))
    assert [row["at"] for row in rows] == ["2026-03-01T06:00:00.000+00:00", "2026-03-01T06:01:00.500+00:00"]
    assert (rows[1]["value_si"], rows[1]["source"], rows[1]["label"]) == ("251.25", "'=1+1", "'+cmd")


def test_a_channel_gets_a_name_goes_to_the_bin_and_comes_back_with_its_readings(client: Client, dryer: Dryer) -> None:
    channel = measured(dryer, "shelf", [250.0, 251.0])
    client.post(f"/dryers/channels/{channel.pk}/", {"label": "Middle shelf", "version": "1"})
    assert "Middle shelf" in client.get(f"/dryers/{dryer.pk}/readings/").content.decode()
    client.post(f"/dryers/channels/{channel.pk}/bin/")
    assert "Nothing measured yet" in client.get(f"/dryers/{dryer.pk}/readings/").content.decode()
    assert Reading.objects.count() == 2
    measured(dryer, "shelf", [250.0, 251.0, 252.0])
    assert "Middle shelf" in client.get(f"/dryers/{dryer.pk}/readings/").content.decode()


def test_programs_send_readings_and_ask_for_a_span(dryer: Dryer) -> None:
    client, secret = Client(SERVER_NAME="localhost"), new_token("logger", "write")[1]
    header = {"Authorization": f"Bearer {secret}"}

    def post(*readings: dict[str, Any]) -> Any:
        data = json.dumps({"source": "logger 7", "readings": readings})
        address = f"/api/v1/dryers/{dryer.pk}/readings"
        return client.post(address, data, content_type="application/json", headers=header)

    one = {"quantity": "shelf", "at": "2026-03-01T07:00:00+01:00", "value": -4, "unit": "degF"}
    two = {"quantity": "product", "tray": 2, "at": "2026-03-01T06:00:00Z", "value": -30}
    assert post(one, two).json() == {"dryer": dryer.pk, "added": 2, "known": 0}
    assert post(one).json()["known"] == 1
    for wrong, words in ((one | {"value": 900}, "can’t be a shelf temperature"),
                         (one | {"unit": "bar"}, "not a known unit"),
                         (one | {"unit": "Pa"}, "is not a unit of"),
                         (one | {"at": "1850-01-01T00:00:00Z"}, "can’t be a year of this logger")):  # fmt: skip
        answer = post(two | {"at": "2026-03-02T06:00:00Z"}, wrong)
        assert answer.status_code == 422
        assert words in answer.json()["message"]
    assert Reading.objects.count() == 2
    channels = client.get(f"/api/v1/dryers/{dryer.pk}/channels", headers=header).json()["results"]
    shelf = next(row for row in channels if row["quantity"] == "shelf")
    span = {"start": "2026-03-01T00:00:00Z", "end": "2026-03-02T00:00:00Z"}
    found = client.get(f"/api/v1/channels/{shelf['id']}/readings", span, headers=header).json()
    assert found["readings"] == [{"at": "2026-03-01T06:00:00+00:00", "value": pytest.approx(253.15)}]
    assert client.get("/api/v1/dryers", headers=header).json()["results"][0]["name"] == "Bench"


def test_a_backup_brings_back_channels_readings_and_ways(dryer: Dryer, tmp_path: Path) -> None:
    measured(dryer, "shelf", np.linspace(250, 300, 2500).tolist())
    FileWay.objects.create(head="a" * 64, choices={"time": 0})
    records.create(Broker(host="broker.house"))
    LiveSource.objects.create(topic="drystow/bench/shelf", seen_at=START, channel=Channel.objects.get())
    before = [list(model.objects.order_by("pk").values()) for model in (Channel, Reading, FileWay, Broker, LiveSource)]
    file = BytesIO()
    counts = write_backup(file)
    assert counts["readings.reading"] == 2500
    Reading.objects.all().delete()
    with override_settings(DATA_FOLDER=tmp_path, MEDIA_ROOT=tmp_path / "media"):
        restore_backup(BytesIO(file.getvalue()), replace=True)
    after = [list(model.objects.order_by("pk").values()) for model in (Channel, Reading, FileWay, Broker, LiveSource)]
    assert after[1:2] == before[1:2]
    assert after[0] == before[0]
    assert [len(rows) for rows in after] == [len(rows) for rows in before]


def test_evidence_counts_from_when_the_pressure_fell(dryer: Dryer) -> None:
    batch = a_batch(started_at=START, ended_at=START + timedelta(hours=10))
    pressure = [101_325.0] * 120 + [50.0] * 480
    pressure[300] = 90_000.0  # a spike of the sensor
    measured(dryer, "pressure", pressure)
    measured(dryer, "shelf", [300.0] * 600)
    measured(dryer, "product", [250.0] * 600, tray=3)
    measured(dryer, "power", [1000.0] * 600)
    measured(dryer, "shelf", [290.0] * 60, hour=30)  # of the next run
    pressures, probes, powers = evidence_of(batch)
    assert 40 <= len(pressures) <= 60
    assert 0.0 <= pressures[0].time <= 600.0
    assert pressures[-1].time == pytest.approx(8 * 3600, abs=900)
    assert {reading.pressure for reading in pressures} == {50.0}
    assert {(probe.tray, probe.product, probe.shelf) for probe in probes} == {(3, 250.0, 300.0)}
    assert {reading.power for reading in powers} == {1000.0}


def test_without_a_start_and_without_pressure_the_forecast_or_nothing_counts(dryer: Dryer) -> None:
    assert evidence_of(a_batch()) == ((), (), ())
    measured(dryer, "power", [1000.0] * 600)
    batch = a_batch(started_at=START, ended_at=START + timedelta(hours=10), prediction={"drying_start_h": 6.0})
    assert evidence_of(batch)[2][-1].time == pytest.approx(4 * 3600, abs=900)
    assert evidence_of(a_batch(started_at=START)) == ((), (), ())

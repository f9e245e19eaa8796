"""Charts: valid specifications, faithful numbers, readable without colour, drawn without a network."""

import contextlib
import itertools
import json
import re
import threading
from dataclasses import replace
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import Any

import altair
import numpy as np
import pytest
from tools.write_catalogue import read

from drystow.machine.result import EnergyCourse
from drystow.messages import Message, told
from drystow.reports.charts import (
    COLOURS,
    DASHES,
    MOST_POINTS,
    ChartLine,
    chart_svg,
    drying_chart,
    place_signs,
    temperature_chart,
    thin,
)
from drystow.reports.machine_charts import energy_chart, energy_lines, pressure_chart, trap_chart, vapour_chart
from drystow.reports.pictures import load_pictures
from tests.engine.load_by_hand import load_by_hand

RESULT = load_by_hand()
ALL = {
    "drying": drying_chart(RESULT),
    "temperature": temperature_chart(RESULT),
    "pressure": pressure_chart(RESULT),
    "vapour": vapour_chart(RESULT),
    "trap": trap_chart(RESULT),
    "energy": energy_chart(RESULT),
}


def rows(spec: dict[str, Any], layer: int = 0) -> list[dict[str, Any]]:
    part = spec["layer"][layer].get("data", spec.get("data"))
    return list(spec["datasets"][part["name"]])


@pytest.mark.parametrize("name", ALL)
def test_charts_are_valid_by_the_schema_of_vega_lite(name: str) -> None:
    altair.LayerChart.from_dict(ALL[name], validate=True)
    json.dumps(ALL[name], allow_nan=False)


@pytest.mark.parametrize("name", ALL)
def test_charts_become_pictures_that_need_nothing_from_outside(name: str) -> None:
    svg = chart_svg(ALL[name])
    assert svg.startswith("<svg")
    assert "Hours since loading" in svg
    assert not re.findall(r'(?:href|src)="http', svg)


def test_drawing_never_fetches_data_from_an_address() -> None:
    asked = []

    class Listener(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_error(404)

    with HTTPServer(("127.0.0.1", 0), Listener) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        address = f"http://127.0.0.1:{server.server_port}/rows.json"
        layer = {**ALL["trap"]["layer"][0], "data": {"url": address}}
        with contextlib.suppress(ValueError):
            chart_svg({**ALL["trap"], "layer": [layer]})
        server.shutdown()
    assert asked == []


def test_long_series_are_thinned_and_keep_both_ends() -> None:
    time = np.linspace(0.0, 1e5, 12_345)
    few, squares = thin(time, time**2)
    assert len(few) == len(squares) == MOST_POINTS
    assert (few[0], few[-1]) == (0.0, 1e5)
    assert squares == pytest.approx(few**2)
    assert thin(time[:10], time[:10])[0] is not few
    assert len(rows(ALL["drying"])) <= 3 * MOST_POINTS


def test_the_drying_curve_shows_the_water_left_of_the_water_at_the_start() -> None:
    points = [row for row in rows(ALL["drying"]) if row["name"].startswith("1 ")]
    assert points[0]["value"] == pytest.approx(100.0, abs=0.05)
    end = points[-1]
    # blueberries of the load by hand: 0.16 kg solids; water left by definition of the wet basis, of 0.84 kg
    moisture = RESULT.trays[0].moisture[-1]
    assert end["value"] == pytest.approx(100 * 0.16 * moisture / (1 - moisture) / 0.84, abs=1e-3)
    assert end["time_h"] == pytest.approx(34.0)


def test_ice_gone_and_dry_are_marked_on_the_curve() -> None:
    marks = [row for layer in range(len(ALL["drying"]["layer"])) for row in rows(ALL["drying"], layer) if "what" in row]
    assert sorted(mark["time_h"] for mark in marks if mark["what"] == "ice gone") == [22.0, 24.0, 26.0]
    assert sorted(mark["time_h"] for mark in marks if mark["what"] == "dry") == [27.0, 29.0, 31.0]


def test_the_limit_ends_with_the_ice_and_is_in_the_unit_of_the_axis() -> None:
    rules = [row for layer in range(4) for row in rows(temperature_chart(RESULT, "si"), layer) if "end_h" in row]
    first = next(rule for rule in rules if rule["name"] == "1 Blueberries, raw")
    assert first["value"] == pytest.approx(249.0 - 273.15)
    assert (first["start_h"], first["end_h"]) == (8.0, 26.0)
    fahrenheit = [row for row in rows(ALL["temperature"]) if row["name"] == "S Shelf"]
    assert fahrenheit[0]["value"] == pytest.approx(-4.27, abs=0.01)  # 253 K = -20.15 °C


def test_the_trap_fills_towards_what_it_can_hold() -> None:
    spec = trap_chart(RESULT, "si")
    assert rows(spec)[-1]["value"] == pytest.approx(2.1, abs=1e-3)
    assert [row["value"] for row in rows(spec, 1)] == [4.5]  # capacity of the load by hand [kg]


def test_the_pressure_chart_begins_with_the_vacuum_on_a_logarithmic_axis() -> None:
    spec = pressure_chart(RESULT, "si")
    assert max(row["value"] for row in rows(spec)) < 100
    assert spec["layer"][0]["encoding"]["y"]["scale"]["type"] == "log"


def test_the_pressure_at_which_the_heaters_pause_is_a_line_in_the_unit_of_the_axis() -> None:
    micron = [row for row in rows(pressure_chart(RESULT, "us"), 1) if "end_h" in row]
    assert micron[0]["value"] == pytest.approx(120.0 / 0.133322, rel=1e-4)  # NIST SP 811: 1 mTorr is 0.133322 Pa
    without = replace(RESULT, machine=replace(RESULT.machine, pressure_limit=0.0))
    assert len(pressure_chart(without)["layer"]) == 1


def test_the_energy_chart_splits_all_of_it_among_who_uses_it() -> None:
    last = {row["name"][0]: row["value"] for row in rows(ALL["energy"])}  # rows come in the order of time
    assert last["T"] == pytest.approx((9.0 + 32.0 + 21.0) / 3.6, abs=1e-3)  # MJ of the load by hand in kWh
    assert (last["C"], last["P"], last["H"]) == pytest.approx((32 / 3.6, 21 / 3.6, 9 / 3.6), abs=1e-3)


def test_the_letter_at_a_line_is_that_of_its_name_and_stands_once() -> None:
    lines = energy_lines(RESULT)
    assert [(line.mark, str(line.name)) for line in lines] == [
        ("T", "T Total"),
        ("C", "C Compressor"),
        ("P", "P Vacuum pump"),
        ("H", "H Shelf heaters"),
    ]
    spanish = {text: words[0] for text, words in read().items()}
    for line in lines:
        assert told(line.name, lambda text: spanish.get(text, text)).startswith(f"{line.mark} ")


def test_every_picture_says_in_words_what_it_shows() -> None:
    pictures = {picture.name: picture for picture in load_pictures(RESULT, "si")}
    assert list(pictures) == ["drying", "temperature", "pressure", "vapour", "trap", "energy"]
    assert "above 120.0 Pa the heaters pause" in pictures["pressure"].words
    assert "17.2 kWh" in pictures["energy"].words
    assert "the 4.50 kg it can hold" in pictures["trap"].words
    assert all(isinstance(picture.words, Message) for picture in pictures.values())


def test_a_run_at_held_pressure_has_no_pictures_of_the_machine() -> None:
    held = replace(RESULT, energy=EnergyCourse())
    assert [picture.name for picture in load_pictures(held, "us")] == ["drying", "temperature"]


def test_the_text_inside_a_chart_speaks_the_language_of_the_reader() -> None:
    spanish = {"Hours since loading": "Horas", "1,000.5%": "1.000,5 %", "Vapor ({unit})": "Vapor ({unit})"}
    svg = chart_svg(vapour_chart(RESULT, "si"), translate=lambda text: spanish.get(text, text))
    assert "Horas" in svg
    assert "Vapor (kg/h)" in svg
    assert re.search(r">\d,\d+<", svg)
    assert not re.search(r">\d\.\d+<", svg)


def luminance(colour: str) -> float:
    """Relative luminance of WCAG 2 (memory: weights and gamma of sRGB)."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_lines_are_told_apart_without_colour() -> None:
    spec = drying_chart(load_by_hand(5))
    encoding = spec["layer"][0]["encoding"]
    dashes = encoding["strokeDash"]["scale"]["range"]
    assert len({tuple(dash) for dash in dashes}) == 5
    signs = {row["sign"] for layer in range(len(spec["layer"])) for row in rows(spec, layer) if "sign" in row}
    assert signs == {"1", "2", "3", "4", "5"}
    assert len({tuple(dash) for dash in DASHES}) == len(COLOURS) == len(DASHES)


def test_every_line_stands_out_from_white_paper() -> None:
    for colour in COLOURS:  # WCAG 2.1, 1.4.11: graphics need a contrast of 3 to 1
        assert 1.05 / (luminance(colour) + 0.05) >= 3.0, colour


def test_neighbouring_colours_differ_for_red_green_blind_eyes() -> None:
    # Viénot, Brettel and Mollon (1999), reduction to dichromats in linear RGB, deuteranope (memory)
    matrix = np.array([[0.29275, 0.70725, 0.0], [0.29275, 0.70725, 0.0], [-0.02234, 0.02234, 1.0]])
    seen = []
    for colour in COLOURS:
        srgb = np.array([int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)])
        linear = np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)
        reduced = np.clip(matrix @ linear, 0, 1)
        seen.append(np.where(reduced <= 0.0031308, 12.92 * reduced, 1.055 * reduced ** (1 / 2.4) - 0.055) * 255)
    for first, second in itertools.pairwise(seen):
        assert float(np.abs(first - second).max()) > 40


def test_hostile_names_stay_data() -> None:
    trays = (replace(RESULT.trays[0], name='</svg><script>alert("x")</script>'), *RESULT.trays[1:])
    svg = chart_svg(drying_chart(replace(RESULT, trays=trays)))
    assert "<script" not in svg


def test_signs_lie_on_their_lines_and_apart_from_each_other() -> None:
    time = np.linspace(0.0, 100.0, 200)
    lines = [ChartLine(str(n), str(n), time, np.exp(-time / (20.0 + 4 * n)), "#000000", [1]) for n in range(5)]
    signs = place_signs(lines)
    for line, sign in zip(lines, signs, strict=True):
        assert sign["value"] == pytest.approx(float(np.interp(sign["time_h"] * 3600, time, line.values)))
    spots = [(sign["time_h"] * 36, sign["value"]) for sign in signs]  # both from 0 to 1
    assert all(np.hypot(a[0] - b[0], a[1] - b[1]) > 0.08 for a, b in itertools.combinations(spots, 2))

"""The picture of a plan and its sheet: where things stand, that the words fit, and that paper says the same."""

import io
from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from pypdf import PdfReader

from drystow.errors import InputError
from drystow.messages import english
from drystow.reports.charts import chart_svg
from drystow.reports.plan_sheet import PlanSheet, SheetBatch, SheetLot, plan_sheet_pdf
from drystow.reports.schedule_chart import away_of, schedule_pictures, upright_picture
from drystow.reports.schedule_layout import BatchBar, Days, WaitingBar

MONDAY = datetime(2026, 9, 7)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def days(count: int = 7, **values: Any) -> Days:
    bars = tuple(
        BatchBar(
            number + 1,
            number % 2,
            MONDAY + (8 + 30 * number) * HOUR,
            MONDAY + (28 + 30 * number) * HOUR,
            MONDAY + (31 + 30 * number) * HOUR,
            ("Tomatoes", "Green beans"),
            number == 0,
        )
        for number in range(4)
    )
    usual: dict[str, Any] = {
        "begin": MONDAY,
        "end": MONDAY + count * DAY,
        "dryers": ("Bench", "Kitchen"),
        "bars": bars,
        "frozen": (WaitingBar("Chicken", MONDAY + 9 * HOUR, MONDAY + 40 * HOUR),),
        "stops": ((1, MONDAY + 60 * HOUR, MONDAY + 80 * HOUR, "stop"),),
        "now": MONDAY + 12 * HOUR,
    }
    return Days(**(usual | values))


def rows(spec: dict[str, Any], mark: str) -> list[dict[str, Any]]:
    return [row for layer in spec["layer"] if layer["mark"]["type"] == mark for row in layer["data"]["values"]]


def test_nobody_is_there_outside_of_the_hours_that_are_written() -> None:
    weekday, weekend = ((6.5, 8.5), (17.0, 22.0)), ((8.0, 22.0),)
    home = (weekday,) * 5 + (weekend,) * 2
    friday = MONDAY + 4 * DAY
    # by hand, from Friday's midnight to Saturday's noon
    assert away_of(home, friday, friday + 36 * HOUR) == [
        (friday, friday + 6.5 * HOUR),
        (friday + 8.5 * HOUR, friday + 17 * HOUR),
        (friday + 22 * HOUR, friday + 32 * HOUR),
    ]
    assert away_of([[]] * 7, MONDAY, MONDAY + DAY) == [(MONDAY, MONDAY + DAY)]
    assert away_of([[(0.0, 24.0)]] * 7, MONDAY, MONDAY + 3 * DAY) == []


@pytest.mark.parametrize(("count", "parts"), [(1, [1]), (7, [7]), (14, [14]), (15, [8, 7]), (35, [12, 12, 11])])
def test_long_plans_get_several_pictures_of_about_the_same_length(count: int, parts: list[int]) -> None:
    pictures = schedule_pictures(days(count), 900)
    # each picture names its days
    named = [len([row for row in rows(one.spec, "text") if row["words"] in WEEKDAYS]) for one in pictures]
    assert named == parts


WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@pytest.mark.parametrize("down", [False, True])
def test_a_bar_is_as_long_as_its_batch_and_its_empty_part_as_long_as_it_waits(down: bool) -> None:
    drawn = days(frozen=(), stops=(), now=None)
    spec = upright_picture(drawn, 340).spec if down else schedule_pictures(drawn, 900)[0].spec
    by_kind = {
        repr(layer["mark"]): layer["data"]["values"] for layer in spec["layer"] if layer["mark"]["type"] == "rect"
    }
    axis = "y" if down else "x"
    edges = next(found for mark, found in by_kind.items() if "'fillOpacity': 0," in mark)
    waits = next(found for mark, found in by_kind.items() if "white" in mark and "'strokeWidth': 1.5" in mark)
    whole, empty = (box[f"{axis}2"] - box[axis] for box in (edges[0], waits[0]))
    assert empty / whole == pytest.approx(3 / 23, abs=0.005)  # 20 h of drying, then 3 h until somebody comes


def test_a_batch_that_was_made_and_one_that_is_planned_differ_without_colour() -> None:
    spec = schedule_pictures(days(), 900)[0].spec
    dashed = [layer for layer in spec["layer"] if layer["mark"].get("strokeDash")]
    assert sum(len(layer["data"]["values"]) for layer in dashed) == 6  # three planned ones: edge, and empty part


@pytest.mark.parametrize("down", [False, True])
def test_everything_is_inside_of_the_drawing(down: bool) -> None:
    spec = upright_picture(days(), 340).spec if down else schedule_pictures(days(), 900)[0].spec
    for row in (*rows(spec, "rect"), *rows(spec, "text")):
        assert 0 <= row["x"] <= row.get("x2", spec["width"]) <= spec["width"] + 1
        assert 0 <= row["y"] <= row.get("y2", spec["height"]) <= spec["height"] + 1


def test_names_of_dryers_do_not_run_into_each_other_on_a_phone() -> None:
    spec = upright_picture(replace(days(), dryers=("Dryer by the window", "Small dryer")), 340).spec
    first, second = (row for row in rows(spec, "text") if row["words"].startswith(("Dryer", "Small")))
    # bold DejaVu Sans of 12 px, in a browser: 7.4 px a letter
    assert first["x"] + 7.4 * len(first["words"]) <= second["x"]


def test_lines_of_the_freezer_do_not_overlap() -> None:
    frozen = tuple(WaitingBar(f"Lot {n}", MONDAY + n * 10 * HOUR, MONDAY + (n * 10 + 25) * HOUR) for n in range(6))
    spec = schedule_pictures(days(frozen=frozen), 900)[0].spec
    layer = next(one for one in spec["layer"] if one["mark"].get("fill") == "#2f9485")
    by_line: dict[float, list[tuple[float, float]]] = {}
    for box in layer["data"]["values"]:
        by_line.setdefault(box["y"], []).append((box["x"], box["x2"]))
    assert len(by_line) == 3  # by hand: each is still there when the two after it come
    for spans in by_line.values():
        assert all(one[1] <= other[0] for one, other in pairwise(sorted(spans)))


def test_pictures_are_drawn_and_speak_the_readers_language() -> None:
    spanish = {"Mon": "lun", "Freezer": "Congelador"}
    svg = chart_svg(schedule_pictures(days(), 900)[0].spec, translate=lambda text: spanish.get(text, text))
    assert "lun" in svg
    assert "Congelador" in svg
    assert "Kitchen" in svg


def sheet(**values: Any) -> PlanSheet:
    lots = (SheetLot("Tomatoes", 3, 2.7), SheetLot("Chicken # *raw*", 1, 0.9, True))
    usual: dict[str, Any] = {
        "title": "Harvest *week* #1",
        "facts": (("Batches", "1"),),
        "days": days(),
        "batches": (
            SheetBatch(1, "Bench", MONDAY + 8 * HOUR, MONDAY + 28 * HOUR, MONDAY + 31 * HOUR, lots, "260907-1"),
        ),
        "to_freeze": ((MONDAY + 9 * HOUR, 0.9, "Chicken"),),
        "left_out": ((1.5, "Plums: the plan is too short"),),
        "shopping": ((4, "foil pouch"),),
        "cautions": ("wash your hands",),
        "notes": ("times are on a grid of 1 h",),
    }
    return PlanSheet(**(usual | values))


def read(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def test_the_sheet_says_everything_and_takes_no_text_for_markup() -> None:
    text = read(plan_sheet_pdf(sheet(), today=date(2026, 9, 6), units="si", paper="a4"))
    for words in (
        "Harvest *week* #1", "Mon 7 Sep, 08:00", "Tue 8 Sep, 04:00", "Tue 8 Sep, 07:00", "Bench (260907-1)",
        "3 × Tomatoes, 2.70 kg in all", "1 × Chicken # *raw*, 900 g in all, from the freezer",
        "1.50 kg: Plums: the plan is too short.", "4 × foil pouch", "Wash your hands.", "Prepared 6 Sep 2026",
        "Mon 7 Sep, 09:00: 900 g Chicken",
    ):  # fmt: skip
        assert words in text, words


def test_the_sheet_fits_the_paper_and_an_empty_plan_says_so() -> None:
    for paper, size in (("a4", (595, 842)), ("letter", (612, 792))):  # ISO 216; ANSI A
        pdf = plan_sheet_pdf(sheet(), today=date(2026, 9, 6), paper=paper)
        assert [round(float(edge)) for edge in PdfReader(io.BytesIO(pdf)).pages[0].mediabox[2:]] == list(size)
    empty = plan_sheet_pdf(sheet(batches=(), to_freeze=(), left_out=()), today=date(2026, 9, 6), translate=english)
    assert "Nothing planned yet." in read(empty)
    with pytest.raises(InputError, match="write letter or a4"):
        plan_sheet_pdf(sheet(), today=date(2026, 9, 6), paper="a5")

"""Label sheets: geometry and descriptions."""

from dataclasses import replace

import pytest

from drystow.errors import InputError
from drystow.reports.sheets import SHEETS, LabelSheet, roll, sheet_from

INCH = 0.0254  # exact


def test_places_run_along_the_rows_and_on_to_the_next_page() -> None:
    sheet = SHEETS["letter-3x10"]
    assert sheet.place(0) == (0, pytest.approx(0.1875 * INCH), pytest.approx(0.5 * INCH))
    assert sheet.place(2) == (0, pytest.approx(5.6875 * INCH), pytest.approx(0.5 * INCH))
    assert sheet.place(29) == (0, pytest.approx(5.6875 * INCH), pytest.approx(9.5 * INCH))
    assert sheet.place(30) == (1, pytest.approx(0.1875 * INCH), pytest.approx(0.5 * INCH))
    assert replace(sheet, skip=29).place(1)[0] == 1


@pytest.mark.parametrize("name", SHEETS)
def test_named_sheets_lie_centred_on_their_paper(name: str) -> None:
    sheet = SHEETS[name]
    _, left, top = sheet.place(sheet.per_page - 1)
    right_margin = sheet.page_width - (left + sheet.label_width)
    bottom_margin = sheet.page_height - (top + sheet.label_height)
    assert right_margin == pytest.approx(sheet.left, abs=0.0005)
    assert bottom_margin == pytest.approx(sheet.top, abs=0.0005)


def test_a_sheet_can_be_described_in_inches() -> None:
    sheet = sheet_from(
        {
            "paper": "letter", "label_width": "2.625 inch", "label_height": "1 inch", "rows": 10, "columns": 3,
            "left": "3/16 inch", "top": "0.5 inch", "column_gap": "1/8 inch", "skip": "4",
        }
    )  # fmt: skip
    named = replace(SHEETS["letter-3x10"], skip=4)
    assert sheet.place(7) == pytest.approx(named.place(7))
    assert sheet.skip == 4


def test_a_single_label_needs_its_size_only() -> None:
    assert sheet_from({"label_width": "100 mm", "label_height": "50 mm"}) == roll(0.1, 0.05)


def test_a_named_sheet_can_be_begun_later() -> None:
    assert sheet_from({"sheet": "A4-3x8", "skip": 5}) == replace(SHEETS["a4-3x8"], skip=5)


@pytest.mark.parametrize(
    ("table", "field", "words"),
    [
        ({"sheet": "a4-3x9"}, "sheet.sheet", "closest: 'a4-3x8'"),
        ({"sheet": "a4-3x8", "rows": 3}, "sheet.rows", "leave out one of the two"),
        ({"sheet": "a4-3x8", "skip": 24}, "sheet.skip", "so 0 to 23"),
        ({"sheet": "a4-3x8", "skip": -1}, "sheet.skip", "whole number"),
        ({"colour": "red"}, "sheet.colour", "field of a label sheet"),
        ({"label_width": "70 mm"}, "sheet.label_height", "is missing"),
        ({"label_width": 70, "label_height": "37 mm"}, "sheet.label_width", "has no unit"),
        ({"label_width": "70 mm", "label_height": "37 mm", "rows": 8}, "sheet.paper", "is missing"),
        ({"label_width": "70 mm", "label_height": "37 mm", "rows": 9, "paper": "a4"}, "sheet.label_height", "333 mm"),
        ({"label_width": "70 mm", "label_height": "37 mm", "rows": 0, "paper": "a4"}, "sheet.rows", "1 to 100"),
        ({"label_width": "70 mm", "label_height": "1 mm"}, "sheet.page_height", "5 mm to 2 m"),
        (
            {"label_width": "70 mm", "label_height": "37 mm", "paper": "foolscap"},
            "sheet.paper",
            "there is no paper called",
        ),
        ({"label_width": "70 mm", "label_height": "37 mm", "left": "-1 mm"}, "sheet.left", "0 mm or more"),
    ],
)
def test_wrong_descriptions_are_refused_in_words(table: dict[str, object], field: str, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        sheet_from(table)
    assert caught.value.field == field


def test_labels_wider_than_the_page_are_refused() -> None:
    with pytest.raises(InputError, match="page is 210 mm wide"):
        LabelSheet(0.210, 0.297, 0.0711, 0.037, rows=8, columns=3)

"""The batch sheet as a PDF."""

from dataclasses import replace
from datetime import date, datetime
from typing import Any

import numpy as np
import pytest

from drystow.errors import InputError
from drystow.reports.batch_sheet import batch_sheet_pdf
from drystow.sources import cite
from tests.engine.load_by_hand import load_by_hand
from tests.engine.pdf_reading import fonts, page_sizes, page_texts

RESULT = load_by_hand()
DAY = date(2027, 3, 12)
PROGRAM = ("-10 °C for 2 h", "40 °C until dry")


def sheet(result: Any = RESULT, **options: Any) -> bytes:
    return batch_sheet_pdf(result, prepared_on=DAY, **options)


def test_the_sheet_tells_load_program_course_limits_notes_and_sources() -> None:
    pdf = sheet(program=PROGRAM, dryer="bench-4", start=datetime(2027, 3, 12, 20, 0), certainty=("Likely 28 to 40 h.",))
    texts = page_texts(pdf)
    assert len(texts) == 2
    text = " ".join(texts)
    for words in (
        "Alder Lane, Friday load",
        "Prepared Mar 12, 2027",
        "bench-4",
        "-10 °C for 2 h",
        "Blueberries, raw 2.2 lb 1.9 lb",  # 1 kg and 0.84 kg in pounds
        "Watch out: Blueberries, raw came within 1 K of its limit",
        "34 h (Sun 6:00 am)",
        "Likely 28 to 40 h.",
        *RESULT.notes,
        *(f"Tray {number}: {tray.notes[0]}" for number, tray in enumerate(RESULT.trays, start=1)),
        "shelf heaters 2.5 kWh, compressor 8.9 kWh, vacuum pump 5.8 kWh; total 17.2 kWh",  # J / 3.6e6
        "Freeze-drying does not kill germs",
        "Weighings",
    ):
        assert words in text, words
    for key in RESULT.sources:
        assert cite(key).text[:40] in text
    assert [f"Page {number} of 2" in words for number, words in enumerate(texts, 1)] == [True, True]


def test_a_front_over_its_limit_is_called_so() -> None:
    # warmest ice 250 K (-9.7 °F), limits 249 (-11.5 °F), 263 and 258 K
    text = " ".join(page_texts(sheet()))
    assert "Over the limit: tray 1, Blueberries, raw; ice as warm as −10 °F, limit −11 °F." in text
    assert text.count("Over the limit") == 1


def test_a_note_that_several_trays_share_is_said_once() -> None:
    trays = tuple(replace(tray, notes=("the limit is a guess",)) for tray in RESULT.trays)
    assert "Every tray: The limit is a guess." in " ".join(page_texts(sheet(replace(RESULT, trays=trays))))
    text = " ".join(page_texts(sheet(replace(RESULT, trays=(RESULT.trays[0], *trays[1:])))))
    assert "Tray 2, 3: The limit is a guess." in text


def test_charts_are_drawn_with_words_that_can_be_searched() -> None:
    text = page_texts(sheet())[0]
    assert "Water left (% of starting water)" in text
    assert all(name.startswith(("LibertinusSerif", "DejaVuSansMono")) for name in fonts(sheet()))


def test_a_result_without_series_has_no_charts() -> None:
    bare = replace(RESULT, time=np.empty(0))
    assert "Moisture left" not in " ".join(page_texts(sheet(bare)))


def test_metric_sheets_on_a4_have_no_pounds() -> None:
    pdf = sheet(units="si", paper="a4")
    assert page_sizes(pdf)[0] == pytest.approx((0.210, 0.297), abs=1e-4)
    text = " ".join(page_texts(pdf))
    assert "1.00 kg 840 g" in text
    assert " lb" not in text


def test_hostile_names_are_printed_and_not_obeyed() -> None:
    name = '#panic("x") *b* $y$ @z <w> </svg>'
    trays = (replace(RESULT.trays[0], name=name, notes=(name,)), *RESULT.trays[1:])
    text = " ".join(page_texts(sheet(replace(RESULT, trays=trays), title=name)))
    assert text.count('#panic("x") *b* $y$ @z') >= 4


def test_many_trays_run_over_pages_and_every_page_is_numbered() -> None:
    many = enumerate(RESULT.trays * 8, start=1)
    crowd = replace(RESULT, trays=tuple(replace(tray, tray=number) for number, tray in many))
    texts = page_texts(sheet(crowd))
    assert all(f"Page {number} of {len(texts)}" in text for number, text in enumerate(texts, 1))
    assert "Tray 24" in " ".join(texts)


@pytest.mark.parametrize(("option", "words"), [({"units": "uk"}, "us or si"), ({"paper": "a3"}, "letter or a4")])
def test_unknown_options_are_refused_in_words(option: dict[str, str], words: str) -> None:
    with pytest.raises(InputError, match=words):
        sheet(**option)

"""The codes on labels, read back by an independent decoder (zxing-cpp) from the picture of the page."""

from dataclasses import replace
from datetime import date

import pytest
import zxingcpp

from drystow.errors import InputError
from drystow.reports.codes import GS1_CHARACTERS, check_gtin, gs1_code, gs1_elements, lot_code
from drystow.reports.labels import Label, label_pdf
from drystow.reports.sheets import SHEETS
from tests.engine.pdf_reading import codes, page_texts

SOLD = Label(
    food="Peas",
    packed_on=date(2027, 3, 12),
    lot="A0312-2",
    net_mass=0.0907,
    best_before=date(2032, 3, 9),
    best_before_basis="planning estimate",
    gs1=True,
)


def test_a_plain_code_carries_the_lot() -> None:
    (code,) = codes(label_pdf([replace(SOLD, gs1=False)], SHEETS["roll-100x50"]))
    assert (code.text, code.symbology_identifier) == ("A0312-2", "]Q1")


def test_a_web_prefix_comes_before_the_percent_encoded_lot() -> None:
    label = replace(SOLD, gs1=False, lot="Ä 7/b", qr_prefix="https://alder-lane.example/lot/")
    (code,) = codes(label_pdf([label], SHEETS["roll-100x50"]))
    assert code.text == "https://alder-lane.example/lot/%C3%84%207%2Fb"  # RFC 3986


def test_a_gs1_code_is_known_as_gs1_and_carries_the_application_identifiers() -> None:
    pdf = label_pdf([SOLD], SHEETS["roll-100x50"])
    (code,) = codes(pdf)
    # GS1 General Specifications: ]Q3 is the symbology identifier of a GS1 QR code; 13 packaging date, 15 best before,
    # both YYMMDD; 3103 net weight with three decimals of a kilogram; 10 lot (memory)
    assert code.symbology_identifier == "]Q3"
    assert code.content_type == zxingcpp.ContentType.GS1
    assert code.bytes == b"1327031215320309310300009110A0312-2"
    assert "(13)270312 (15)320309 (3103)000091 (10)A0312-2" in page_texts(pdf)[0]


def test_an_article_number_leads_the_gs1_code() -> None:
    # 09506000134352 is the example number in GS1's own publications (memory)
    (code,) = codes(label_pdf([replace(SOLD, gtin="09506000134352")], SHEETS["roll-100x50"]))
    assert code.text.startswith("(01)09506000134352(13)270312")


def test_every_character_of_the_gs1_set_survives() -> None:
    characters = "".join(sorted(GS1_CHARACTERS))
    assert len(characters) == 82
    for start in range(0, 82, 20):
        lot = characters[start : start + 20]
        (code,) = codes(label_pdf([replace(SOLD, lot=lot)], SHEETS["roll-100x50"]))
        assert code.bytes.decode().endswith("10" + lot)


@pytest.mark.parametrize("mask", [None, 0, 1, 2, 3, 4, 5, 6, 7])
def test_every_mask_can_be_read(mask: int | None) -> None:
    import numpy as np

    elements = gs1_elements(lot="A7", packed_on=date(2027, 3, 12), best_before=None, net_mass=0.25)
    for rows, content in ((lot_code("A7", mask=mask), "A7"), (gs1_code(elements, mask), None)):
        dark = np.array([list(row) for row in rows], dtype=np.uint8)
        picture = np.kron(np.pad(255 * (1 - dark), 4, constant_values=255), np.ones((6, 6))).astype(np.uint8)
        (code,) = zxingcpp.read_barcodes(picture)
        assert code.text == (content or "(13)270312(3103)000250(10)A7")


@pytest.mark.parametrize("sheet", ["letter-3x10", "a4-3x8"])
def test_codes_on_the_smallest_sheets_can_be_read_from_a_300_dpi_print(sheet: str) -> None:
    pdf = label_pdf([replace(SOLD, gtin="09506000134352")] * 3, SHEETS[sheet])
    assert len(codes(pdf, scale=300 / 72)) == 3


def test_numbers_with_a_wrong_check_digit_are_refused() -> None:
    check_gtin("09506000134352")
    check_gtin("00012345678905")  # the textbook UPC-A number 0 12345 67890 5, padded
    with pytest.raises(InputError, match="its check digit is 5"):
        check_gtin("00012345678904")


@pytest.mark.parametrize("mass", [0.0001, 1000.0])
def test_weights_that_gs1_cannot_write_are_refused(mass: float) -> None:
    with pytest.raises(InputError, match=r"0\.001 to 999\.999 kg"):
        gs1_elements(lot="A", packed_on=date(2027, 1, 1), best_before=None, net_mass=mass)


def test_an_endless_web_prefix_is_refused() -> None:
    with pytest.raises(InputError, match="shorter address"):
        lot_code("A", "https://alder-lane.example/" + "x" * 3000)

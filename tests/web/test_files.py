"""Files to take along."""

import tomllib
from io import BytesIO

import pypdf
from django.test import Client

from drystow.web.site.demo import DemoLoad


def test_the_load_file_can_be_downloaded_and_simulated(client: Client, demo: DemoLoad) -> None:
    from drystow.machine.loadfile import parse_load

    answer = client.get("/load.toml")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="alder-lane-load.toml"'
    load = parse_load(tomllib.loads(answer.content.decode()))
    assert [item.food.name for item in load.items] == [item.food.name for item in demo.load.items]


def test_the_batch_sheet_is_a_pdf_with_every_tray(client: Client, demo: DemoLoad) -> None:
    answer = client.get("/sheet.pdf")
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    pages = pypdf.PdfReader(BytesIO(answer.content)).pages
    words = " ".join("".join(page.extract_text() for page in pages).split())
    for tray in demo.result.trays:
        assert tray.name.split(",")[0] in words


def test_the_batch_sheet_follows_the_units(client: Client, demo: DemoLoad) -> None:
    for units, width in (("us", 612.0), ("si", 595.28)):  # letter (8.5 inch) and A4 (210 mm, ISO 216) in points
        sheet = pypdf.PdfReader(BytesIO(client.get(f"/sheet.pdf?units={units}").content))
        assert abs(float(sheet.pages[0].mediabox.width) - width) < 0.5

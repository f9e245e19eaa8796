"""The label sheet of the kitchen."""

import re
from io import BytesIO

from django.test import Client
from pypdf import PdfReader

from drystow.web.kit import records
from tests.web.batch_rows import a_batch
from tests.web.pantry_rows import package, place

A4 = {
    "paper": "a4", "columns": "2", "rows": "4", "label_width": "96 mm", "label_height": "60 mm", "left": "8 mm",
    "top": "20 mm", "column_gap": "2 mm", "row_gap": "5 mm", "corner": "2 mm", "version": "1",
}  # fmt: skip


def keep(client: Client, page: str = "/settings/label-sheet/?units=si", **changes: str) -> str:
    return client.post(page, A4 | changes, follow=True).content.decode()


def test_an_own_sheet_is_kept_and_drawn_to_scale(client: Client) -> None:
    html = keep(client)
    assert "Sheet saved" in html
    assert 'viewBox="0 0 210.00 297.00"' in html  # A4 (ISO 216)
    stickers = re.findall(r'class="sticker" x="([0-9.]+)" y="([0-9.]+)" width="96.00" height="60.00" rx="2.00"', html)
    assert stickers[0] == ("8.00", "20.00")
    assert stickers[-1] == ("106.00", "215.00")  # 8 + 98 and 20 + 3 x 65 mm
    assert len(stickers) == 8
    assert records.kitchen().label_sheet == "own"


def test_looking_keeps_nothing(client: Client) -> None:
    html = keep(client, page="/settings/label-sheet/look/?units=si")
    assert html.count('class="sticker"') == 8
    assert records.kitchen().own_sheet == {}


def test_a_sheet_that_does_not_fit_its_paper_is_told_beside_the_field(client: Client) -> None:
    html = keep(client, columns="3")
    assert 'id="id_label_width_error"' in html
    assert "the page is 210 mm wide" in html
    assert 'class="sticker"' not in html
    assert records.kitchen().own_sheet == {}
    assert 'id="id_page_width_error"' in keep(client, paper="own")


def test_labels_are_printed_on_the_own_sheet_from_the_first_free_label(client: Client) -> None:
    batch, cellar = a_batch(stage="labels"), place()
    for _ in range(3):
        package(cellar, batch=batch)
    address = f"/batches/{batch.pk}/labels.pdf?gs1="
    assert "our own sheet" not in client.get(f"/batches/{batch.pk}/labels/").content.decode()
    keep(client)
    html = client.get(f"/batches/{batch.pk}/labels/").content.decode()
    assert 'value="own" selected' in html
    pages = PdfReader(BytesIO(client.get(f"{address}&sheet=own&skip=6").content)).pages
    assert len(pages) == 2  # two labels were left on the first sheet
    assert abs(float(pages[0].mediabox.width) - 210 / 25.4 * 72) < 0.5
    assert "0 to 7 of them" in client.get(f"{address}&sheet=own&skip=8").content.decode()

"""Reading finished PDFs with independent libraries: pypdf for text, pypdfium2 and zxing-cpp for the codes."""

import io
from typing import Any

import numpy as np
import pypdf
import pypdfium2
import zxingcpp

POINTS_PER_METRE = 72 / 0.0254


def page_texts(pdf: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


def page_sizes(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height of every page [m]."""
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return [
        (float(page.mediabox.width) / POINTS_PER_METRE, float(page.mediabox.height) / POINTS_PER_METRE)
        for page in pages
    ]


def text_places(pdf: bytes, words: str, page: int = 0) -> list[tuple[float, float]]:
    """Left edge and top edge [m, from the page's top left corner] of every occurrence of `words`."""
    document = pypdfium2.PdfDocument(pdf)
    sheet = document[page]
    text = sheet.get_textpage()
    search = text.search(words)
    places = []
    while (hit := search.get_next()) is not None:
        left, _, _, top = text.get_charbox(hit[0])
        places.append((left / POINTS_PER_METRE, (sheet.get_height() - top) / POINTS_PER_METRE))
    return places


def codes(pdf: bytes, page: int = 0, scale: float = 4.0) -> list[Any]:
    """Every code on a page, decoded from its picture."""
    picture = pypdfium2.PdfDocument(pdf)[page].render(scale=scale, grayscale=True).to_numpy()
    return list(zxingcpp.read_barcodes(np.ascontiguousarray(picture.squeeze())))


def fonts(pdf: bytes) -> set[str]:
    """Names of the embedded fonts, without their subset prefix."""
    names = set()
    for page in pypdf.PdfReader(io.BytesIO(pdf)).pages:
        resources: Any = page["/Resources"]
        for font in resources.get("/Font", {}).values():
            names.add(str(font.get_object()["/BaseFont"]).split("+")[-1].lstrip("/"))
    return names

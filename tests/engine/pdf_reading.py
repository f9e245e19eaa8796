"""Reading finished PDFs with independent libraries: pypdf for text, pypdfium2 and zxing-cpp for the codes."""

import io
import unicodedata
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


def cell_texts(pdf: bytes, cells: list[tuple[int, float, float]], width: float, height: float) -> list[str]:
    """The letters inside every cell without spaces; none may lie outside all cells, over an edge or on a code.

    cells: (page, left, top) of each [m]
    width, height: of a cell [m]
    """
    document = pypdfium2.PdfDocument(pdf)
    texts = [""] * len(cells)
    for number, sheet in enumerate(document):
        page = sheet.get_textpage()
        squares = [_edges(code) for code in codes(pdf, number)]
        for place in range(page.count_chars()):
            letter = unicodedata.normalize("NFKC", page.get_text_range(place, 1)).strip()
            if not letter:
                continue
            left, bottom, right, top = (edge / POINTS_PER_METRE for edge in page.get_charbox(place))
            box = (
                left,
                sheet.get_height() / POINTS_PER_METRE - top,
                right,
                sheet.get_height() / POINTS_PER_METRE - bottom,
            )
            inside = [
                index
                for index, (on, x, y) in enumerate(cells)
                if on == number and x < box[0] and box[2] < x + width and y < box[1] and box[3] < y + height
            ]
            assert len(inside) == 1, f"{letter!r} at {box} lies in {len(inside)} labels"
            assert not any(_meet(box, square) for square in squares), f"{letter!r} at {box} lies on a code"
            texts[inside[0]] += letter
    return texts


def _edges(code: Any, scale: float = 4.0) -> tuple[float, float, float, float]:
    corners = [getattr(code.position, name) for name in ("top_left", "top_right", "bottom_left", "bottom_right")]
    across, down = [point.x for point in corners], [point.y for point in corners]
    return tuple(value / scale / POINTS_PER_METRE for value in (min(across), min(down), max(across), max(down)))


def _meet(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]

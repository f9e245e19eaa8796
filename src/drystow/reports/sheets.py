"""Sheets and rolls of labels: where each label lies on the page."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from drystow.errors import InputError, unknown
from drystow.figures import typed
from drystow.messages import msg, msg_many
from drystow.shown import quantity, show
from drystow.units import parse

PAPER_NAMES = {"letter": msg("US Letter"), "a4": msg("A4")}
PAPERS = {"letter": (0.2159, 0.2794), "a4": (0.210, 0.297)}
"""Width and height of a page [m]. Source: definition (8.5 x 11 inch; ISO 216)."""

_MARGIN_OF_ERROR = 1e-4  # 0.1 mm: sheets are described with rounded numbers


@dataclass(frozen=True)
class LabelSheet:
    """A page with labels in rows and columns, or a roll with one label per page.

    page_width: paper [m]
    page_height: paper [m]
    label_width: one label [m]
    label_height: one label [m]
    rows: labels down the page
    columns: labels across the page
    left: from the page's left edge to the first label [m]
    top: from the page's top edge to the first label [m]
    column_gap: between neighbours across [m]
    row_gap: between neighbours down [m]
    skip: labels at the start of the first page that are already used
    """

    page_width: float
    page_height: float
    label_width: float
    label_height: float
    rows: int = 1
    columns: int = 1
    left: float = 0.0
    top: float = 0.0
    column_gap: float = 0.0
    row_gap: float = 0.0
    skip: int = 0

    def __post_init__(self) -> None:
        for name in ("rows", "columns"):
            if not 1 <= getattr(self, name) <= 100:
                raise InputError(
                    name,
                    msg(
                        "{count} is not allowed; a sheet has 1 to 100 rows"
                        if name == "rows"
                        else "{count} is not allowed; a sheet has 1 to 100 columns",
                        count=getattr(self, name),
                    ),
                )
        for name in ("page_width", "page_height", "label_width", "label_height"):
            if not 0.005 <= getattr(self, name) <= 2.0:
                raise InputError(
                    name,
                    msg("{length} is not allowed; write a length from 5 mm to 2 m", length=_mm(getattr(self, name))),
                )
        for name in ("left", "top", "column_gap", "row_gap"):
            if not 0.0 <= getattr(self, name) <= 2.0:
                raise InputError(
                    name, msg("{length} is not allowed; write 0 mm or more", length=_mm(getattr(self, name)))
                )
        if not 0 <= self.skip < self.per_page:
            raise InputError(
                "skip",
                msg(
                    "{skip} is not allowed; the sheet takes {places}, so 0 to {most} of them can be used already",
                    skip=self.skip,
                    places=self.per_page,
                    most=self.per_page - 1,
                ),
            )
        self._check_fit("label_width", True, self.columns, self.label_width, self.column_gap, self.left,
                        self.page_width)  # fmt: skip
        self._check_fit("label_height", False, self.rows, self.label_height, self.row_gap, self.top,
                        self.page_height)  # fmt: skip

    def _check_fit(
        self, name: str, across: bool, count: int, size: float, gap: float, margin: float, page: float
    ) -> None:
        needed = margin + count * size + (count - 1) * gap
        if needed > page + _MARGIN_OF_ERROR:
            numbers = {"count": count, "size": _mm(size), "needed": _mm(needed), "page": _mm(page)}
            raise InputError(
                name,
                msg(
                    "{count} × {size} with margin and gaps need {needed}, but the page is {page} wide;"
                    " check margin, gap and count"
                    if across
                    else "{count} × {size} with margin and gaps need {needed}, but the page is {page} high;"
                    " check margin, gap and count",
                    **numbers,
                ),
            )

    @property
    def words(self) -> str:
        """The paper, how many labels are on it and how large one is, such as a person finds it on the pack."""
        size = msg("{width} × {height}", width=quantity(self.label_width, "length"),
                   height=quantity(self.label_height, "length"))  # fmt: skip
        papers = [PAPER_NAMES[name] for name, paper in PAPERS.items() if paper == (self.page_width, self.page_height)]
        if self.per_page == 1:
            return msg("roll, one label of {size} after the other", size=size)
        paper = papers[0] if papers else msg("another size")
        return msg_many("{paper}, {count} label of {size}", "{paper}, {count} labels of {size}", self.per_page,
                        paper=paper, size=size)  # fmt: skip

    @property
    def per_page(self) -> int:
        """Labels on a full page."""
        return self.rows * self.columns

    def place(self, number: int) -> tuple[int, float, float]:
        """Return page (from 0) and left and top edge [m] of the label with this number (from 0, after the skipped)."""
        page, slot = divmod(number + self.skip, self.per_page)
        row, column = divmod(slot, self.columns)
        return (
            page,
            self.left + column * (self.label_width + self.column_gap),
            self.top + row * (self.label_height + self.row_gap),
        )


def _mm(length: float) -> str:
    return show(length, "length", "si") if length >= 0.0005 or length == 0 else f"{typed(length * 1000, 6)} mm"


def roll(width: float, height: float) -> LabelSheet:
    """Return single labels, one per page, for a roll printer; width and height [m]."""
    return LabelSheet(width, height, width, height)


INCH = 0.0254
SHEETS = {
    "letter-3x10": LabelSheet(*PAPERS["letter"], 2.625 * INCH, INCH, 10, 3, 0.1875 * INCH, 0.5 * INCH, 0.125 * INCH),
    "letter-2x5": LabelSheet(*PAPERS["letter"], 4 * INCH, 2 * INCH, 5, 2, 0.15625 * INCH, 0.5 * INCH, 0.1875 * INCH),
    "a4-3x8": LabelSheet(*PAPERS["a4"], 0.070, 0.037, 8, 3, 0.0, 0.0005),
    "a4-2x7": LabelSheet(*PAPERS["a4"], 0.0991, 0.0381, 7, 2, 0.0046, 0.0151, 0.0026),
    "roll-100x50": roll(0.100, 0.050),
    "roll-4x2": roll(4 * INCH, 2 * INCH),
}
"""Common sheets by name. Source: common practice; measure your own sheet before printing a stack."""

_LENGTHS = ("label_width", "label_height", "left", "top", "column_gap", "row_gap")
_FIELDS = {"sheet", "paper", "page_width", "page_height", "rows", "columns", "skip", *_LENGTHS}


def sheet_from(table: Mapping[str, object], field: str = "sheet") -> LabelSheet:
    """Return the sheet that a person describes.

    table: either ``sheet`` (a name of `SHEETS`) or its own numbers as text in mm or inch (``label_width``,
        ``label_height``, and for a page ``paper`` or ``page_width`` and ``page_height``, ``rows``, ``columns``,
        ``left``, ``top``, ``column_gap``, ``row_gap``); ``skip`` in both cases
    field: where the table stands, for error messages
    """
    try:
        return _sheet(table)
    except InputError as problem:
        raise problem.under(field) from None


def _sheet(table: Mapping[str, object]) -> LabelSheet:
    from dataclasses import replace

    for key in table:
        if key not in _FIELDS:
            raise unknown(key, key, sorted(_FIELDS), msg("field of a label sheet"))
    skip = _count(table.get("skip", 0), "skip")
    if "sheet" in table:
        name = str(table["sheet"]).lower()
        if name not in SHEETS:
            raise unknown("sheet", name, SHEETS, msg("label sheet"))
        if extra := set(table) - {"sheet", "skip"}:
            raise InputError(min(extra), msg("the sheet '{name}' already has it; leave out one of the two", name=name))
        return replace(SHEETS[name], skip=skip)
    sizes: dict[str, Any] = {key: parse(table[key], "length", key) for key in _LENGTHS if key in table}
    for key in ("label_width", "label_height"):
        if key not in sizes:
            raise InputError(
                key,
                msg("is missing; write for example '70 mm', or sheet = one of {names}", names=", ".join(SHEETS)),
            )
    sizes |= {key: _count(table[key], key) for key in ("rows", "columns") if key in table}
    width, height = _page(table, sizes)
    return LabelSheet(width, height, skip=skip, **sizes)


def _page(table: Mapping[str, object], sizes: Mapping[str, Any]) -> tuple[float, float]:
    if "paper" in table:
        name = str(table["paper"]).lower()
        if name not in PAPERS:
            raise unknown("paper", name, PAPERS, msg("paper"))
        return PAPERS[name]
    if "page_width" in table or "page_height" in table:
        pages = [parse(table.get(key), "length", key) for key in ("page_width", "page_height")]
        return pages[0], pages[1]
    if sizes.get("rows", 1) * sizes.get("columns", 1) > 1:
        raise InputError("paper", msg("is missing; write 'letter' or 'a4', or page_width and page_height"))
    return (
        sizes["label_width"] + 2 * sizes.get("left", 0.0),
        sizes["label_height"] + 2 * sizes.get("top", 0.0),
    )


def _count(value: object, field: str) -> int:
    text = str(value).strip()
    if isinstance(value, bool) or not (text.isascii() and text.isdigit() and len(text) < 5):
        raise InputError(field, msg("{given} is not a count; write a whole number such as 3", given=repr(value)))
    return int(text)

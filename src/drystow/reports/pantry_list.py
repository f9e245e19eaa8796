"""The stock of a pantry as a list on paper, place by place."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from drystow.errors import InputError
from drystow.reports.text import date_text, mass_text, plain
from drystow.reports.typeset import typeset

MOST_ROWS = 5000


@dataclass(frozen=True)
class ListRow:
    """One package on the list.

    food: name of the food
    lot: lot number
    code: of the package
    left: food in it [kg]
    packed_on: day it was packed
    best_before: day until which it should be good, or None
    opened: it is open
    raw_animal: raw meat, fish, egg or milk
    """

    food: str
    lot: str
    code: str
    left: float
    packed_on: date
    best_before: date | None = None
    opened: bool = False
    raw_animal: bool = False


@dataclass(frozen=True)
class ListGroup:
    """The packages of one place.

    place: its name
    rows: its packages, in the order of printing
    """

    place: str
    rows: tuple[ListRow, ...]

    @property
    def mass(self) -> float:
        """Food in this place [kg]."""
        return sum(row.left for row in self.rows)


def pantry_list_pdf(
    title: str, groups: Sequence[ListGroup], *, today: date, units: str = "us", paper: str = "letter"
) -> bytes:
    """Return the list as a PDF, with a box to tick beside every package.

    title: of the list, such as the name of the kitchen
    groups: places in the order of printing
    today: day of the list; what is past its date is marked
    units: ``us`` or ``si``
    paper: ``letter`` or ``a4``
    """
    if units not in ("us", "si"):
        raise InputError("units", f"'{units}' is not a unit system; write us or si")
    if paper not in ("letter", "a4"):
        raise InputError("paper", f"'{paper}' is not a paper; write letter or a4")
    if sum(len(group.rows) for group in groups) > MOST_ROWS:
        raise InputError("groups", f"more than {MOST_ROWS} packages cannot be listed at once; print place by place")
    return typeset(
        "pantry_list.typ",
        {
            "paper": "us-letter" if paper == "letter" else "a4",
            "title": plain(title, 90) or "Pantry",
            "prepared": date_text(today, units),
            "groups": [
                {
                    "place": plain(group.place, 80),
                    "sum": f"{len(group.rows)} packages, {mass_text(group.mass, units)}"
                    if len(group.rows) != 1
                    else f"1 package, {mass_text(group.mass, units)}",
                    "rows": [_cells(row, today, units) for row in group.rows],
                }
                for group in groups
            ],
        },
    )


def _cells(row: ListRow, today: date, units: str) -> list[str]:
    remarks = ["open"] * row.opened + ["RAW – COOK"] * row.raw_animal
    if row.best_before and row.best_before < today:
        remarks.insert(0, "past its date")
    return [
        plain(row.food, 80),
        plain(row.lot, 40),
        plain(row.code, 20),
        mass_text(row.left, units),
        date_text(row.packed_on, units),
        date_text(row.best_before, units) if row.best_before else "–",
        ", ".join(remarks),
    ]

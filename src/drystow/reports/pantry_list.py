"""The stock of a pantry as a list on paper, place by place."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from drystow.days import day_text
from drystow.errors import InputError
from drystow.foods.marks import raw_line
from drystow.messages import Reader, Translate, english, msg, msg_many, told
from drystow.reports.pictures import printed
from drystow.reports.season_chart import stock_pictures
from drystow.reports.text import mass_text, plain
from drystow.reports.typeset import paper_name, typeset, words_of

MOST_ROWS = 5000
CHART_SIZE = {"width": 300, "height": 110}  # px, for two charts side by side
WORDS = (
    msg("en"), msg("Pantry"), msg("Nothing in stock."), msg("Food"), msg("Lot"), msg("Code"), msg("Left"),
    msg("Packed"), msg("Best before"), msg("Page {page} of {count}", page="{page}", count="{count}"),
)  # fmt: skip
"""What the template says itself; ``en`` is the code of the language, for screen readers."""


@dataclass(frozen=True)
class ListRow:
    """One package on the list.

    food: name of the food
    lot: lot number
    code: of the package
    left: food in it [kg]
    packed_on: day it was packed
    best_before: day until which it should be good, or None
    check: that day is one to check it, as no study tells how long it keeps
    opened: it is open
    raw_animal: raw meat, fish, egg or milk; None: nobody has stated it
    """

    food: str
    lot: str
    code: str
    left: float
    packed_on: date
    best_before: date | None = None
    check: bool = False
    opened: bool = False
    raw_animal: bool | None = None


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
    title: str,
    groups: Sequence[ListGroup],
    *,
    today: date,
    course: Sequence[tuple[date, int, float]] = (),
    units: str = "us",
    paper: str = "letter",
    translate: Translate = english,
) -> bytes:
    """Return the list as a PDF, with a box to tick beside every package.

    title: of the list, such as the name of the kitchen
    groups: places in the order of printing
    today: day of the list; what is past its date is marked
    course: day, packages and mass of food in stock over time [kg]; fewer than two make no picture
    units: ``us`` or ``si``
    paper: ``letter`` or ``a4``
    translate: to the reader's language
    """
    reader = Reader.of(translate, units)
    page = paper_name(units, paper)
    if sum(len(group.rows) for group in groups) > MOST_ROWS:
        raise InputError(
            "groups", msg("more than {most} packages can't be listed at once; print place by place", most=MOST_ROWS)
        )
    return typeset(
        "pantry_list.typ",
        {
            "paper": page,
            "words": words_of(WORDS, reader),
            "title": plain(title, 90) or told("Pantry", reader),
            "prepared": told(msg("Pantry on {day}", day=day_text(today)), reader),
            "charts": [
                printed(picture, CHART_SIZE, reader)
                for picture in (stock_pictures(course, units) if len(course) > 1 else ())
            ],
            "groups": [
                {
                    "place": plain(group.place, 80),
                    "sum": told(_sum(group, units), reader),
                    "rows": [_cells(row, today, units, reader) for row in group.rows],
                }
                for group in groups
            ],
        },
    )


def _sum(group: ListGroup, units: str) -> str:
    mass = mass_text(group.mass, units)
    return msg_many("{count} package, {mass}", "{count} packages, {mass}", len(group.rows), mass=mass)


def _cells(row: ListRow, today: date, units: str, translate: Translate) -> list[str]:
    remarks: list[str] = [msg("open")] * row.opened
    if line := raw_line(row.raw_animal):
        remarks.append(line)
    if row.check and row.best_before:
        remarks.insert(0, msg("check by its date"))
    if row.best_before and row.best_before < today:
        remarks.insert(0, msg("past its date"))
    return [
        plain(row.food, 80),
        plain(row.lot, 40),
        plain(row.code, 20),
        told(mass_text(row.left, units), translate),
        told(day_text(row.packed_on), translate),
        told(day_text(row.best_before), translate) if row.best_before else "–",
        ", ".join(told(remark, translate) for remark in remarks),
    ]

"""A plan of batches on paper: the picture, what goes in when, what is left out, what to buy."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from drystow.days import day_text
from drystow.messages import Reader, Translate, english, msg, told
from drystow.planning.schedule.cold_storage import verdict_words
from drystow.reports.charts import chart_svg
from drystow.reports.schedule_chart import schedule_pictures
from drystow.reports.schedule_layout import Days
from drystow.reports.text import mass_text, plain, sentence
from drystow.reports.typeset import paper_name, typeset, words_of

PICTURE = 760  # px
WORDS = (
    msg("en"), msg("Batch plan"), msg("Page {page} of {count}", page="{page}", count="{count}"), msg("No."),
    msg("Load at"), msg("Dry at"), msg("Unload at"), msg("Dryer"), msg("Trays and food"), msg("Left out"),
    msg("To buy"), msg("Freeze on arrival"), msg("Safety"), msg("How sure this is"),
    msg("Nothing planned yet."),
)  # fmt: skip
"""What the template says itself; ``en`` is the code of the language, for screen readers."""


@dataclass(frozen=True)
class SheetLot:
    """Food of one lot in a batch.

    name: of the lot
    trays: number of trays
    mass: fresh [kg]
    frozen: it waits in the freezer until then
    verdict: on food past its limit, ``do_not_use`` or ``look_and_decide``; else empty
    """

    name: str
    trays: int
    mass: float
    frozen: bool = False
    verdict: str = ""


@dataclass(frozen=True)
class SheetBatch:
    """One batch; times by the clock of the kitchen.

    number: in the picture
    dryer: its name
    start: when it is loaded
    dry: when it is dry
    end: when somebody unloads it
    lots: what is in it
    label: lot number, where it is a batch of the kitchen already
    """

    number: int
    dryer: str
    start: datetime
    dry: datetime
    end: datetime
    lots: tuple[SheetLot, ...]
    label: str = ""


@dataclass(frozen=True)
class PlanSheet:
    """What stands on the sheet.

    title: of the plan
    facts: name and value
    days: the picture
    batches: in the order of loading
    to_freeze: when food comes that goes into the freezer, how much [kg], and what
    left_out: mass of a lot that is not dried [kg], and why
    shopping: how many, and of what
    cautions, notes: sentences
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    days: Days
    batches: tuple[SheetBatch, ...]
    to_freeze: tuple[tuple[datetime, float, str], ...]
    left_out: tuple[tuple[float, str], ...]
    shopping: tuple[tuple[int, str], ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]


def plan_sheet_pdf(
    sheet: PlanSheet, *, today: date, units: str = "us", paper: str = "letter", translate: Translate = english
) -> bytes:
    """Return the plan as a PDF, with a box to tick beside every batch.

    sheet: what stands on it
    today: day of the sheet
    units: ``us`` or ``si``
    paper: ``letter`` or ``a4``
    translate: to the reader's language
    """
    reader = Reader.of(translate, units)
    return typeset(
        "plan_sheet.typ",
        {
            "paper": paper_name(units, paper),
            "words": words_of(WORDS, reader),
            "title": plain(sheet.title, 90),
            "prepared": told(msg("Prepared {day}", day=day_text(today)), reader),
            "facts": [[told(name, reader), told(value, reader)] for name, value in sheet.facts],
            "pictures": [
                {
                    "title": told(picture.title, reader),
                    "svg": chart_svg(picture.spec, translate=reader),
                    "words": told(picture.words, reader),
                }
                for picture in (schedule_pictures(sheet.days, PICTURE) if sheet.batches else ())
            ],
            "batches": [_cells(batch, units, reader) for batch in sheet.batches],
            "to_freeze": [
                f"{_clock(at, reader)}: {told(mass_text(mass, units), reader)} {plain(name, 60)}"
                for at, mass, name in sheet.to_freeze
            ],
            "left_out": [
                f"{told(mass_text(mass, units), reader)}: {sentence(reason, reader)}" for mass, reason in sheet.left_out
            ],
            "shopping": [f"{count} × {told(name, reader)}" for count, name in sheet.shopping],
            "cautions": _sentences(sheet.cautions, reader),
            "notes": _sentences(sheet.notes, reader),
        },
    )


def _sentences(lines: Sequence[str], translate: Translate) -> list[str]:
    return [sentence(line, translate) for line in lines]


def _cells(batch: SheetBatch, units: str, translate: Translate) -> list[str]:
    dryer = f"{plain(batch.dryer, 40)} ({batch.label})" if batch.label else plain(batch.dryer, 40)
    return [
        str(batch.number),
        _clock(batch.start, translate),
        _clock(batch.dry, translate),
        _clock(batch.end, translate),
        dryer,
        "\n".join(told(_lot(lot, units), translate) for lot in batch.lots),
    ]


def _clock(at: datetime, translate: Translate) -> str:
    return told(day_text(at, "weekday_clock"), translate)


def _lot(lot: SheetLot, units: str) -> str:
    parts: dict[str, Any] = {"trays": lot.trays, "name": plain(lot.name, 60), "mass": mass_text(lot.mass, units)}
    if lot.verdict:
        return msg("{trays} × {name}, {mass} in all: {verdict}", verdict=verdict_words(lot.verdict), **parts)
    if lot.frozen:
        return msg("{trays} × {name}, {mass} in all, from the freezer", **parts)
    return msg("{trays} × {name}, {mass} in all", **parts)

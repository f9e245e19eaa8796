"""Labels for packages, on sheets or single, as a PDF."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from drystow.days import day_text
from drystow.errors import InputError, check_range
from drystow.foods.marks import UNKNOWN, allergen_line
from drystow.keeping.limits import NOT_KNOWN, evidence_word
from drystow.keeping.shelf_life import date_words
from drystow.messages import Reader, Translate, english, msg, told
from drystow.reports.codes import (
    check_gtin,
    check_lot,
    code_svg,
    gs1_code,
    gs1_elements,
    gs1_text,
    lot_code,
)
from drystow.reports.label_layout import BOLD, ITALIC, JOINT, REGULAR, SEMIBOLD, Runs, Wording, lay_out, smallest_size
from drystow.reports.sheets import LabelSheet
from drystow.reports.text import net_weight_text, plain, water_back
from drystow.reports.typeset import typeset, words_of
from drystow.shown import show

WORDS = (msg("en"), msg("Labels"))
"""What the template says itself; ``en`` is the code of the language, for screen readers."""

MOST_LABELS = 5000
NAME_LENGTH = 90
LINE_LENGTH = 600
MANY_CODES = 200  # beyond this many different codes, the search for each code's best mask is skipped: all masks scan


TAKE_OUT_ABSORBER = msg("Remove the oxygen absorber. Do not eat it.")
"""A line for every package that holds an absorber."""


@dataclass(frozen=True)
class Label:
    """What one package says about itself.

    food: name of the food
    packed_on: day it was packed
    lot: lot number, at most 40 characters (20 of the GS1 set when `gs1`)
    net_mass: food in the package [kg]
    best_before: day until which it should be good, or None
    best_before_basis: what that day rests on, for example "planning estimate"; a date is never printed without it
    water_to_add: for the whole package [kg], or None
    allergens: allergens it contains; `marks.NOT_STATED` among them while there may be others
    cautions: for example "COOK BEFORE EATING"; printed in a box
    absorber: an oxygen absorber lies inside; its caution is printed
    ingredients: ingredients in descending order, as one text
    extra: further lines, such as who packed it
    qr: print the square code
    qr_prefix: web address in front of the lot inside the code, or nothing
    code: the package's own number, or nothing; printed, and inside the square code in place of the lot unless `gs1`
    gs1: the code follows GS1 (packing date, best-before date, net weight, lot), with its text below
    gtin: 14-digit article number for the GS1 code, or nothing for use in the own house only
    """

    food: str
    packed_on: date
    lot: str
    net_mass: float
    best_before: date | None = None
    best_before_basis: str = ""
    water_to_add: float | None = None
    allergens: tuple[str, ...] = UNKNOWN
    cautions: tuple[str, ...] = ()
    absorber: bool = False
    ingredients: str = ""
    extra: tuple[str, ...] = ()
    qr: bool = True
    qr_prefix: str = ""
    code: str = ""
    gs1: bool = False
    gtin: str = ""

    def __post_init__(self) -> None:
        if not plain(self.food):
            raise InputError("food", msg("a label needs the name of the food"))
        check_lot(self.lot, self.gs1)
        check_range("net_mass", self.net_mass, 0.0, 1000.0, "mass", above=True)
        if self.water_to_add is not None:
            check_range("water_to_add", self.water_to_add, 0.0, 10_000.0, "mass")
        if self.best_before and not plain(self.best_before_basis):
            raise InputError("best_before_basis", msg("a best-before date needs a basis; write 'planning estimate'"))
        if self.best_before and self.best_before < self.packed_on:
            raise InputError(
                "best_before",
                msg(
                    "{best_before} is before the packing date {packed_on}",
                    best_before=str(self.best_before),
                    packed_on=str(self.packed_on),
                ),
            )
        if self.gtin and not self.gs1:
            raise InputError("gtin", msg("is printed only inside a GS1 code; turn gs1 on or leave it out"))
        if self.gs1:
            if self.gtin:
                check_gtin(self.gtin)
            self.gs1_elements()

    def gs1_elements(self) -> list[tuple[str, str]]:
        """Return the GS1 application identifiers and values of this label; a day to check it is no best-before date."""
        return gs1_elements(
            lot=self.lot,
            packed_on=self.packed_on,
            best_before=None if self.best_before_basis == NOT_KNOWN else self.best_before,
            net_mass=self.net_mass,
            gtin=self.gtin,
        )


@dataclass(frozen=True)
class LabelPrint:
    """Printed labels.

    pdf: the file
    pages: number of pages
    notes: sentences on lines that found no room
    """

    pdf: bytes
    pages: int
    notes: tuple[str, ...] = ()


def label_pdf(labels: Sequence[Label], sheet: LabelSheet, units: str = "us", translate: Translate = english) -> bytes:
    """Return the labels as a PDF; `print_labels` also tells what found no room."""
    return print_labels(labels, sheet, units, translate).pdf


def print_labels(
    labels: Sequence[Label], sheet: LabelSheet, units: str = "us", translate: Translate = english
) -> LabelPrint:
    """Return the labels as a PDF with notes.

    labels: in the order of printing, row by row
    sheet: where they go
    units: ``us`` or ``si``
    translate: to the reader's language

    Cautions, the absorber's caution, allergens, dates, lot and the package's number are on every label, or it raises
    `InputError` with the size that would do: no package goes on the shelf without them, and nothing of them on a second
    label that could end up on another package. Where there is no room, what the date rests on in full is left out
    first, then extra lines, the fresh weight and the water; the notes say so.
    """
    reader = Reader.of(translate, units)
    if not 1 <= len(labels) <= MOST_LABELS:
        raise InputError(
            "labels",
            msg("{count} labels can't be printed at once; print 1 to {most}", count=len(labels), most=MOST_LABELS),
        )
    if units not in ("us", "si"):
        raise InputError("units", msg("'{units}' is not a unit system; write us or si", units=units))
    width, height = sheet.label_width * 1000, sheet.label_height * 1000
    different = {label: number for number, label in enumerate(dict.fromkeys(labels))}
    codes = _codes(different)
    contents, notes = [], []
    for label in different:
        svg, modules = codes[_code_key(label)]
        wording, optional = _wording(label, modules, units, reader)
        layout = lay_out(wording, width, height)
        if layout is None:
            raise _too_small(label, wording, sheet, units)
        lost = [line.rstrip(".") for line in optional[len(optional) - layout.left_out :]]
        if not layout.below:
            lost.append(gs1_text(label.gs1_elements()))
        if lost:
            food = plain(label.food, 40)
            notes.append(
                msg("Left off the label of '{food}' for lack of room: {lost}.", food=food, lost="; ".join(lost))
            )
        contents.append(
            {
                "runs": layout.runs,
                "boxes": layout.boxes,
                "code": layout.code,
                "svg": svg,
                "alt": told(msg("Code of lot {lot}", lot=label.lot), reader),
            }
        )
    pages: list[list[Any]] = []
    for number, label in enumerate(labels):
        page, x, y = sheet.place(number)
        pages += [[] for _ in range(page + 1 - len(pages))]
        pages[page].append((x * 1000, y * 1000, different[label]))
    pdf = typeset(
        "labels.typ",
        {
            "words": words_of(WORDS, reader),
            "page": [sheet.page_width * 1000, sheet.page_height * 1000],
            "label": [width, height],
            "pages": pages,
            "contents": contents,
        },
        tags=False,
    )
    return LabelPrint(pdf, len(pages), tuple(dict.fromkeys(notes)))


def _styled(text: str, style: int, limit: int = LINE_LENGTH) -> Runs:
    return tuple((word, style) for word in plain(text, limit).split(" ") if word)


def _wording(label: Label, modules: int, units: str, translate: Translate) -> tuple[Wording, list[str]]:
    """Return the words of one label, and its optional lines as plain text."""
    must = [(_styled(told(caution, translate), BOLD), True) for caution in label.cautions if plain(caution)]
    if label.absorber:
        must.append((_styled(told(TAKE_OUT_ABSORBER, translate), BOLD), False))
    if line := allergen_line(label.allergens):
        must.append((_styled(told(line, translate), BOLD), False))
    must.append((_styled(told(net_weight_text(label.net_mass, units), translate), SEMIBOLD), False))
    word = evidence_word(label.best_before_basis)
    if label.best_before:
        best = date_words(day_text(label.best_before), label.best_before_basis)
        must.append(((*_styled(told(best, translate), BOLD), (told(word, translate), ITALIC)), False))
    packed = told(msg("Packed {day} · Lot {lot}", day=day_text(label.packed_on), lot=label.lot), translate)
    if label.code:
        packed += f" {JOINT} {told(msg('Package {code}', code=label.code), translate)}"
    must.append((_styled(packed, REGULAR), False))
    if label.ingredients:
        must.append((((told(msg("Ingredients:"), translate), BOLD), *_styled(label.ingredients, REGULAR)), False))
    optional: list[str] = []
    if label.water_to_add is not None:
        _, water, fresh = water_back(label.net_mass, label.water_to_add, units)
        optional.append(told(msg("Add {water} water", water=water), translate))
        optional.append(told(msg("From {mass} fresh", mass=fresh), translate))
    optional += [plain(told(line, translate), LINE_LENGTH) for line in label.extra if plain(line)]
    if label.best_before and word != label.best_before_basis:
        optional.append(plain(told(label.best_before_basis, translate), LINE_LENGTH))
    below = _styled(gs1_text(label.gs1_elements()), REGULAR) if label.gs1 else ()
    lines = tuple(_styled(line, REGULAR) for line in optional)
    return Wording(_styled(label.food, BOLD, NAME_LENGTH), tuple(must), lines, below, modules), optional


def _too_small(label: Label, wording: Wording, sheet: LabelSheet, units: str) -> InputError:
    width, height = smallest_size(wording, sheet.label_width * 1000)
    too_small = msg(
        "a label of {size} is too small for '{food}'; it needs at least {least} (width x "
        "height). Choose a larger label",
        size=_size(sheet.label_width, sheet.label_height, units),
        food=plain(label.food, 40),
        least=_size(width / 1000 + 0.0004, height / 1000 + 0.0004, units),
    )
    shorten = msg("{too_small} or shorten the ingredients", too_small=too_small)
    return InputError("sheet", shorten if label.ingredients else too_small)


def _size(width: float, height: float, units: str) -> str:
    return f"{show(width, 'length', units)} x {show(height, 'length', units)}"


def _code_key(label: Label) -> Label:
    """Return the label reduced to what its code depends on."""
    return replace(
        label,
        food="x",
        water_to_add=None,
        allergens=(),
        cautions=(),
        absorber=False,
        ingredients="",
        extra=(),
    )


def _codes(labels: Iterable[Label]) -> dict[Label, tuple[str, int]]:
    """Return drawing and modules of every different code once."""
    keys = dict.fromkeys(map(_code_key, labels))
    mask = 3 if len(keys) > MANY_CODES else None
    codes = {}
    for key in keys:
        if key.gs1:
            rows = gs1_code(key.gs1_elements(), mask)
        elif key.qr:
            rows = lot_code(key.code or key.lot, key.qr_prefix, mask)
        else:
            rows = ()
        codes[key] = (code_svg(rows) if rows else "", len(rows))
    return codes

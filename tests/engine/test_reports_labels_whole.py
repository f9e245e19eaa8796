"""No label goes without its cautions, its allergens, its dates and its numbers, on whatever sheet it is printed.

The finished PDF is read back letter by letter with pypdfium2, and the codes with zxing-cpp.
"""

import gettext
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import drystow.web
from drystow.days import day_text
from drystow.errors import InputError
from drystow.foods import table
from drystow.foods.classify import ALLERGENS
from drystow.foods.marks import RAW
from drystow.keeping.limits import COOKS_WORDS, ESTIMATE
from drystow.messages import Reader, Translate, english, msg, told
from drystow.reports.labels import TAKE_OUT_ABSORBER, Label, LabelPrint, print_labels
from drystow.reports.sheets import INCH, SHEETS, LabelSheet, roll
from drystow.reports.text import net_weight_text
from tests.engine.pdf_reading import cell_texts, codes

LOCALE = Path(drystow.web.__file__).parent / "locale"
LANGUAGES: dict[str, Translate] = {
    "en": english,
    "es": gettext.translation("django", LOCALE, ["es"]).gettext,
}
LONGEST_NAME = max((food.name for food in table.every()), key=len)
OWN_NAME = "Casserole of chicken and almonds with shrimp, sesame, soy noodles and egg, for twenty-four"
LONGEST = Label(
    food=OWN_NAME,
    packed_on=date(2026, 9, 28),
    lot="AL-260928-CHICKEN-02",  # 20 characters: the longest that the pantry keeps
    net_mass=0.4535,
    best_before=date(2032, 9, 28),
    best_before_basis=ESTIMATE,
    water_to_add=1.234,
    allergens=ALLERGENS,
    cautions=(RAW,),
    absorber=True,
    extra=("Alder Lane Kitchen, 24 portions",),
    qr_prefix="http://192.168.178.123:8000/pantry/p/",
    code="K7P2QX",
)
SOLD = replace(LONGEST, gs1=True, qr_prefix="")


def duties(label: Label, units: str, translate: Translate) -> list[str]:
    """Every line that a package may not go without, in the reader's words and without spaces."""
    translate = Reader(translate, units)
    names = ", ".join(told(allergen, translate) for allergen in label.allergens)
    lines = [
        label.food,
        told(RAW, translate),
        told(TAKE_OUT_ABSORBER, translate),
        told(msg("Contains: {allergens}", allergens=names), translate),
        told(net_weight_text(label.net_mass, units), translate),
        told(msg("Best before {day}", day=day_text(date(2032, 9, 28))), translate),
        told(COOKS_WORDS[ESTIMATE], translate),
        told(msg("Packed {day} · Lot {lot}", day=day_text(label.packed_on), lot=label.lot), translate),
        told(msg("Package {code}", code=label.code), translate),
    ]
    return ["".join(line.split()) for line in lines]


def read_back(label: Label, sheet: LabelSheet, units: str, language: str) -> LabelPrint:
    """Print a full sheet, find every duty on every label, and return what was printed."""
    translate = LANGUAGES[language]
    printed = print_labels([label] * sheet.per_page, sheet, units, translate)
    cells = [sheet.place(number) for number in range(sheet.per_page)]
    for text in cell_texts(printed.pdf, cells, sheet.label_width, sheet.label_height):
        for duty in duties(label, units, translate):
            assert duty in text, f"{duty} is not on {text}"
    return printed


@pytest.mark.parametrize("label", [LONGEST, SOLD], ids=["own", "sold"])
@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("sheet", SHEETS)
def test_the_longest_label_keeps_all_its_duties_on_every_sheet(
    sheet: str, language: str, units: str, label: Label
) -> None:
    assert len(label.food) == 90  # the longest that a label prints whole
    printed = read_back(label, SHEETS[sheet], units, language)
    read = codes(printed.pdf)
    assert len(read) == SHEETS[sheet].per_page
    wanted = "10AL-260928-CHICKEN-02" if label.gs1 else "http://192.168.178.123:8000/pantry/p/K7P2QX"
    assert all(wanted in code.text.replace("(", "").replace(")", "") for code in read)


def test_what_the_date_rests_on_gives_way_first_and_is_named() -> None:
    """On the smallest sheet the whole sentence finds no room; its short word stays, and the note says what is gone."""
    small = read_back(replace(LONGEST, food=LONGEST_NAME, extra=()), SHEETS["letter-3x10"], "us", "en")
    assert any(ESTIMATE in note for note in small.notes)
    large = read_back(replace(LONGEST, food=LONGEST_NAME), SHEETS["letter-2x5"], "us", "en")
    assert large.notes == ()
    for height in (0.026, 0.029, 0.032, 0.035, 0.038):
        label = replace(LONGEST, food=LONGEST_NAME, cautions=(), allergens=(), absorber=False)
        notes = print_labels([label], roll(2.625 * INCH, height)).notes
        assert not notes or ESTIMATE in notes[0], "something else was left out before the evidence"


@settings(max_examples=40, deadline=None)
@given(
    width=st.floats(20, 120), height=st.floats(10, 80), language=st.sampled_from(sorted(LANGUAGES)), sold=st.booleans()
)
def test_an_own_label_holds_all_its_duties_or_is_refused_with_a_size_that_does(
    width: float, height: float, language: str, sold: bool
) -> None:
    label = SOLD if sold else LONGEST
    refused = size_after_refusal(label, roll(width / 1000, height / 1000), language)
    read_back(label, refused or roll(width / 1000, height / 1000), "si", language)


def size_after_refusal(label: Label, sheet: LabelSheet, language: str) -> LabelSheet | None:
    """Return the label that a refusal asks for, None when this one is printed."""
    try:
        print_labels([label], sheet, "si", LANGUAGES[language])
    except InputError as problem:
        least = problem.message.split("it needs at least ")[1].split(" (")[0].replace(" mm", "").split(" x ")
        return roll(*(float(number) / 1000 + 0.0005 for number in least))
    return None


def test_the_smallest_sheet_allowed_is_refused_in_words() -> None:
    with pytest.raises(InputError, match=r"too small for 'Casserole of .*it needs at least .*Choose a larger label$"):
        print_labels([LONGEST], roll(0.005, 0.005))
    with pytest.raises(InputError, match="or shorten the ingredients"):
        print_labels([replace(LONGEST, ingredients="chicken, almonds")], roll(0.005, 0.005))

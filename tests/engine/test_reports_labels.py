"""Labels: what they say, where they lie, and that no text can break them."""

import time
from dataclasses import replace
from datetime import date

import pytest

from drystow.errors import InputError
from drystow.keeping.limits import NOT_KNOWN
from drystow.reports.label_layout import BOLD, REGULAR, Wording, lay_out, smallest_size
from drystow.reports.labels import Label, label_pdf, print_labels
from drystow.reports.sheets import SHEETS, roll
from tests.engine.pdf_reading import codes, fonts, page_sizes, page_texts, text_places

BERRIES = Label(
    food="Blueberries, whole",
    packed_on=date(2027, 3, 12),
    lot="A0312-2",
    net_mass=0.0907,
    best_before=date(2032, 3, 12),
    best_before_basis="planning estimate",
    water_to_add=0.279,
    allergens=("milk",),
    cautions=("COOK BEFORE EATING",),
    ingredients="blueberries, milk powder",
    extra=("Alder Lane Kitchen",),
)
HOSTILE = '#set page(fill: red) *bold* _it_ $x^2$ `raw` @ref <tag> // no \\ [b] {"k": 1} #panic("x")'


def test_a_label_says_everything_it_was_given() -> None:
    (text,) = page_texts(label_pdf([BERRIES], SHEETS["roll-100x50"]))
    for words in (
        "Blueberries, whole",
        "Net wt 3.2 oz (91 g)",  # ounces and grams beside each other: US practice, 3.2 x 28.3495 g = 90.7 g
        "COOK BEFORE EATING",
        "Packed Mar 12, 2027 · Lot A0312-2",
        "Best before Mar 12, 2032",
        "planning estimate",
        "Ingredients: blueberries, milk powder",
        "Contains: milk",
        "Add 9.8 oz (about 1 1/4 cups) water",  # 279 g / 28.3495 g = 9.84 oz, 279 mL / 236.588 mL = 1.18 cups
        "From 13 oz fresh",  # 3.2 oz and 9.8 oz of water
        "Alder Lane Kitchen",
    ):
        assert words in text


def test_a_day_to_check_is_not_called_best_before_on_paper_nor_in_its_code() -> None:
    unknown = replace(BERRIES, best_before_basis=NOT_KNOWN, gs1=True)
    (text,) = page_texts(label_pdf([unknown], SHEETS["roll-100x50"]))
    assert "Check by Mar 12, 2032 no study" in " ".join(text.split())
    assert "Best before" not in text
    assert "15" not in dict(unknown.gs1_elements())
    assert dict(replace(unknown, best_before_basis="planning estimate").gs1_elements())["15"] == "320312"


def test_metric_labels_name_no_pounds_or_cups() -> None:
    (text,) = page_texts(label_pdf([BERRIES], SHEETS["roll-100x50"], "si"))
    assert "Net weight 91 g" in text
    assert "Packed 12 Mar 2027" in text
    assert "oz" not in text
    assert "cups" not in text


def test_a_best_before_date_without_its_basis_is_refused() -> None:
    with pytest.raises(InputError, match="needs a basis"):
        replace(BERRIES, best_before_basis=" ")


@pytest.mark.parametrize("sheet", SHEETS)
def test_the_basis_stands_on_every_label_with_a_date(sheet: str) -> None:
    text = " ".join(page_texts(label_pdf([BERRIES] * SHEETS[sheet].per_page, SHEETS[sheet])))
    assert text.count("Best before") == text.count("planning estimate") == SHEETS[sheet].per_page


@pytest.mark.parametrize("hostile", [HOSTILE, '"}]} #import "x"', "*" * 60, "'); drop table", "\\u{0}\x00\x07 bell"])
def test_markup_in_a_name_is_printed_and_not_obeyed(hostile: str) -> None:
    label = replace(BERRIES, food=hostile[:88], extra=(hostile,), ingredients=hostile, qr=False)
    result = print_labels([label], roll(0.15, 0.15))
    (text,) = page_texts(result.pdf)
    wanted = "".join(c for c in "".join(hostile.split()) if c.isprintable())
    assert "".join(text.split()).count(wanted) >= 2
    assert page_sizes(result.pdf) == [pytest.approx((0.15, 0.15), abs=1e-4)]


def test_scripts_emoji_and_endless_words_still_print() -> None:
    foods = ["פירות יער", "توت أزرق", "Żurawina, ćwiartki", "Клюква", "🍓 berries", "いちご", "x" * 300, "e\u0301" * 80]
    pdf = label_pdf([replace(BERRIES, food=food) for food in foods], SHEETS["letter-2x5"])
    assert len(codes(pdf)) == len(foods)


def test_known_scripts_use_only_the_fonts_that_the_typesetter_carries() -> None:
    foods = ["Blueberries", "פירות יער", "توت أزرق", "Żurawina", "Клюква", "½ × 3 °C ≤ 4"]
    found = fonts(label_pdf([replace(BERRIES, food=food) for food in foods], SHEETS["letter-2x5"]))
    assert found
    assert all(name.startswith(("LibertinusSerif", "DejaVuSansMono")) for name in found), found


def test_the_same_labels_give_the_same_file() -> None:
    assert label_pdf([BERRIES], SHEETS["a4-3x8"]) == label_pdf([BERRIES], SHEETS["a4-3x8"])


@pytest.mark.parametrize("name", ["letter-3x10", "a4-3x8", "letter-2x5", "a4-2x7"])
def test_every_label_lies_inside_its_own_place(name: str) -> None:
    sheet = SHEETS[name]
    pdf = label_pdf([BERRIES] * sheet.per_page, sheet)
    assert page_sizes(pdf) == [pytest.approx((sheet.page_width, sheet.page_height), abs=1e-4)]
    places = text_places(pdf, "Blueberries, whole")
    assert len(places) == sheet.per_page
    corners = [sheet.place(number)[1:] for number in range(sheet.per_page)]
    offsets = [(x - left, y - top) for (x, y), (left, top) in zip(places, corners, strict=True)]
    assert all(0.0010 < dx < 0.0045 and 0.0010 < dy < 0.0050 for dx, dy in offsets)
    assert max(dx for dx, _ in offsets) - min(dx for dx, _ in offsets) < 2e-4
    decoded = codes(pdf)
    assert len(decoded) == sheet.per_page
    assert {code.text for code in decoded} == {"A0312-2"}


def test_used_labels_are_skipped() -> None:
    sheet = replace(SHEETS["letter-3x10"], skip=4)
    pdf = label_pdf([BERRIES] * 27, sheet)
    assert len(page_sizes(pdf)) == 2
    first = text_places(pdf, "Blueberries, whole")[0]
    # fifth place: second row, second column: 0.1875 + 2.625 + 0.125 inch across, 0.5 + 1 inch down
    assert first == (pytest.approx(2.9375 * 0.0254, abs=0.0045), pytest.approx(1.5 * 0.0254, abs=0.005))
    assert first[0] > 2.9375 * 0.0254
    assert first[1] > 1.5 * 0.0254
    assert len(text_places(pdf, "Blueberries, whole", page=1)) == 1


def test_a_roll_has_one_label_per_page() -> None:
    pdf = label_pdf([BERRIES] * 3, SHEETS["roll-100x50"])
    assert page_sizes(pdf) == [pytest.approx((0.100, 0.050), abs=1e-4)] * 3


def test_what_finds_no_room_is_named() -> None:
    result = print_labels([replace(BERRIES, extra=("Line one.", "Line two.", "Line three."))], SHEETS["letter-3x10"])
    (text,) = page_texts(result.pdf)
    assert result.notes == tuple(note for note in result.notes if "Blueberries" in note and "Line three" in note)
    assert len(result.notes) == 1
    assert "Line three" not in text
    assert "Contains: milk" in text


def test_a_label_too_small_for_its_duties_says_what_would_do() -> None:
    words = r"too small for 'Blueberries, whole'; it needs at least (\S+) in x (\S+) in"
    with pytest.raises(InputError, match=words) as caught:
        label_pdf([BERRIES], roll(0.040, 0.015))
    numbers = caught.value.message.split("it needs at least ")[1].split(" (")[0].replace(" in", "").split(" x ")
    width, height = (float(number) * 0.0254 for number in numbers)
    assert label_pdf([BERRIES], roll(width, height))


@pytest.mark.parametrize("modules", [0, 21, 33])
@pytest.mark.parametrize("length", [1, 20, 120])
@pytest.mark.parametrize("width", [20.0, 45.0, 100.0])
def test_the_smallest_size_is_enough_and_less_is_not(modules: int, length: int, width: float) -> None:
    words = tuple((f"word{number}", REGULAR) for number in range(length))
    wording = Wording((("Peas", BOLD),), ((words, False),), (), (("below", REGULAR),) if modules else (), modules)
    least_width, height = smallest_size(wording, width)
    assert least_width >= width
    assert lay_out(wording, least_width + 0.01, height + 0.01) is not None
    assert lay_out(wording, least_width, height - 1.0) is None


def test_no_line_leaves_its_column_and_no_type_is_under_six_points() -> None:
    words = tuple((word, REGULAR) for word in ("blueberries, strawberries and " * 6).split())
    layout = lay_out(Wording((("Peas", BOLD),), ((words, False),), (), (), 0), 60.0, 25.0)
    assert layout is not None
    assert min(size for _, _, size, _, _ in layout.runs) >= 6.0
    assert all(baseline < 25.0 for _, baseline, _, _, _ in layout.runs)


def test_a_thousand_labels_fill_the_right_number_of_pages_quickly() -> None:
    labels = [replace(BERRIES, food=f"Food {number}", lot=f"L{number}") for number in range(1000)]
    begin = time.process_time()
    result = print_labels(labels, SHEETS["a4-3x8"])
    took = time.process_time() - begin
    assert result.pages == len(page_sizes(result.pdf)) == 42  # 1000 / 24 = 41.7
    assert sum(len(text_places(result.pdf, "Packed", page)) for page in range(42)) == 1000
    assert len(text_places(result.pdf, "Food 999", page=41)) == 1
    assert took < 10, f"{took:.1f} s"  # about 2 s alone on a machine; the bound leaves room for busy ones


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"food": " "}, "name of the food"),
        ({"lot": ""}, "needs a lot number"),
        ({"lot": "a\nb"}, "cannot be printed"),
        ({"lot": "x" * 41}, "at most 40"),
        ({"net_mass": 0.0}, "enter more than 0"),
        ({"net_mass": float("nan")}, "enter more than 0"),
        ({"best_before": date(2026, 1, 1)}, "before the packing date"),
        ({"gtin": "09506000134352"}, "only inside a GS1 code"),
        ({"gs1": True, "lot": "L" * 21}, "at most 20"),
        ({"gs1": True, "lot": "Lot 7"}, "GS1 lots use"),
        ({"gs1": True, "lot": "Ä7"}, "GS1 lots use"),
        ({"gs1": True, "gtin": "09506000134351"}, "check digit is 2"),
        ({"gs1": True, "gtin": "9506000134352"}, "14 digits"),
    ],
)
def test_impossible_labels_are_refused_in_words(changes: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        replace(BERRIES, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(("count", "units", "words"), [(0, "us", "1 to 5,000"), (1, "imperial", "us or si")])
def test_impossible_print_jobs_are_refused_in_words(count: int, units: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        label_pdf([BERRIES] * count, SHEETS["a4-3x8"], units)

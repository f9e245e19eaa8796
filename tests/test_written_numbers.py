"""Numbers are written one way everywhere: a percent sign as the reader's language sets it, a unit once in a range.

English sets the sign at its number (The Chicago Manual of Style, 9.18; memory), Spanish apart from it (Real Academia
Española, Ortografía, VIII 2.2.1; memory). A nutrition label prints what the law shows, so that module writes its own.
All other digits are written by `drystow.figures`.
"""

import ast
import json
import re
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tools.write_catalogue import read

import drystow
from drystow.figures import Signs, fixed, formatted, typed
from drystow.messages import Reader, ends, msg, msg_many, ranged, told
from drystow.shown import DISPLAY, KITCHEN, between, both, money, percent, quantity, show, shown_again, values_of
from drystow.units import parse
from drystow.web.kit.words import again, kept

ENGINE = Path(drystow.__file__).parent
TEMPLATES = sorted(ENGINE.rglob("templates/**/*.html"))
NEAREST = sorted(set(KITCHEN) - {"time within"})  # that one is rounded up: `tests/test_promised_times.py`
AS_THE_LAW_SHOWS = {"nutrition.py"}
SHOWS_SPANISH = {"figures.py", "messages.py"}
FILES = [path for path in sorted(ENGINE.rglob("*.py")) if path.name not in AS_THE_LAW_SHOWS]
CATALOGUE = {text: words for text, words in read().items() if "%" in text or any("%" in one for one in words)}
APART = re.compile(r"(?:\d|\}\}?|\)s|\bd) %%?(?![\w(%{}])")
BY_HAND = re.compile(r"(?:\}\}|%\})\s*%(?![}\w(])")
SHARE = re.compile(r"\{[^{}]*:[^{}]*%\}")  # "{share:.0%}", which only `msg` sets as a language does


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_template_writes_a_percent_sign_by_hand(path: Path) -> None:
    text = re.sub(r"(?s){% blocktrans.*?{% endblocktrans\w* %}", "", path.read_text(encoding="utf-8"))
    assert not BY_HAND.search(text), "use the filter percent, or amount"


@pytest.mark.parametrize("path", FILES, ids=lambda path: "/".join(path.parts[-2:]))
def test_no_sentence_sets_a_percent_sign_apart_or_by_hand(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    inside = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    for node in ast.walk(tree):
        words_alone = isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in inside
        if words_alone and path.name not in SHOWS_SPANISH:
            assert not APART.search(node.value), f"line {node.lineno}: English sets the sign at its number"
        if isinstance(node, ast.JoinedStr):
            words = ast.unparse(node)
            assert not SHARE.search(words), f"line {node.lineno}: use drystow.shown.percent"
            assert not re.search(r"\} ?%(?!\w)", words), f"line {node.lineno}: use drystow.shown.percent"


@pytest.mark.parametrize("text", CATALOGUE, ids=lambda text: text[:40])
def test_every_sentence_sets_the_percent_sign_as_its_language_does(text: str) -> None:
    assert not APART.search(text)
    for words in CATALOGUE[text]:
        assert not re.search(r"\d%(?!\})", words), words


def test_a_share_is_told_with_its_sign_as_every_language_sets_it() -> None:
    sentence = msg("{share:.1%} of {whole}", share=0.032, whole=msg("{water:.0%} water", water=0.84))
    assert sentence == "3.2% of 84% water"
    spanish = {
        "{share:.1%} of {whole}": "{share:.1%} de {whole}",
        "{water:.0%} water": "{water:.0%} de agua",
        "1,000.5%": "1.000,5 %",
    }
    assert told(sentence, lambda text: spanish.get(text, text)) == "3,2 % de 84 % de agua"
    assert (percent(0.62), show(0.03, "fraction")) == ("62%", "3.0%")
    assert [told(one, SPANISH) for one in (percent(0.62), between(0.1, 0.25, "fraction"))] == ["62 %", "10 to 25 %"]


def test_a_range_names_its_unit_once_where_both_ends_have_the_same() -> None:
    assert ends("-20 °C", "-15.5 °C") == ("-20", "-15.5 °C")
    assert ends(percent(0.01, 1), "3.0%") == ("1.0", "3.0%")
    assert ends("1 year", "25 years") == ("1 year", "25 years")
    assert ends("20 h", "never") == ("20 h", "never")


# -- one place writes the digits ---------------------------------------------------------------------------------------

WHOLE_CATALOGUE = read()
SPANISH = Reader(lambda text: {"1,000.5%": "1.000,5 %"}.get(text, text), "us")
FINE_SPEC = re.compile(r"[feEg%]$")
WRITES_FILES = {
    # digits that programs read: files in their own format, sizes of a drawing
    "cli/plan.py", "units.py", "web/plans/lots_file.py", "web/site/views/label_sheet.py",
    "planning/program/best_program.py",
}  # fmt: skip
FILES_OF_READERS = [
    path
    for path in FILES
    if path.name not in ("figures.py", "messages.py", "numerals.py")
    and path.relative_to(ENGINE).as_posix() not in WRITES_FILES
]
EXTREMES = [0.0, -0.0, 1e-9, -1e-9, 0.4999, 0.5, 999.95, 999.996, 1e7, -1e7, 1234.5, -40.0]


@pytest.mark.parametrize("path", FILES_OF_READERS, ids=lambda path: "/".join(path.parts[-2:]))
def test_no_digits_are_written_by_hand(path: Path) -> None:
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FormattedValue) and isinstance(node.format_spec, ast.JoinedStr):
            spec = "".join(part.value for part in node.format_spec.values if isinstance(part, ast.Constant))
            if FINE_SPEC.search(spec) and not spec.startswith("%"):
                found.append(f"line {node.lineno}: {ast.unparse(node)}")
    assert not found, f"use drystow.figures or drystow.shown: {found}"


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_template_writes_digits_by_itself(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    by_hand = re.findall(r"\|(?:floatformat(?!:'\du')|stringformat(?!:[\"']d[\"'])(?!:'\.4f' }} kg))[^|}]*", text)
    assert not by_hand, "use the filter figure"


@pytest.mark.parametrize("value", EXTREMES)
@pytest.mark.parametrize("decimals", [0, 1, 2])
def test_a_number_has_a_true_minus_groups_of_three_and_no_negative_nothing(value: float, decimals: int) -> None:
    text = fixed(value, decimals)
    assert "-" not in text
    assert float(text.replace("−", "-").replace(",", "")) == pytest.approx(value, abs=0.501 * 10**-decimals)
    assert not re.match(r"−0(\.0*)?$", text)
    assert re.fullmatch(r"−?\d{1,3}(,\d{3})*(\.\d+)?", text)
    spanish = fixed(value, decimals, Signs(".", ","))
    assert spanish.translate(str.maketrans(".,", ",.")) == text


@given(st.floats(allow_nan=False, allow_infinity=False, width=32), st.integers(0, 4))
def test_every_number_can_be_read_back(value: float, decimals: int) -> None:
    text = fixed(value, decimals)
    assert float(text.replace("−", "-").replace(",", "")) == pytest.approx(value, abs=0.51 * 10**-decimals, rel=1e-9)


@given(st.floats(min_value=1e-6, max_value=1e12), st.integers(2, 8))
def test_a_typed_number_can_be_read_back(value: float, digits: int) -> None:
    assert float(typed(value, digits)) == pytest.approx(value, rel=10.0 ** (1 - digits))
    assert "e" not in typed(value, digits)


@given(st.sampled_from(sorted(set(DISPLAY) - set(KITCHEN))), st.sampled_from(EXTREMES), st.sampled_from(["us", "si"]))
def test_every_quantity_is_in_the_readers_unit(kind: str, value: float, units: str) -> None:
    own, other = DISPLAY[kind][units][0], DISPLAY[kind]["si" if units == "us" else "us"][0]
    reader = Reader(units=units)
    assert quantity(value, kind).told(reader).endswith(own if own == "%" else f" {own}")
    twice = both(value, kind).told(reader)
    assert re.fullmatch(rf"\S+ ?{re.escape(own)}( \(\S+ {re.escape(other)}\))?", twice)
    assert "-" not in twice
    assert not re.search(r"−0(\.0*)? ", twice)
    assert between(value, value + 100.0, kind).told(reader).count(own) == 1


def test_money_and_large_numbers_in_the_readers_language() -> None:
    assert money(1054.94, "$") == "$1,054.94"
    assert (money(2.675, "$"), fixed(1.25, 1), percent(0.125)) == ("$2.68", "1.3", "13%")
    assert told(money(1054.94, "$"), SPANISH) == "$1.054,94"
    assert (money(-0.001, "$"), money(-12.5, "$"), money(None, "$")) == ("$0.00", "−$12.50", "–")
    assert told(msg("{count} of {all:.1f}", count=12345, all=2345.67), SPANISH) == "12.345 of 2.345,7"
    assert (show(453.59237, "mass", "us"), show(0.0018, "mass", "us"), show(1e-9, "mass", "us")) == (
        "1,000 lb",
        "0.1 oz",
        "0.0 oz",
    )
    assert (formatted(float("inf"), ".1f"), show(float("nan"), "mass", "us"), show(None, "mass")) == ("∞", "–", "–")


def test_a_kept_sentence_speaks_later_in_the_units_of_whoever_reads_it() -> None:
    sentence = msg("{mass} at {cold}", mass=quantity(1.0, "mass"), cold=both(277.594, "temperature"))
    later = again(kept(sentence), "")
    assert told(later, Reader(units="us")) == "2.2 lb at 40 °F (4 °C)"
    assert told(later, Reader(units="si")) == sentence == "1.00 kg at 4 °C (40 °F)"
    assert shown_again(values_of(quantity(1.0, "mass"))).told(Reader(units="us")) == "2.2 lb"


def test_a_sentence_that_was_kept_before_quantities_were_can_still_be_read() -> None:
    old = {
        "pattern": "{a} of ice",
        "values": {"a": {"pattern": "{metric} ({us})", "values": {"metric": "3.60 kg", "us": "7.94 lb"}}},
    }
    assert told(again(old, ""), SPANISH) == "3,60 kg (7,94 lb) of ice"


def test_a_kept_sentence_about_a_number_of_things_keeps_both_its_texts() -> None:
    sentence = msg("in {time}", time=msg_many("{count} day", "{count} days", 3))
    back = again(json.loads(json.dumps(kept(sentence))), "")
    assert told(back, Reader(choose=lambda one, many, count: f"{one}|{many}|{count}")) == "in 3 day|3 days|3"


@pytest.mark.parametrize(
    ("value", "kind", "american", "metric"),
    [
        # 1 lb is 0.45359237 kg, 1 oz a sixteenth of it, 1 US cup 236.588 mL, 1 tablespoon a sixteenth of a cup
        (1.54, "mass", "3.4 lb", "1.54 kg"),
        (0.34, "mass", "12 oz", "340 g"),
        (0.09, "mass", "3.2 oz", "90 g"),
        (0.0053, "mass", "0.2 oz", "5.3 g"),
        (58.2, "mass", "128 lb", "58.2 kg"),
        (0.9999 * 0.45359237, "mass", "1.0 lb", "454 g"),
        (0.0, "mass", "0.0 oz", "0.0 g"),
        (5.915e-4, "volume", "2 1/2 cups", "592 mL"),
        (1.577e-4, "volume", "2/3 cup", "158 mL"),
        (2.366e-4, "volume", "1 cup", "237 mL"),
        (1.84e-3, "volume", "8 cups", "1,840 mL"),
        (2.96e-5, "volume", "2 tbsp", "30 mL"),
        (1e-4, "volume", "7 tbsp", "100 mL"),  # 100 / 14.787 = 6.8; half a cup would be a fifth too much
        (26.2 * 3600, "time", "26 h", "26 h"),
        (6000, "time", "1 h 40 min", "1 h 40 min"),
        (7200, "time", "2 h", "2 h"),
        (40 * 60, "time", "40 min", "40 min"),
        (100 * 3600, "time", "4 d 4 h", "4 d 4 h"),
        (0.0441, "fraction", "4.4%", "4.4%"),
        (289.82, "temperature", "62 °F", "17 °C"),
    ],
)
def test_no_more_digits_than_a_kitchen_needs(value: float, kind: str, american: str, metric: str) -> None:
    told_to = tuple(told(quantity(value, kind), Reader(units=units)) for units in ("us", "si"))
    assert told_to == (american, metric)


@given(st.sampled_from(NEAREST), st.floats(-1e6, 1e6), st.sampled_from(["us", "si"]))
def test_what_a_kitchen_reads_is_near_the_value(kind: str, value: float, units: str) -> None:
    words = told(quantity(value, kind), Reader(units=units)).replace("−", "-").replace(",", "")
    sizes = {"lb": 0.45359237, "oz": 0.45359237 / 16, "kg": 1.0, "g": 1e-3, "mL": 1e-6, "min": 60.0, "h": 3600.0}
    sizes |= {"d": 86400.0, "cups": 2.365882e-4, "cup": 2.365882e-4, "tbsp": 2.365882e-4 / 16}
    sign = -1.0 if words.startswith("-") else 1.0
    total = unit = 0.0
    for word in reversed(words.lstrip("-").split()):
        if word in sizes:
            unit = sizes[word]
        else:
            total += unit * float(Fraction(word))
    step = {"mass": 0.05 * sizes["oz"], "volume": sizes["tbsp"] / 4, "time": 30.0}[kind]
    assert sign * total == pytest.approx(value, rel=0.13, abs=step + 1e-9)


@given(st.sampled_from(NEAREST), st.floats(0.0, 1e3), st.sampled_from(["us", "si"]))
def test_what_a_kitchen_reads_in_spanish_is_spanish_and_can_be_typed_again(kind: str, value: float, units: str) -> None:
    words = told(quantity(value, kind), Reader(lambda text: WHOLE_CATALOGUE.get(text, [text])[0], units))
    english = told(quantity(value, kind), Reader(units=units))
    assert set(re.findall("[a-z]{3,}", words.casefold())) & {"cup", "cups", "tbsp"} == set()
    assert parse(words, kind, "value", language="es") == pytest.approx(parse(english, kind, "value"), rel=1e-6)


@pytest.mark.parametrize("text", ["44 to 53 h", "4.0 to 5.0 lb"])
def test_a_range_is_written_in_words_with_the_smaller_first(text: str) -> None:
    low, rest = text.split(" to ")
    high, unit = rest.split(" ")
    assert ranged(f"{low} {unit}", f"{high} {unit}") == text
    assert ranged(f"{low} {unit}", f"{low} {unit}") == f"{low} {unit}"


@pytest.mark.parametrize("path", [*TEMPLATES, *FILES], ids=lambda path: "/".join(path.parts[-2:]))
def test_no_range_is_written_with_a_dash(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"[\"'] – [\"']\.join|\}\} – \{\{|\{\w+\} – \{\w+\}", text), "use drystow.messages.ranged"

"""What people may write for a quantity, and that nothing else ever does more than raise one clear sentence."""

import math
import time
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from drystow.errors import InputError
from drystow.numerals import read_number
from drystow.units import KINDS, in_file, parse, step_of

LB, OZ, IN, FT, CUP = 0.45359237, 0.028349523125, 0.0254, 0.3048, 2.365882365e-4  # exact by definition (NIST SP 811)

ACCEPTED: list[tuple[str, str, float]] = [
    ("1.8 lb", "mass", 1.8 * LB),
    ("2 lb 8 oz", "mass", 2.5 * LB),
    ("2lb8oz", "mass", 2.5 * LB),
    ("2 lb, 8 oz", "mass", 2.5 * LB),
    ("2 lb and 8 oz", "mass", 2.5 * LB),
    ("2 libras y 8 onzas", "mass", 2.5 * LB),
    ("1 kg 840 g", "mass", 1.84),
    ("5,000 lbs.", "mass", 5000 * LB),
    ("1,200 g", "mass", 1.2),
    ("1,234,567.5 mg", "mass", 1.2345675),
    ("1.2e3 g", "mass", 1.2),
    ("800 G", "mass", 0.8),
    ("3 Pounds", "mass", 3 * LB),
    ("3/4 in", "length", 0.75 * IN),
    ("1 1/2 in", "length", 1.5 * IN),
    ("1-1/2 inches", "length", 1.5 * IN),
    ("1½ in.", "length", 1.5 * IN),
    ("½ inch", "length", 0.5 * IN),
    ('3/4"', "length", 0.75 * IN),
    ("13mm", "length", 0.013),
    ("5 ft 3 1/2 in", "length", 63.5 * IN),
    ("5' 3\"", "length", 63 * IN),
    ("6 pulgadas", "length", 6 * IN),
    ("19 x 7 in", "area", 133 * IN**2),
    ("19 in × 7 in", "area", 133 * IN**2),
    ("1 ft x 6 in", "area", 0.5 * FT**2),
    ("12 1/2 by 20 in", "area", 250 * IN**2),
    ("19 in by 10 cm", "area", 19 * IN * 0.1),
    ("20 por 30 cm", "area", 0.06),
    ("0.15 m^2", "area", 0.15),
    ("230 in²", "area", 230 * IN**2),
    ("230 inch^2", "area", 230 * IN**2),
    ("1.5 sq. ft.", "area", 1.5 * FT**2),
    ("0.15 m**2", "area", 0.15),
    ("0.15 m2", "area", 0.15),
    ("½ cup", "volume", CUP / 2),
    ("2 Tazas", "volume", 2 * CUP),
    ("1 quart", "volume", 4 * CUP),
    ("12 fl oz", "volume", 1.5 * CUP),
    ("12 fl. oz.", "volume", 1.5 * CUP),
    ("1 US gallon", "volume", 16 * CUP),
    ("950 mL", "volume", 950e-6),
    ("5 cubic feet", "volume", 5 * FT**3),
    ("5 ft³", "volume", 5 * FT**3),
    ("110 F", "temperature", 316.4833333),
    ("110 °F", "temperature", 316.4833333),
    ("110 degF", "temperature", 316.4833333),
    ("110°f", "temperature", 316.4833333),
    ("−20 C", "temperature", 253.15),
    ("-20 ºC", "temperature", 253.15),
    ("300 K", "temperature", 300.0),
    ("9 °F", "temperature difference", 5.0),
    ("9 delta_degF", "temperature difference", 5.0),
    ("5 °C", "temperature difference", 5.0),
    ("5 K", "temperature difference", 5.0),
    ("1 h 30 min", "time", 5400.0),
    ("1 d 3 h", "time", 97200.0),
    ("90 mins", "time", 5400.0),
    ("2 días", "time", 172800.0),
    ("1 year", "time", 31557600.0),
    ("6 months", "time", 15778800.0),
    ("3 weeks", "time", 1814400.0),
    ("500 mTorr", "pressure", 66.66118421),
    ("0.5 Torr", "pressure", 66.66118421),
    ("500 mtorr", "pressure", 66.66118421),
    ("1 mbar", "pressure", 100.0),
    ("900 W", "power", 900.0),
    ("1.3 kWh", "energy", 4.68e6),
    ("850 kg/m³", "density", 850.0),
    ("15 W/m^2/K", "heat transfer", 15.0),
    ("15 W/(m²·K)", "heat transfer", 15.0),
    ("2 W/K", "heat conductance", 2.0),
    ("0.03 W/m/K", "conductivity", 0.03),
    ("9000 J/K", "heat capacity", 9000.0),
    ("1e4 m/s", "resistance", 1e4),
    ("5e7 1/s", "resistance slope", 5e7),
    ("0 1/m", "inverse length", 0.0),
    ("2e-5 kg/s/Pa", "vapor conductance", 2e-5),
    ("5 m^3/h", "pumping speed", 5 / 3600),
    ("0.02 mbar*L/s", "leak", 2e-3),
    ("0.02 mbar·L/s", "leak", 2e-3),
    ("0.02 g/m^2/day", "water vapor transmission", 2e-5 / 86400),
    ("0.02 g per m² per day", "water vapor transmission", 2e-5 / 86400),
    ("3%", "fraction", 0.03),
    ("0.03", "fraction", 0.03),
    ("3 percent", "fraction", 0.03),
    ("¼", "fraction", 0.25),
    ("14 cents", "money", 0.14),
    ("14¢", "money", 0.14),
    ("$0.14", "money", 0.14),
    ("0.14 €", "money", 0.14),
    ("-$2", "money", -2.0),
    ("1,299.95", "money", 1299.95),
    ("4,000 ft", "altitude", 4000 * FT),
]


@pytest.mark.parametrize(("text", "kind", "value"), ACCEPTED)
def test_what_people_write_is_understood(text: str, kind: str, value: float) -> None:
    assert parse(text, kind, "field") == pytest.approx(value, rel=1e-8)


SPANISH: list[tuple[str, str, float]] = [
    ("1.200 g", "mass", 1.2),
    ("5,5 kg", "mass", 5.5),
    ("1.234,5 g", "mass", 1.2345),
    ("5,000 kg", "mass", 5.0),
    ("1.5 kg", "mass", 1.5),
    ("0.500 kg", "mass", 0.5),
    ("2 lb 8,5 oz", "mass", 2 * LB + 8.5 * OZ),
    ("0,14 €", "money", 0.14),
    ("19,5 x 7 in", "area", 136.5 * IN**2),
    ("12.000.000 mg", "mass", 12.0),
]


@pytest.mark.parametrize(("text", "kind", "value"), SPANISH)
def test_a_spanish_reader_writes_the_decimal_comma(text: str, kind: str, value: float) -> None:
    assert parse(text, kind, "field", language="es") == pytest.approx(value, rel=1e-8)


@pytest.mark.parametrize(
    ("text", "language", "words"),
    [
        ("1,2 kg", "en", "1.2 or 1,200"),
        ("5,00 kg", "en", "5.00 or 5,000"),
        ("0,5 kg", "en", "0.5"),
        ("12,34 kg", "en", "12.34 or 12,340"),
        ("1.234,5 kg", "en", "1.5 or 1,500.5"),
        ("1.200.000 kg", "en", "1.5"),
        ("1,234.5 kg", "es", "1,5 or 1.500,5"),
        ("1,234,5 kg", "es", "1,5"),
    ],
)
def test_a_number_with_more_than_one_reading_is_asked(text: str, language: str, words: str) -> None:
    with pytest.raises(InputError, match="more than one way") as caught:
        parse(text, "mass", "field", language=language)
    assert words in caught.value.message


STEPS = [
    ("3.31 lb", "mass", 0.01 * LB),
    ("2 lb 3 oz", "mass", OZ),
    ("2 lb 3.5 oz", "mass", 0.1 * OZ),
    ("1.2e3 g", "mass", 0.1),
    ("800 g", "mass", 1e-3),
    ("1,200 g", "mass", 1e-3),
    ("52.96 oz", "mass", 0.01 * OZ),
    ("1 1/2 in", "length", IN / 2),
    ("3/4 in", "length", IN / 4),
    ("40.5 °F", "temperature", 0.1 * 5 / 9),
    ("-20 °C", "temperature", 1.0),
    ("3.0%", "fraction", 1e-3),
    ("500 mTorr", "pressure", 0.13332236842),
]


@pytest.mark.parametrize(("text", "kind", "step"), STEPS)
def test_the_step_is_one_in_the_last_digit_that_was_written(text: str, kind: str, step: float) -> None:
    assert step_of(text, kind) == pytest.approx(step, rel=1e-8)


def test_the_step_of_a_bare_number_counts_in_the_units_and_the_language_of_the_reader() -> None:
    assert step_of("3,31", "mass", bare="kg", language="es") == pytest.approx(0.01)
    assert step_of("1.200", "mass", bare="g", language="es") == pytest.approx(0.001)


REFUSED: list[tuple[Any, str, str]] = [
    ("1 kg**9**9**9", "mass", "unknown unit"),
    ("1 kg^9", "mass", "unknown unit"),
    ("9**9**9 kg", "mass", "unknown unit"),
    ("1 kg*(kg*(kg))", "mass", "unknown unit"),
    ("1 m^2^2", "area", "unknown unit"),
    ("1 furlong", "length", "furlong"),
    ("2 lb 8", "mass", "no unit"),
    ("5", "mass", "no unit"),
    (5, "mass", "no unit"),
    ("8 oz 2 lb", "mass", "larger unit first"),
    ("2 lb -8 oz", "mass", "larger unit first"),
    ("2 lb 2 lb", "mass", "larger unit first"),
    ("1 kg 5 min", "mass", "else"),
    ("20 °C 5 K", "temperature", "larger unit first"),
    ("12 C", "length", "measures something else"),
    ("19 x 7", "area", "no unit"),
    ("19 x 7 lb", "area", "measures something else"),
    ("x 7 in", "area", "start with a number"),
    ("1e400 kg", "mass", "not a usable"),
    ("9" * 79, "fraction", "not a usable"),
    (10**400, "mass", "not a usable"),
    (10**5000, "fraction", "not a usable"),
    (-(10**5000), "mass", "not a usable"),
    ("9" * 5000 + " kg", "mass", "too long"),
    (float("nan"), "fraction", "not a usable"),
    (float("inf"), "mass", "not a usable"),
    ("nan kg", "mass", "start with"),
    ("inf kg", "mass", "start with"),
    ("\ud800 kg", "mass", "start with"),
    ("1 \udfff", "mass", "unknown unit"),
    ("1 kg\x00", "mass", "unknown unit"),
    ("٣ kg", "mass", "start with"),
    ("", "mass", "start with"),
    ("1/0 kg", "mass", "start"),
    (True, "mass", "not a weight"),
    ([10**5000], "mass", "not a weight"),
    ({"a": "b" * 9999}, "mass", "not a weight"),
    ("-500 °C", "temperature", "absolute zero"),
    ("1 2 3 kg", "mass", "unknown unit"),
    ("1 kg 1 g 1 mg 1 µg 1 µg", "mass", ""),
]


@pytest.mark.parametrize(
    ("text", "kind", "words"),
    REFUSED,
    ids=lambda value: ascii(value)[:24] if isinstance(value, str) else type(value).__name__,
)
def test_what_is_no_quantity_gets_one_short_sentence(text: Any, kind: str, words: str) -> None:
    start = time.thread_time()
    with pytest.raises(InputError) as caught:
        parse(text, kind, "field")
    assert words in caught.value.message
    assert len(str(caught.value).encode()) < 400  # also: no surrogate is left in it
    assert time.thread_time() - start < 0.5


NOISE = st.text(st.characters(codec=None, categories=None), max_size=100)
PIECES = st.lists(
    st.sampled_from(
        [
            "1",
            "9" * 30,
            "0",
            "1e9",
            "e999",
            ".",
            ",",
            "1,000",
            "½",
            "/",
            "*",
            "**",
            "^",
            "(",
            ")",
            "-",
            "−",
            " ",
            "\u202f",
            "kg",
            "lb",
            "oz",
            "m",
            "in",
            "ft",
            "'",
            '"',
            "x",
            "°F",
            "C",
            "%",
            "W",
            "K",
            "day",
            "cents",
            "$",
            "\ud800",
            "\x00",
            "and",
        ]
    ),
    max_size=40,
).map("".join)
VALUES = st.one_of(
    NOISE,
    PIECES,
    st.integers(),
    st.floats(),
    st.booleans(),
    st.none(),
    st.integers(0, 6000).map(lambda power: 10**power),
)


@settings(max_examples=600, deadline=2000)
@given(VALUES, st.sampled_from(sorted(KINDS)), st.sampled_from(["", "kg", "in"]), st.sampled_from(["en", "es"]))
@example("1 " + "kg*" * 26, "mass", "", "en")
@example("1" + " 1/1" * 19, "mass", "", "en")
@example("1" + ",1" * 39, "mass", "kg", "es")
@example("9" * 40 + ".", "mass", "", "es")
@example("(" * 80, "mass", "", "en")
def test_any_input_is_a_finite_number_or_an_input_error(text: Any, kind: str, bare: str, language: str) -> None:
    try:
        value, step = parse(text, kind, "field", bare, language), step_of(text, kind, bare, language)
    except InputError as problem:
        told = str(problem)
    else:
        told = ""
        assert math.isfinite(value)
        assert step >= 0.0
    assert len(told.encode()) < 900  # no surrogate is left in it


@given(NOISE | PIECES, st.sampled_from(["en", "es"]))
def test_any_text_is_a_finite_plain_number_or_an_input_error(text: str, language: str) -> None:
    try:
        assert math.isfinite(read_number(text, language, "field"))
    except InputError as problem:
        str(problem).encode()


# -- numbers as files write them ---------------------------------------------------------------------------------------

amounts = st.floats(1e-9, 1e9, allow_subnormal=False)
kinds = st.sampled_from(sorted(KINDS))


@given(kinds, amounts)
def test_a_number_is_written_so_that_it_reads_back_the_same(kind: str, value: float) -> None:
    assert parse(in_file(value, kind), kind, "field") == value

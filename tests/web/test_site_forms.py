"""What people type into the fields of forms, in both languages and both systems of units."""

from contextlib import suppress
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.utils import translation
from hypothesis import example, given
from hypothesis import strategies as st

from drystow.shown import DISPLAY, show
from drystow.units import KINDS, parse
from drystow.web.kit import records
from drystow.web.kit.forms import KITCHEN_UNITS, QuantityField, money_field, number_field
from drystow.web.kit.words import in_words
from drystow.web.plans.fields import SpaceField

LB, OZ, IN, FT = 0.45359237, 0.028349523125, 0.0254, 0.3048  # exact by definition (NIST SP 811)


def field(kind: str, units: str = "us") -> QuantityField:
    made = QuantityField(kind, low=-1e12, high=1e12)
    made.units = units
    return made


@pytest.mark.parametrize(
    ("kind", "units", "language", "text", "value"),
    [
        ("altitude", "us", "en", "5,000", 5000 * FT),
        ("altitude", "us", "en", "5,000 ft", 5000 * FT),
        ("altitude", "si", "es", "1.500", 1500.0),
        ("small mass", "si", "en", "1,200 g", 1.2),
        ("small mass", "si", "es", "1.200 g", 1.2),
        ("small mass", "si", "es", "5,5", 0.0055),
        ("mass", "us", "en", "2 lb 8 oz", 2.5 * LB),
        ("mass", "us", "en", "1½", 1.5 * LB),
        ("mass", "us", "es", "2,5", 2.5 * LB),
        ("mass", "us", "es", "2.5", 2.5 * LB),
        ("small mass", "us", "en", "2 lb 8 oz", 2.5 * LB),
        ("temperature", "us", "en", "110", 316.4833333),
        ("temperature", "us", "en", "110 F", 316.4833333),
        ("temperature", "us", "en", "110 °F", 316.4833333),
        ("temperature", "si", "en", "110 F", 316.4833333),
        ("temperature", "si", "es", "-20,5", 252.65),
        ("length", "us", "en", "3/4", 0.75 * IN),
        ("length", "us", "en", '1 1/2"', 1.5 * IN),
        ("area", "us", "en", "19 x 7 in", 133 * IN**2),
        ("volume", "us", "en", "½ cup", 1.1829411825e-4),
        ("volume", "us", "es", "½ taza", 1.1829411825e-4),
        ("volume", "us", "es", "2 cda.", 2.957352956e-5),  # a US tablespoon is 1/16 of a cup
        ("fraction", "us", "en", "3", 0.03),
        ("fraction", "us", "es", "3,5 %", 0.035),
        ("time", "us", "en", "1 h 30 min", 5400.0),
    ],
)
def test_a_quantity_is_read_by_the_language_and_the_units_of_the_reader(
    kind: str, units: str, language: str, text: str, value: float
) -> None:
    with translation.override(language):
        assert field(kind, units).clean(text) == pytest.approx(value, rel=1e-8)


@pytest.mark.parametrize(
    ("language", "text", "words"),
    [("en", "1,2", "1.2 or 1,200"), ("en", "5,00 lb", "5.00 or 5,000"), ("es", "1,234.5", "1,5 o 1.500,5")],
)
def test_a_number_with_two_readings_is_asked_in_the_reader_s_language(language: str, text: str, words: str) -> None:
    plain = number_field()
    for one in (field("mass"), plain, money_field()):
        with translation.override(language), pytest.raises(ValidationError) as caught:
            one.clean(text if one is not plain else text.removesuffix(" lb"))
        assert words in str(caught.value.messages)


@pytest.mark.parametrize(("language", "text", "space"), [("en", "5 cu ft", 5 * FT**3), ("es", "0,5", 0.5 * FT**3)])
def test_freezer_space_is_read_the_same_way(language: str, text: str, space: float) -> None:
    with translation.override(language):
        assert SpaceField().clean(text) == pytest.approx(space)


@pytest.mark.parametrize(
    ("sign", "language", "text", "value"),
    [
        ("$", "en", "14 cents", 0.14),
        ("$", "en", "$0.14", 0.14),
        ("$", "en", "1,299", 1299.0),
        ("€", "es", "0,14 €", 0.14),
        ("€", "es", "14 céntimos", 0.14),
        ("MX$", "es", "$1.299,50", 1299.5),
    ],
)
def test_money_is_read_with_its_sign_and_in_cents(sign: str, language: str, text: str, value: float) -> None:
    records.change(records.kitchen(), {"currency": sign}, expected=1)
    with translation.override(language):
        assert money_field().clean(text) == pytest.approx(value)


def test_money_of_another_country_is_refused() -> None:
    with pytest.raises(ValidationError, match="this kitchen uses"):
        money_field().clean("0.14 €")


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("kind", sorted({"mass", "small mass", "length", "temperature", "altitude", "volume"}))
@given(value=st.floats(200.0, 900.0))
def test_what_a_field_shows_is_read_again_as_the_same(kind: str, units: str, language: str, value: float) -> None:
    with translation.override(language):
        one = field(kind, units)
        shown = one.prepare_value(value)
        assert one.prepare_value(one.clean(shown)) == shown


@pytest.mark.parametrize("language", ["en", "es"])
@given(value=st.integers(-(10**9), 10**9).map(lambda whole: whole / 1e4))
def test_what_a_number_field_shows_is_read_again_as_the_same(language: str, value: float) -> None:
    with translation.override(language):
        one = number_field()
        shown = one.widget.format_value(one.prepare_value(value))
        assert one.clean(shown) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("language", ["en", "es"])
@given(text=st.text(st.characters(codec=None), min_size=1, max_size=90))
@example(text="1E100")
def test_any_text_is_a_number_or_told_beside_its_field(language: str, text: str) -> None:
    with translation.override(language):
        fields = [field(kind) for kind in KITCHEN_UNITS]
        for one in (*fields, SpaceField(), number_field(required=False), money_field()):
            value: Any = None
            with suppress(ValidationError):
                value = one.clean(text)
            assert value is None or abs(value) < 1e31


def test_a_field_tells_the_step_of_what_was_typed() -> None:
    assert field("mass").step("3.31") == pytest.approx(0.01 * LB)
    assert field("small mass").step("2 lb 3 oz") == pytest.approx(OZ)
    with translation.override("es"):
        assert field("mass", "si").step("3,310") == pytest.approx(0.001)


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("kind", sorted(set(DISPLAY) & (set(KINDS) | {"small mass"})))
@given(value=st.floats(256.0, 900.0))
def test_every_quantity_that_is_shown_is_understood(kind: str, system: str, language: str, value: float) -> None:
    with translation.override(language):
        shown = in_words(show(value * (1e-3 if kind == "volume" else 1.0), kind, system))
        again = parse(shown, "mass" if kind == "small mass" else kind, "", language=language)
        assert in_words(show(again, kind, system)) == shown

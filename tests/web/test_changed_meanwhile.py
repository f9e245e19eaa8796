"""Values of records are told as pages show them, in the units and language of the reader, never as they are stored."""

import re

import pytest
from django.test import Client
from django.utils import translation

from drystow.web.kit import records
from drystow.web.kit.differences import field_words, record_kinds, refusal_words, tell, value_words
from drystow.web.kit.display_names import UNITS
from drystow.web.kit.models import Change, Kitchen
from drystow.web.kit.reader import reading_in
from drystow.web.pantry.models import Place
from tests.web.reader_units import in_other_units

BARE = {"energy_kcal", "energy_kcal_day", "protein_g", "protein_g_day", "tariff_per_kwh", "value_per_kg", "total_c"}
"""Nutrition, prices for one, and a sum that nobody reads."""


def columns() -> list[tuple[type[records.Record], str]]:
    return [
        (model, field.name)
        for model in record_kinds().values()
        for field in model._meta.concrete_fields
        if field.get_internal_type() == "FloatField" and field.name not in BARE
    ]


def test_every_column_with_a_unit_in_its_name_is_shown_with_the_readers_unit() -> None:
    seen = 0
    for model, name in columns():
        unit = name.rpartition("_")[2]
        if unit not in UNITS:
            continue
        seen += 1
        for units in ("us", "si"):
            with reading_in(units):
                words = value_words(model, name, 0.75, units)
            assert re.search(r"\d\s\S", words), (name, words)
            assert not in_other_units([words], units), (name, words)
            assert not re.search(rf"\b{unit}\b", field_words(model, name)), field_words(model, name)
    assert seen > 25


def test_no_column_has_a_unit_that_is_not_known() -> None:
    known = {*UNITS, "sd"}
    odd = {name for _model, name in columns() if len(name.rpartition("_")[2]) <= 3 and "_" in name} - {
        name for _model, name in columns() if name.rpartition("_")[2] in known
    }
    assert not odd


@pytest.mark.parametrize(
    ("units", "language", "told"),
    [
        ("us", "en", "Temperature: now “57 °F”, you wrote “61 °F”"),
        ("si", "en", "Temperature: now “14.0 °C”, you wrote “16.0 °C”"),
        ("si", "es", "Temperatura: ahora «14,0 °C», usted escribió «16,0 °C»"),
    ],
)
def test_who_changed_the_same_is_told_both_values_as_pages_show_them(units: str, language: str, told: str) -> None:
    place = records.create(Place(name="Cellar", temperature_c=12.0))
    records.change(place, {"temperature_c": 14.0}, expected=1)
    with pytest.raises(records.Conflict) as caught:
        records.change(place, {"temperature_c": 16.0}, expected=1)
    with reading_in(units), translation.override(language):
        assert told in refusal_words(caught.value, units)


def test_the_history_tells_a_change_in_the_readers_units(client: Client) -> None:
    Kitchen.objects.update_or_create(defaults={"units": "us"})
    place = records.create(Place(name="Cellar", temperature_c=12.0))
    records.change(place, {"temperature_c": 14.0}, expected=1)
    with reading_in("us"):
        (change,) = tell([Change.objects.get(version=2, kind="pantry.place")], "us")
    (row,) = change.differences
    assert (row.field, row.before, row.after) == ("Temperature", "54 °F", "57 °F")

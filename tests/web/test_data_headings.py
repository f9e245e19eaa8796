"""Headings of tables are the names that pages use, each once and with its unit; values stay plain."""

import re

import pytest
from django.test import Client
from django.utils import translation

from drystow.web.data.tables import BY_NAME, TABLES

OLD = re.compile(r"_|\b(profile|bin|binned|tare|gross|mass|shop|kg day|id|ready by|lots)\b", re.IGNORECASE)


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("name", sorted(BY_NAME))
def test_no_heading_is_the_name_of_a_column_and_none_stands_twice(name: str, language: str) -> None:
    with translation.override(language):
        titles = BY_NAME[name].titles
    assert [title for title in titles if OLD.search(title) or not title] == []
    assert len(set(titles)) == len(titles) == len(BY_NAME[name].columns), sorted(titles)


def test_a_heading_names_the_unit_of_its_values() -> None:
    with translation.override("en"):
        titles = {table.name: dict(zip(table.columns, table.titles, strict=True)) for table in TABLES}
    assert titles["weighings"]["tare_g"] == "Empty-tray weight (g)"
    assert titles["items"]["mass_kg"] == "Weight (kg)"
    assert titles["places"]["temperature_c"] == "Temperature (°C)"
    assert titles["lots"]["value_per_kg"] == "Worth (1/kg)"
    assert titles["dryers"]["profile"] == "Starting numbers"


def test_the_page_says_how_values_are_written(client: Client) -> None:
    page = client.get("/data/").content.decode()
    assert "Dates are written 2027-03-12, and each heading names the metric unit." in page

"""Rows that the tests of seasons begin with: a small garden of Alder Lane Kitchen."""

from datetime import date
from typing import Any

from drystow.foods import table
from drystow.web.kit import records
from drystow.web.plans.models import Choice, Crop, Season

BERRIES = table.get("Strawberries, raw")


def a_season(**values: Any) -> Season:
    usual = {"title": "Summer", "begin": date(2026, 5, 25), "weeks": 6, "rounds": 2, "home": {"weekend": ["8-22"]}}
    return records.create(Season(**(usual | values)))


def a_crop(season: Season, **values: Any) -> Crop:
    usual = {
        "name": "Strawberries", "food": BERRIES.id, "size_m": 0.009, "first": date(2026, 6, 1),
        "peak": date(2026, 6, 12), "last": date(2026, 6, 25), "mass_kg": 60.0, "per_week": 3.0, "value_per_kg": 9.0,
    }  # fmt: skip
    return records.create(Crop(season=season, **(usual | values)))


def a_choice(season: Season, name: str = "Now", *profiles: str, **values: Any) -> Choice:
    dryers = [{"profile": profile} for profile in profiles or ("bench-4",)]
    return records.create(Choice(season=season, name=name, **({"dryers": dryers} | values)))


def a_full_season(**values: Any) -> Season:
    season = a_season(**values)
    a_crop(season)
    a_choice(season)
    a_choice(season, "Two", "bench-4", "bench-4", price=2000.0)
    return season

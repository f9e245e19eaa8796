"""The garden to begin with: Alder Lane Kitchen's, invented, moved to the coming season."""

import tomllib
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.foods import table
from drystow.messages import msg
from drystow.units import parse
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.plans.models import Choice, Crop, Season

WORDS = msg("A made-up garden to look around in. Change what is different in yours.")
USUAL_VALUE = 1.0
NAMES = (lazy("The dryer you have"), lazy("A small one next to it"), lazy("A large one instead"))
"""Of the choices in the example garden, in their order."""


@cache
def _written() -> dict[str, Any]:
    text = files("drystow.planning").joinpath("example_garden.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def save_example(today: date, dryers: list[Dryer], who: str) -> Season:
    """Save the example garden as a season that has not begun, and return it.

    today: the season is the next one after it
    dryers: of the kitchen, that are there now; the example's own when there is none
    who: saves it
    """
    raw = _written()
    later = today.year - raw["begin"].year
    later += _moved(raw["begin"], later) <= today
    with records.one_action():
        season = Season(
            title=_("Alder Lane’s garden (made up)"),
            begin=_moved(raw["begin"], later),
            weeks=raw["weeks"],
            home=raw["home"],
            freezer_m3=parse(raw["freezer"]["space"], "volume", ""),
            apart=["smells", "colours"],
        )
        season = records.create(season, who=who, words=WORDS)
        for row in raw["crop"]:
            records.create(_crop(season, row, later), who=who, words=WORDS)
        for choice in _choices(season, raw["choice"], dryers):
            records.create(choice, who=who, words=WORDS)
    return season


def save_first_choice(season: Season, dryers: list[Dryer], who: str, words: str) -> None:
    """Save the dryers of the kitchen as what there is now.

    season: a new one
    dryers: of the kitchen
    who: saves it
    words: of the history
    """
    if dryers:
        now = Choice(season=season, name=_("What you have now"), dryers=[{"dryer": row.pk} for row in dryers])
        records.create(now, who=who, words=words)


def _moved(day: date, years: int) -> date:
    return day.replace(year=day.year + years)


def _crop(season: Season, row: dict[str, Any], later: int) -> Crop:
    return Crop(
        season=season,
        name=row["name"],
        food=table.get(row["food"]).id,
        shape=row.get("shape", "slab"),
        size_m=round(parse(row["size"], "length", ""), 6),
        tray_kg=round(parse(row["tray_mass"], "mass", ""), 4) if "tray_mass" in row else None,
        first=_moved(row["first"], later),
        peak=_moved(row["peak"], later),
        last=_moved(row["last"], later),
        mass_kg=round(parse(row["mass"], "mass", ""), 3),
        uncertain=row.get("uncertain", 0.25),
        per_week=row.get("per_week", 2.0),
        value_per_kg=float(row.get("value", USUAL_VALUE)),
    )


def _choices(season: Season, rows: list[dict[str, Any]], dryers: list[Dryer]) -> list[Choice]:
    """Return the choices of the example; the dryers of the kitchen stand for the one that is there."""
    there: list[dict[str, Any]] = [{"dryer": row.pk} for row in dryers[:3]]
    found = []
    for row, _marked in zip(rows, NAMES, strict=True):
        own: list[dict[str, Any]] = [{"profile": one["profile"]} for one in row["dryer"]]
        if there and own[0] == {"profile": "kitchen-5"}:
            own = there + own[1:]
        found.append(
            Choice(
                season=season, name=_(row["name"]), dryers=own, price=float(row["price"]), years=row.get("years", 10)
            )
        )
    return found

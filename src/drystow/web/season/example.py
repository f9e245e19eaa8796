"""The garden to begin with: Alder Lane Kitchen's, invented, moved to the coming season."""

import tomllib
from collections.abc import Sequence
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.fields import Problems
from drystow.messages import msg
from drystow.planning.season.garden import ChoiceSpec, GardenCrop, GardenSpec
from drystow.planning.season.garden_file import garden_spec
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.plans.models import Choice, Crop, Season

WORDS = msg("A made-up garden to look around in. Change what is different in yours.")
NAMES = (lazy("The dryer you have"), lazy("A small one next to it"), lazy("A large one instead"))
"""Of the choices in the example garden, in their order."""


@cache
def _example() -> GardenSpec:
    text = files("drystow.planning").joinpath("example_garden.toml").read_text(encoding="utf-8")
    return garden_spec(tomllib.loads(text), Problems())


def save_example(today: date, dryers: list[Dryer], who: str) -> Season:
    """Save the example garden as a season that has not begun, and return it.

    today: the season is the next one after it
    dryers: of the kitchen, that are there now; the example's own when there is none
    who: saves it
    """
    spec = _example()
    begin = spec.kitchen.begin.date()
    later = today.year - begin.year
    later += _moved(begin, later) <= today
    with records.one_action():
        season = Season(
            title=_("Alder Lane’s garden (made up)"),
            begin=_moved(begin, later),
            weeks=spec.weeks,
            home=spec.kitchen.home,
            freezer_m3=spec.kitchen.freezer,
            apart=["smells", "colours"],
        )
        season = records.create(season, who=who, words=WORDS)
        for crop in spec.crops:
            records.create(_crop(season, crop, later), who=who, words=WORDS)
        for choice in _choices(season, spec.choices, dryers):
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


def _crop(season: Season, crop: GardenCrop, later: int) -> Crop:
    arrival = crop.arrival
    return Crop(
        season=season,
        name=crop.name,
        food=arrival.tray.food.id,
        shape=arrival.tray.shape,
        size_m=round(arrival.tray.size, 6),
        tray_kg=None if arrival.tray_mass is None else round(arrival.tray_mass, 4),
        first=_moved(crop.first, later),
        peak=_moved(crop.peak, later),
        last=_moved(crop.last, later),
        mass_kg=round(crop.mass, 3),
        uncertain=crop.uncertain,
        per_week=crop.per_week,
        value_per_kg=arrival.value,
    )


def _choices(season: Season, specs: Sequence[ChoiceSpec], dryers: list[Dryer]) -> list[Choice]:
    """Return the choices of the example; the dryers of the kitchen stand for the one that is there."""
    there: list[dict[str, Any]] = [{"dryer": row.pk} for row in dryers[:3]]
    found = []
    for spec, words in zip(specs, NAMES, strict=True):
        own: list[dict[str, Any]] = [{"profile": one.rig.profile} for one in spec.dryers]
        if there and own[0] == {"profile": "kitchen-5"}:
            own = there + own[1:]
        found.append(Choice(season=season, name=str(words), dryers=own, price=spec.price, years=spec.years))
    return found

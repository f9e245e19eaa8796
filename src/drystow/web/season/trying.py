"""Seasons are tried out beside the requests; the answer, kept until what it rests on changes, as its page shows it."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import isfinite

from django.shortcuts import get_object_or_404
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from drystow.errors import DrystowError, InputError
from drystow.figures import fixed
from drystow.messages import ranged
from drystow.numerics.remembered import by_value, remembered
from drystow.planning.season.answer import ChoiceAnswer, Pay, SeasonAnswer, Week, try_seasons
from drystow.planning.season.garden import OverSeasons
from drystow.reports.season_chart import WeekShown, season_picture
from drystow.shown import money as money_text
from drystow.shown import percent, show, to_display
from drystow.web.dryers.adapters import dryer_in_words
from drystow.web.kit.answers import AnswerRecipe, KeptAnswer, Kind, Problem, Tell, problem_of
from drystow.web.kit.codec import Sentence
from drystow.web.kit.drawing import Drawing, drawing_of
from drystow.web.kit.reader import reader
from drystow.web.kit.words import in_words
from drystow.web.plans.fields import PER
from drystow.web.plans.models import Season
from drystow.web.season.spec import SeasonBasis, garden_of, season_basis, season_mark

FIELD = re.compile(r"^(crop|choice)\[(\d+)\]")


@dataclass(frozen=True)
class TriedSeason:
    """The answer of a season.

    answer: of the engine, without its sentences
    notes, cautions: its sentences, to be told in any language
    """

    answer: SeasonAnswer
    notes: tuple[Sentence, ...]
    cautions: tuple[Sentence, ...]


@dataclass(frozen=True)
class KnownSeason:
    """What is known of a season now.

    row: its answer as last worked out, None when it never was
    basis: that it rests on today, None when that cannot even be read
    current: the answer rests on what stands in the database today
    share: how far the work is, 0 to 100; None when nobody works on it
    """

    row: KeptAnswer[TriedSeason] | None
    basis: SeasonBasis | None
    current: bool
    share: int | None


def known_season(season: Season) -> KnownSeason:
    """Return what is known of a season; nothing is worked out before somebody asks for it."""
    row = SEASON.kept(season.pk)
    basis, mark = None, ""
    try:
        basis = season_basis(season)
        mark = season_mark(basis)
    except DrystowError:  # told when it is tried
        pass
    return KnownSeason(row, basis, row is not None and row.fingerprint == mark, SEASON.task.percent(season.pk))


def _basis(pk: int, _wishes: None) -> SeasonBasis | None:
    season = Season.objects.kept().filter(pk=pk).first()
    basis = None if season is None else season_basis(season)
    return basis if basis is not None and basis.crops and basis.choices else None


def _try(basis: SeasonBasis, _before: KeptAnswer[TriedSeason] | None, tell: Tell) -> TriedSeason:
    answer = try_seasons(garden_of(basis), tell)
    return TriedSeason(replace(answer, notes=(), cautions=()), answer.notes, answer.cautions)


def _problem(error: DrystowError, basis: SeasonBasis | None) -> Problem:
    """Return a problem as it is kept, with the crop or the choice that it is about."""
    match = FIELD.match(error.field) if isinstance(error, InputError) else None
    if match is None or basis is None:
        return problem_of(error)
    row = (basis.crops if match[1] == "crop" else basis.choices)[int(match[2]) - 1]
    return replace(problem_of(error), page=f"season-{match[1]}", pk=row.pk, name=row.name)


SEASON = Kind("season", TriedSeason, "minutes", tells_refusal=True)
"""Whether the dryers can keep up with a season."""
SEASON.worked_out_by(AnswerRecipe(_basis, season_mark, _try, _problem))


@dataclass(frozen=True)
class NumberRow:
    """One line of the table.

    label: what it tells
    cells: for each choice, the number and below it its range or more, in words
    choices: their names
    """

    label: str
    cells: tuple[tuple[str, str], ...]
    choices: tuple[str, ...]

    @property
    def named_cells(self) -> tuple[tuple[str, str, str], ...]:
        """The cells, each behind the name of its choice, as a narrow screen shows them."""
        return tuple((name, *cell) for name, cell in zip(self.choices, self.cells, strict=True))


def number_rows(choices: Sequence[ChoiceAnswer], units: str, currency: str) -> tuple[NumberRow, ...]:
    """Return the table in the reader's units.

    choices: as they were kept
    units: of the reader
    currency: sign of the kitchen
    """

    def mass(value: float) -> str:
        return rough_mass(value, units)

    def money(value: float) -> str:
        return in_words(money_text(value, currency, 0))

    def row(label: str, cell: Callable[[ChoiceAnswer], tuple[str, str]]) -> NumberRow:
        return NumberRow(label, tuple(cell(choice) for choice in choices), names)

    names = tuple(str(choice.name) for choice in choices)
    each = _("Total cost per pound") if units == "us" else _("Total cost per kilogram")
    return (
        row(_("Dried"), lambda one: _spread(one.dried, mass)),
        row(_("Lost"), lambda one: _spread(one.lost, mass)),
        row(_("Worth of what is lost"), lambda one: _spread(one.value, money)),
        row(_("Weeks with losses"), lambda one: _spread(one.weeks_lost, _whole)),
        row(_("Batches"), lambda one: _spread(one.batches, _whole)),
        row(_("Total hours the dryers run"), lambda one: _spread(one.time, lambda time: _whole(time / 3600.0))),
        row(_("Electricity"), lambda one: _spread(one.energy, _energy)),
        row(_("Its cost"), lambda one: _spread(one.cost, money)),
        row(
            _("Freezer at its fullest"),
            lambda one: (
                in_words(percent(one.freezer.middle)),
                _("days when it is full: {days}").format(days=_range(one.freezer_days, _whole)),
            ),
        ),
        row(
            each,
            lambda one: (
                ("–", "") if one.per_kg is None else (in_words(money_text(one.per_kg * PER[units], currency)), "")
            ),
        ),
    )


def rough_mass(mass: float, units: str) -> str:
    """Return a mass as one says it of a whole season, without the digits that are only drawn.

    mass: [kg]
    units: of the reader
    """
    return in_words(show(mass, "mass", units, 0 if abs(to_display(mass, "mass", units)) >= 10 else 1))


def _spread(kept: OverSeasons, words: Callable[[float], str]) -> tuple[str, str]:
    return words(kept.middle), _range(kept, words)


def _range(kept: OverSeasons, words: Callable[[float], str]) -> str:
    """Return what one season in ten stays under and goes over, as one number where both read the same."""
    low, high = words(kept.low), words(kept.high)
    return in_words(ranged(low, high))


def _whole(value: float) -> str:
    return fixed(value, 0, reader().signs)


def _energy(energy: float) -> str:
    return in_words(show(energy, "energy", decimals=0))


TIGHT = 0.1  # part of the seasons from which a week is told as tight
MOST_TOLD = 3
LITTLE = 0.1  # less is nothing [kg]


@dataclass(frozen=True)
class Pays:
    """A choice against the first one.

    more: food dried beyond it in a year, on average, in words
    few: in one year of ten less, in words; empty where that is nothing
    many: in one year of ten more, in words
    cost: beyond it, in a year [currency]
    price: of a pound or kilogram more; None when nothing more is dried [currency]
    low, high: the same season by season; the high end None when it has none [currency]
    value: of a pound or kilogram more on average [currency]
    years: until it is paid back, None when it never is
    pays: before it is worn out
    """

    more: str
    few: str
    many: str
    cost: float
    price: float | None
    low: float | None
    high: float | None
    value: float | None
    years: float | None
    pays: bool


@dataclass(frozen=True)
class ChoiceShown:
    """What one choice of dryers comes to.

    name: of the choice
    dryers: their names
    enough: seasons in which it is enough
    row: ranges and numbers
    lost: part of the food's worth that is lost, and at most in nine of ten seasons [percent]
    tight: weeks in which food is lost, worst first: first day, seasons in which it is
    crops: that lose most: name and mass in words
    pay: against the first choice, None for it
    drawing: week by week
    """

    name: str
    dryers: tuple[str, ...]
    enough: int
    row: ChoiceAnswer
    lost: tuple[float, float]
    tight: tuple[tuple[date, int], ...]
    crops: tuple[tuple[str, str], ...]
    pay: Pays | None
    drawing: Drawing


@dataclass(frozen=True)
class SeasonShown:
    """The answer of a season.

    seasons: that were tried
    came: food of a season, in one of ten less and in one of ten more, in words
    choices: what each comes to
    numbers: the table, one line for each number
    notes, cautions: sentences
    """

    seasons: int
    came: tuple[str, str]
    choices: tuple[ChoiceShown, ...]
    numbers: tuple[NumberRow, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]


def season_view(tried: TriedSeason, units: str, currency: str) -> SeasonShown:
    """Return the answer of a season.

    tried: as it was kept
    units: of the reader
    currency: sign of the kitchen
    """
    result = tried.answer
    return SeasonShown(
        seasons=result.seasons,
        came=(rough_mass(result.came.low, units), rough_mass(result.came.high, units)),
        choices=tuple(_choice(row, units, result.seasons) for row in result.choices),
        numbers=number_rows(result.choices, units, currency),
        notes=tried.notes,
        cautions=tried.cautions,
    )


def _choice(row: ChoiceAnswer, units: str, seasons: int) -> ChoiceShown:
    tight = sorted(
        (week for week in row.weeks if week.tight >= TIGHT),
        key=lambda week: (-week.lost.mean, week.begin),
    )
    crops = sorted(row.crops, key=lambda crop: -crop.lost.mean)[:MOST_TOLD]
    share = row.share
    return ChoiceShown(
        name=row.name,
        dryers=tuple(map(dryer_in_words, row.dryers)),
        enough=row.enough,
        row=row,
        lost=(100.0 * share.middle, 100.0 * share.high),
        tight=tuple((week.begin, round(seasons * week.tight)) for week in tight[:MOST_TOLD]),
        crops=tuple((crop.name, rough_mass(crop.lost.mean, units)) for crop in crops if crop.lost.mean >= LITTLE),
        pay=None if row.pay is None else _pays(row.pay, units),
        drawing=_drawing(row.weeks, units, get_language()),
    )


def _pays(pay: Pay, units: str) -> Pays:
    return Pays(
        more=rough_mass(pay.more.mean, units),
        few=rough_mass(pay.more.low, units) if pay.more.low >= LITTLE else "",
        many=rough_mass(pay.more.high, units),
        cost=pay.cost.mean,
        price=_per(pay.price, units),
        low=None if pay.prices is None else _per(pay.prices.low, units),
        high=None if pay.prices is None else _per(pay.prices.high, units),
        value=_per(pay.value, units),
        years=pay.years,
        pays=pay.pays,
    )


def _per(price: float | None, units: str) -> float | None:
    """Return a price of a kilogram for what the reader weighs with, None for one without an end."""
    return None if price is None or not isfinite(price) else price * PER[units]


@remembered(24, by_value)
def _drawing(weeks: Sequence[Week], units: str, _language: str | None) -> Drawing:
    """Return the picture of a choice, drawn once for as long as it stays the same."""
    rows = [
        WeekShown(
            begin=week.begin,
            came=week.came.mean,
            low=week.came.low,
            high=week.came.high,
            lost=week.lost.mean,
            loaded=week.dried.mean,
        )
        for week in weeks
    ]
    return drawing_of(season_picture(rows, units))


def kept_season(pk: int) -> Season:
    """Return a season, or answer that there is none."""
    season: Season = get_object_or_404(Season.objects.kept(), pk=pk)
    return season

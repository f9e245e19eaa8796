"""Seasons are tried out beside the requests; the answer is kept until what it rests on changes."""

import re
from dataclasses import dataclass, replace

from drystow.errors import DrystowError, InputError
from drystow.planning.season.answer import SeasonAnswer, try_seasons
from drystow.web.kit.answers import AnswerRecipe, KeptAnswer, Kind, Problem, Tell, problem_of
from drystow.web.kit.codec import Sentence
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

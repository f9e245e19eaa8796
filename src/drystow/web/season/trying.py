"""Seasons are tried out beside the requests, one at a time; the answer is kept until what it rests on changes."""

import re
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from drystow.errors import DrystowError, InputError
from drystow.planning.season.answer import try_seasons
from drystow.reports.plain_data import season_dict
from drystow.web.kit.answers import worked_out_by
from drystow.web.kit.background import Queue
from drystow.web.kit.words import sentence_json
from drystow.web.plans.models import Season, Tried
from drystow.web.season.spec import SeasonBasis, garden_of, season_basis, season_mark

FIELD = re.compile(r"^(crop|choice)\[(\d+)\]")
FORM = 1
"""Counts up whenever an answer is kept in another form; answers of other forms are not shown."""


@dataclass(frozen=True)
class KnownSeason:
    """What is known of a season now.

    row: its answer as last worked out, None when it never was
    basis: that it rests on today, None when that cannot even be read
    current: the answer rests on what stands in the database today
    share: how far the work is, 0 to 100; None when nobody works on it
    """

    row: Tried | None
    basis: SeasonBasis | None
    current: bool
    share: int | None


def known_season(season: Season) -> KnownSeason:
    """Return what is known of a season; nothing is worked out before somebody asks for it."""
    row = Tried.objects.filter(season=season).first()
    basis, mark = None, ""
    try:
        basis = season_basis(season)
        mark = season_mark(basis)
    except DrystowError:  # told when it is tried
        pass
    if row is not None and row.result.get("form") != FORM:
        row = None
    return KnownSeason(row, basis, row is not None and row.fingerprint == mark, QUEUE.percent(season.pk))


def work_out(pk: int) -> Tried | None:
    """Try out a season, now and here, and keep the answer; None when there is nothing to try."""
    season = Season.objects.kept().filter(pk=pk).first()
    if season is None:
        return None
    mark, basis = "", None
    try:
        basis = season_basis(season)
        if not basis.crops or not basis.choices:
            return None
        mark = season_mark(basis)
        answer = try_seasons(garden_of(basis), lambda share: QUEUE.tell(pk, share))
        result: dict[str, Any] = season_dict(answer) | {
            "notes": [sentence_json(note) for note in answer.notes],
            "cautions": [sentence_json(caution) for caution in answer.cautions],
            "problems": [],
        }
    except DrystowError as error:
        result = {"problems": [_problem(one, basis) for one in error.problems]}
    values = {"fingerprint": mark, "at": timezone.now(), "result": result | {"form": FORM}}
    return Tried.objects.update_or_create(season=season, defaults=values)[0]


QUEUE = Queue("seasons", work_out)
"""Seasons that are asked about."""
worked_out_by(Tried, QUEUE.ask)


def _problem(error: DrystowError, basis: SeasonBasis | None) -> dict[str, Any]:
    """Return a problem as it is kept, with the crop or the choice that it is about."""
    if not isinstance(error, InputError):
        return sentence_json(str(error))
    told = sentence_json(error.message)
    match = FIELD.match(error.field)
    if match is None or basis is None:
        return told
    row = (basis.crops if match[1] == "crop" else basis.choices)[int(match[2]) - 1]
    return told | {"page": f"season-{match[1]}", "pk": row.pk, "name": row.name}

"""Searches for one batch, worked out beside the requests, one at a time; kept in a row."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils import timezone

from drystow.errors import DrystowError
from drystow.planning.load.best_load import plan_load
from drystow.planning.program.best_program import ProgramWishes, find_program
from drystow.units import kelvin
from drystow.web.batches.models import Batch
from drystow.web.kit.answers import worked_out_by
from drystow.web.kit.background import Queue
from drystow.web.plans.batch_adapters import basket_of, load_question, program_question
from drystow.web.plans.found_json import load_json, problems_json, program_json
from drystow.web.plans.models import Search

Tick = Callable[[int], None]
_tried: dict[int, int] = {}  # simulations so far of the searches at work
_stopped: set[int] = set()  # searches that are to be broken off


class _Stopped(Exception):
    """Somebody does not want to wait any longer."""


@dataclass(frozen=True)
class SearchState:
    """What is known of a search now.

    row: as last asked for, None when it never was
    current: it was found for the batch as it is
    working: it is being searched, or waits for another search
    tried: simulations so far
    """

    row: Search | None = None
    current: bool = False
    working: bool = False
    tried: int = 0

    @property
    def found(self) -> bool:
        """There is an answer."""
        return self.row is not None and self.row.at is not None

    @property
    def broken_off(self) -> bool:
        """It was asked for, and nobody works on it any more."""
        return self.row is not None and self.row.at is None and not self.working


def search_of(batch: Batch, kind: str) -> Search | None:
    """Return the last search of a kind for a batch, None also when nobody can read what was asked."""
    row = Search.objects.filter(batch=batch, kind=kind).first()
    return row if row is not None and row.asked else None


def answer_state(row: Search | None, fingerprint: str) -> SearchState:
    """Return what is known of a search.

    fingerprint: of what it would rest on now, empty when the engine refuses that
    """
    if row is None:
        return SearchState()
    working = QUEUE.percent(row.pk) is not None
    current = row.at is not None and row.fingerprint == fingerprint
    return SearchState(row, current, working, _tried.get(row.pk, 0))


def ask(batch: Batch, kind: str, asked: Mapping[str, Any]) -> Search:
    """Have something searched for in the background; what was found before is gone."""
    values = {"asked": asked, "fingerprint": "", "at": None, "result": {}}
    row = Search.objects.update_or_create(batch=batch, kind=kind, defaults=values)[0]
    _stopped.discard(row.pk)
    QUEUE.ask(row.pk)
    return row


def stop(row: Search) -> None:
    """Break a search off that waits or is at work."""
    if QUEUE.percent(row.pk) is not None:
        _stopped.add(row.pk)


def work_out(pk: int) -> Search | None:
    """Search now and here, and keep what is found; None when the batch is gone, its run has begun, or it is stopped."""
    rows = Search.objects.select_related("batch__dryer__learned")
    rows = rows.filter(batch__binned_at=None, batch__started_at=None)
    _tried[pk] = 0

    def tick(count: int) -> None:
        _tried[pk] += count
        if pk in _stopped:
            raise _Stopped

    try:
        tick(0)
        while (row := rows.filter(pk=pk).first()) is not None and row.asked:
            fingerprint, result = _FINDERS[row.kind](row.batch, row.asked, tick)
            with transaction.atomic():
                now = Search.objects.select_for_update().filter(pk=pk).first()
                if now is None:
                    return None
                if now.asked == row.asked:  # else the wishes changed meanwhile
                    now.fingerprint, now.result, now.at = fingerprint, result, timezone.now()
                    now.save()
                    return now
    except _Stopped:
        _stopped.discard(pk)
    finally:
        del _tried[pk]
    return None


QUEUE = Queue("searches", work_out)
"""Searches that are asked for."""
worked_out_by(Search, QUEUE.ask)


def _find_load(batch: Batch, asked: Mapping[str, Any], tick: Tick) -> tuple[str, dict[str, Any]]:
    fingerprint = ""
    try:
        question = load_question(batch, asked, basket_of(batch))
        fingerprint = question.fingerprint
        return fingerprint, load_json(question, plan_load(question.counter, known=question.known, tick=tick))
    except DrystowError as problem:
        return fingerprint, problems_json(problem)


def _find_program(batch: Batch, asked: Mapping[str, Any], tick: Tick) -> tuple[str, dict[str, Any]]:
    fingerprint = ""
    try:
        question = program_question(batch, asked)
        fingerprint = question.fingerprint
        found = find_program(
            question.load,
            ProgramWishes(
                confidence=asked["confidence"],
                most_steps=asked["steps"],
                highest=None if asked["highest_c"] is None else kelvin(asked["highest_c"]),
            ),
            known=question.known,
            tick=tick,
        )
        return fingerprint, program_json(question, found)
    except DrystowError as problem:
        return fingerprint, problems_json(problem)


_FINDERS = {"load": _find_load, "program": _find_program}

"""How dry a batch is, worked out beside the requests, one batch at a time; kept in a row, made again when outdated."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import timedelta

from django.utils import timezone

from drystow.errors import InputError, InputErrors
from drystow.evidence.dryness.judge import DrynessQuestion, judge
from drystow.evidence.dryness.observed import rows_of
from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.evidence_adapters import Question, question_of, with_readings
from drystow.web.batches.judged import problem_json, result_json
from drystow.web.batches.models import Batch, Judgement
from drystow.web.batches.models import Load as TrayLoad
from drystow.web.kit.answers import worked_out_by
from drystow.web.kit.background import Queue
from drystow.web.kit.words import page_problem_words

FRESH = timedelta(minutes=15)
"""For so long what was worked out is good enough while the run goes on. Source: drystow-default."""
MEMBERS = 600
ALL_ROUNDS = 2 * MEMBERS  # at most, as the engine draws them


@dataclass(frozen=True)
class JudgementState:
    """What is known of a batch now.

    row: as last worked out, None when it never was
    current: the row answers today's question
    share: how far the work is, 0 to 100; None when nobody works on it
    problem: why nothing can be worked out, in the reader's language
    last: as last worked out, also where there is nothing to ask today
    """

    row: Judgement | None = None
    current: bool = False
    share: int | None = None
    problem: str = ""
    last: Judgement | None = None


def answer_state(batch: Batch, loads: list[TrayLoad] | None = None, *, only_seen: bool = False) -> JudgementState:
    """Return what is known of how dry a batch is; when that is outdated, have it worked out anew meanwhile.

    loads: from `tray_loads`
    only_seen: nothing is worked out while nothing was seen
    """
    row = Judgement.objects.filter(batch=batch).first()
    try:
        question = question_of(batch, tray_loads(batch) if loads is None else loads)
    except (InputError, InputErrors) as problem:
        return JudgementState(problem=page_problem_words(problem), last=row)
    if question is None or (only_seen and not question.marks and not rows_of(question.evidence)):
        return JudgementState(last=row)
    if row is not None and row.fingerprint == question.fingerprint and not _aged(batch, row):
        return JudgementState(row, True, last=row)
    QUEUE.ask(batch.pk)
    return JudgementState(row, False, QUEUE.percent(batch.pk), last=row)


def work_out(pk: int) -> Judgement | None:
    """Work out how dry a batch is, now and here, and keep it; None when there is nothing to ask."""
    batch = Batch.objects.kept().select_related("dryer").filter(pk=pk).first()
    try:
        question = None if batch is None else question_of(batch, tray_loads(batch))
    except (InputError, InputErrors):  # as its page tells
        return None
    if batch is None or question is None:
        return None
    at = timezone.now()
    asked = with_readings(batch, question)
    values = {"fingerprint": question.fingerprint, "at": at, "result": _answer(batch.pk, asked, asked.now(at))}
    return Judgement.objects.update_or_create(batch=batch, defaults=values)[0]


QUEUE = Queue("how-dry", work_out)
"""Batches that are asked about."""
worked_out_by(Judgement, QUEUE.ask)


def _answer(pk: int, question: Question, now: float) -> dict[str, object]:
    done = 0

    def tick(count: int) -> None:
        nonlocal done
        done += count
        QUEUE.tell(pk, done / ALL_ROUNDS)

    try:
        with ThreadPoolExecutor(1) as one:  # the other core answers pages
            trays = judge(
                DrynessQuestion(
                    load=question.load,
                    evidence=question.evidence,
                    now=now,
                    groups=question.groups,
                    members=MEMBERS,
                    known=question.known,
                ),
                executor=one,
                tick=tick,
            )
    except (InputError, InputErrors) as problem:
        return problem_json(problem)
    return result_json(question, now, trays)


def _aged(batch: Batch, row: Judgement) -> bool:
    return batch.ended_at is None and timezone.now() - row.at > FRESH

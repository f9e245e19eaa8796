"""How dry a batch is, worked out beside the requests and made again when what it rests on changes."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import timedelta

from django.utils import timezone

from drystow.errors import InputError, InputErrors
from drystow.evidence.dryness.judge import DrynessQuestion, judge
from drystow.evidence.dryness.observed import rows_of
from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.evidence_adapters import Question, question_of, with_readings
from drystow.web.batches.judged import Judged, judged
from drystow.web.batches.models import Batch
from drystow.web.batches.models import Load as TrayLoad
from drystow.web.kit.answers import AnswerRecipe, KeptAnswer, Kind, Tell
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

    row: KeptAnswer[Judged] | None = None
    current: bool = False
    share: int | None = None
    problem: str = ""
    last: KeptAnswer[Judged] | None = None

    @property
    def found(self) -> Judged | None:
        """How dry it is."""
        return None if self.row is None else self.row.result


def answer_state(batch: Batch, loads: list[TrayLoad] | None = None, *, only_seen: bool = False) -> JudgementState:
    """Return what is known of how dry a batch is; when that is outdated, have it worked out anew meanwhile.

    loads: from `tray_loads`
    only_seen: nothing is worked out while nothing was seen
    """
    row = DRYNESS.kept(batch.pk)
    try:
        question = question_of(batch, tray_loads(batch) if loads is None else loads)
    except (InputError, InputErrors) as problem:
        return JudgementState(problem=page_problem_words(problem), last=row)
    if question is None or (only_seen and not question.marks and not rows_of(question.evidence)):
        return JudgementState(last=row)
    if row is not None and row.fingerprint == question.fingerprint and not _aged(batch, row):
        return JudgementState(row, True, last=row)
    DRYNESS.ask(batch.pk)
    return JudgementState(row, False, DRYNESS.task.percent(batch.pk), last=row)


def _asked(pk: int, _wishes: None) -> tuple[Batch, Question] | None:
    batch = Batch.objects.kept().select_related("dryer").filter(pk=pk).first()
    question = None if batch is None else question_of(batch, tray_loads(batch))
    return None if batch is None or question is None else (batch, question)


def _answer(asked: tuple[Batch, Question], _before: KeptAnswer[Judged] | None, tell: Tell) -> Judged:
    at, done = timezone.now(), 0
    question = with_readings(*asked)

    def tick(count: int) -> None:
        nonlocal done
        done += count
        tell(done / ALL_ROUNDS)

    with ThreadPoolExecutor(1) as one:  # the other core answers pages
        trays = judge(
            DrynessQuestion(
                load=question.load,
                evidence=question.evidence,
                now=question.now(at),
                groups=question.groups,
                members=MEMBERS,
                known=question.known,
            ),
            executor=one,
            tick=tick,
        )
    return judged(question, at, trays)


DRYNESS = Kind("dryness", Judged, "seconds")
"""How dry a batch is."""
DRYNESS.worked_out_by(AnswerRecipe(_asked, lambda asked: asked[1].fingerprint, _answer))


def _aged(batch: Batch, row: KeptAnswer[Judged]) -> bool:
    return batch.ended_at is None and row.at is not None and timezone.now() - row.at > FRESH

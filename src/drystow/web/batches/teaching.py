"""What the finished batches of a dryer teach: worked out beside the requests."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import date

from drystow.errors import InputError, InputErrors
from drystow.evidence.dryness.observed import rows_of
from drystow.evidence.learning.finished import Ended, Finished
from drystow.evidence.learning.flags import Suspect, likely_causes
from drystow.evidence.learning.learn import Lesson, learn
from drystow.evidence.learning.learned import NOTHING_LEARNED
from drystow.evidence.learning.words import NINE_IN_TEN, reference_load, time_factor
from drystow.units import hours
from drystow.web.batches.adapters import dryer_of, tray_loads
from drystow.web.batches.evidence_adapters import question_of, with_readings
from drystow.web.batches.models import Batch
from drystow.web.batches.run_readings import measured_start
from drystow.web.dryers.lessons import LESSONS, Lessons, LikelyCause, TaughtStep, machine_print
from drystow.web.dryers.models import Dryer, Service
from drystow.web.kit.answers import AnswerRecipe, KeptAnswer, Tell, fingerprint

MOST = 60
"""Batches that teach, the newest ones. Source: drystow-default."""

DAY = 86400.0
NOT_DRY = ("cold", "soft", "ice")  # findings in a piece cut open that say that the run ended too early


def finished_of(batch: Batch, services: tuple[str, ...] = ()) -> tuple[Finished, tuple[int, ...], str] | None:
    """Return a batch as the engine learns from it, its trays' numbers, and a hash of all that it rests on; None when
    nothing was seen of it.

    services: kinds of entries of the service log since the batch before
    Raises `InputErrors` with all that the engine refuses of the load.
    """
    question = None if batch.ended_at is None else question_of(batch, tray_loads(batch))
    if question is None or batch.ended_at is None:
        return None
    question = with_readings(batch, question)
    took = question.clock.dried_until(batch.ended_at)
    wet = any(cut.finding in NOT_DRY and cut.time > 0.9 * took for cut in question.evidence.cuts)
    open_end = bool(batch.program) and batch.program[-1].get("hours") is None
    ended = (Ended(took),) if open_end and not wet and took > 0.0 else ()
    seen = replace(question.evidence, cuts=(), rises=(), powers=())
    if not ended and not rows_of(seen):
        return None
    day = batch.ended_at.timestamp() / DAY
    began_seen = batch.drying_began_at is not None or measured_start(batch) is not None
    finished = Finished(batch.lot, question.load, seen, ended, day, question.groups, began_seen, services)
    rests_on = (part for part in question.rests_on if part is not question.known)  # which grows with each batch
    return finished, question.trays, fingerprint(*rests_on, services)


@dataclass(frozen=True)
class _Teaching:
    """A dryer, and the batches that teach, each with its trays' numbers and the hash of all that it rests on."""

    dryer: Dryer
    batches: tuple[tuple[Batch, Finished, tuple[int, ...], str], ...]

    @property
    def prints(self) -> tuple[str, ...]:
        """Return the hashes of the batches."""
        return tuple(mark for *_batch, mark in self.batches)


def _teaching(pk: int, _wishes: None) -> _Teaching | None:
    dryer = Dryer.objects.filter(pk=pk).first()
    return None if dryer is None else _Teaching(dryer, tuple(_batches(dryer)))


def _learn(asked: _Teaching, before: KeptAnswer[Lessons] | None, tell: Tell) -> Lessons:
    """Learn from the batches of a dryer; those before the first one that changed are not worked out again."""
    machine, prints = machine_print(asked.dryer), asked.prints
    old = None if before is None else before.result
    steps: list[TaughtStep] = []
    learned = NOTHING_LEARNED
    if old is not None and old.machine == machine and tuple(one.print for one in old.steps) == prints[: len(old.steps)]:
        steps, learned = list(old.steps), old.learned
    with ThreadPoolExecutor(1) as one:  # the other core answers pages
        for number in range(len(steps), len(prints)):
            batch, finished, trays, mark = asked.batches[number]
            lesson = learn(learned, finished, executor=one)
            learned = lesson.learned
            odd = lesson.surprise.out_of_line
            suspects = likely_causes(lesson.before, finished, executor=one) if odd else ()
            steps.append(_step(batch, mark, lesson, suspects, trays))
            tell((number + 1) / (len(prints) + 1))
        factor = None
        if learned.batches:
            reference = reference_load(dryer_of(asked.dryer))
            factor = time_factor(learned, reference, executor=one)
    return Lessons(machine, learned, factor, tuple(steps))


LESSONS.worked_out_by(AnswerRecipe(_teaching, lambda asked: fingerprint(asked.dryer, asked.prints), _learn))


def _batches(dryer: Dryer) -> list[tuple[Batch, Finished, tuple[int, ...], str]]:
    rows = Batch.objects.kept().filter(dryer=dryer, done_at__isnull=False, ended_at__isnull=False)
    newest = list(rows.select_related("dryer").order_by("-ended_at", "-pk")[:MOST])[::-1]
    log = list(Service.objects.kept().filter(dryer=dryer).order_by("on", "pk").values_list("on", "kind"))
    found = []
    before = date.min
    for batch in newest:
        assert batch.ended_at is not None
        day = batch.ended_at.date()
        services = tuple(kind for on, kind in log if before < on <= day) if before > date.min else ()
        try:
            made = finished_of(batch, services)
        except (InputError, InputErrors):  # as its page tells
            continue
        if made is not None:
            before = day
            found.append((batch, *made))
    return found


def _step(batch: Batch, mark: str, lesson: Lesson, suspects: tuple[Suspect, ...], trays: tuple[int, ...]) -> TaughtStep:
    surprise = lesson.surprise
    mean, width, _count = lesson.learned.number("contact")
    return TaughtStep(
        print=mark,
        batch=batch.pk,
        lot=batch.lot,
        expected_h=tuple(hours(time) for time in surprise.expected),
        took_h=None if surprise.took is None else hours(surprise.took),
        out_of_line=surprise.out_of_line,
        contact=(mean - NINE_IN_TEN * width, mean, mean + NINE_IN_TEN * width),
        suspects=tuple(
            LikelyCause(trays[one.tray - 1] if one.tray else 0, one.ratio, one.words, one.check) for one in suspects[:3]
        ),
    )

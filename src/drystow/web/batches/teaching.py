"""What the finished batches of a dryer teach: worked out beside the requests, kept in one row for each dryer."""

import hashlib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from typing import Any

from drystow.errors import InputError, InputErrors
from drystow.evidence.dryness.observed import rows_of
from drystow.evidence.learning.finished import Ended, Finished
from drystow.evidence.learning.flags import Suspect, likely_causes
from drystow.evidence.learning.learn import Lesson, learn
from drystow.evidence.learning.learned import NOTHING_LEARNED, as_json, from_json
from drystow.evidence.learning.words import NINE_IN_TEN, reference_load, time_factor
from drystow.machine.profile import dryer_profile, read_dryer
from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.evidence_adapters import question_of, with_readings
from drystow.web.batches.models import Batch
from drystow.web.batches.run_readings import measured_start
from drystow.web.dryers.adapters import learned_row, machine_print
from drystow.web.dryers.models import Dryer, Learned, Service
from drystow.web.kit.answers import worked_out_by
from drystow.web.kit.background import Queue

MOST = 60
"""Batches that teach, the newest ones. Source: drystow-default."""

DAY = 86400.0
NOT_DRY = ("cold", "soft", "ice")  # findings in a piece cut open that say that the run ended too early


def finished_of(batch: Batch, services: tuple[str, ...] = ()) -> tuple[Finished, tuple[int, ...]] | None:
    """Return a batch as the engine learns from it, and its trays' numbers; None when nothing was seen of it.

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
    return finished, question.trays


def work_out(pk: int) -> Learned | None:
    """Work out what the batches of a dryer taught, now and here, and keep it; None when there is no such dryer.

    Batches that taught before are not worked out again as long as nothing of them or before them changed.
    """
    dryer = Dryer.objects.filter(pk=pk).first()
    if dryer is None:
        return None
    machine = machine_print(dryer)
    batches = _batches(dryer)
    old = learned_row(dryer)
    steps: list[dict[str, Any]] = []
    learned = NOTHING_LEARNED
    prints = [_print(finished) for _batch, finished, _trays in batches]
    if old is not None and old.machine == machine and [step["print"] for step in old.steps] == prints[: len(old.steps)]:
        steps, learned = list(old.steps), from_json(old.state)
    with ThreadPoolExecutor(1) as one:  # the other core answers pages
        for number in range(len(steps), len(batches)):
            batch, finished, trays = batches[number]
            lesson = learn(learned, finished, executor=one)
            learned = lesson.learned
            odd = lesson.surprise.out_of_line
            suspects = likely_causes(lesson.before, finished, executor=one) if odd else ()
            steps.append(_step_json(batch, prints[number], lesson, suspects, trays))
            QUEUE.tell(pk, (number + 1) / (len(batches) + 1))
        factor = []
        if learned.batches:
            reference = reference_load(read_dryer(dryer.numbers, dryer_profile(dryer.profile)))
            three = time_factor(learned, reference, executor=one)
            factor = [round(value, 4) for value in (three.low, three.middle, three.high)]
    values = {"machine": machine, "state": as_json(learned), "factor": factor, "steps": steps}
    return Learned.objects.update_or_create(dryer=dryer, defaults=values)[0]


QUEUE = Queue("what-batches-teach", work_out)
"""Dryers that are asked about."""
worked_out_by(Learned, QUEUE.ask)


def _batches(dryer: Dryer) -> list[tuple[Batch, Finished, tuple[int, ...]]]:
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


def _print(finished: Finished) -> str:
    return hashlib.sha256(repr(finished).encode()).hexdigest()


def _step_json(
    batch: Batch, mark: str, lesson: Lesson, suspects: tuple[Suspect, ...], trays: tuple[int, ...]
) -> dict[str, Any]:
    surprise = lesson.surprise
    mean, width, _count = lesson.learned.number("contact")
    return {
        "print": mark,
        "batch": batch.pk,
        "lot": batch.lot,
        "expected_h": [round(time / 3600.0, 3) for time in surprise.expected],
        "took_h": None if surprise.took is None else round(surprise.took / 3600.0, 3),
        "out_of_line": surprise.out_of_line,
        "contact": [round(mean + side * NINE_IN_TEN * width, 4) for side in (-1.0, 0.0, 1.0)],
        "suspects": [
            {
                "tray": trays[suspect.tray - 1] if suspect.tray else 0,
                "ratio": round(suspect.ratio, 2),
                "words": str(suspect.words),
                "check": str(suspect.check),
            }
            for suspect in suspects[:3]
        ],
    }

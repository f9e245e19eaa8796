"""What the runs of a dryer say of it: hours on the pump oil, times against the forecast, what its batches taught."""

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from django.db.models import F, FloatField, Func, Q, Sum
from django.utils import timezone

from drystow.evidence.learning.words import NINE_IN_TEN, learned_words
from drystow.machine.sampling import CONTACT_SPREAD
from drystow.messages import msg
from drystow.reports.dryness_chart import learning_picture
from drystow.web.batches.models import Batch
from drystow.web.dryers.lessons import FEWEST, TaughtStep, lessons_of, machine_print
from drystow.web.dryers.models import Dryer, Service
from drystow.web.kit.drawing import Drawing, drawing_of

RUNS_SHOWN = 50
"""Of a dryer; older ones say little of how it runs now."""


@dataclass(frozen=True)
class OilHours:
    """Running hours of the pump since its oil was changed.

    since: day of the last change, None when none is in the log
    hours: that the dryer ran since
    limit: of the dryer
    """

    since: date | None
    hours: float
    limit: float

    @property
    def over(self) -> bool:
        """Return whether the oil is due."""
        return self.hours >= self.limit


@dataclass(frozen=True)
class Taught:
    """A finished run against its prediction [h]."""

    batch: Batch
    predicted: float
    actual: float

    @property
    def ratio(self) -> float:
        """Return the actual over the predicted time."""
        return self.actual / self.predicted


class Hours(Func):
    """Hours between two moments, by a function of the database's own: thousands of runs in no time."""

    template = "((julianday(%(expressions)s)) * 24.0)"
    arg_joiner = ") - julianday("
    output_field = FloatField()

    def as_postgresql(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        """Write it for PostgreSQL."""
        template = "(EXTRACT(EPOCH FROM (%(expressions)s))::float / 3600.0)"
        return self.as_sql(compiler, connection, template=template, arg_joiner=" - ", **extra)


def oil_hours(dryers: Iterable[Dryer], now: datetime | None = None) -> dict[int, OilHours]:
    """Return the running hours of every dryer since its oil change, with three queries for any number of dryers.

    A run counts from the beginning of the day of the change, so rather too many hours than too few.
    """
    rows = list(dryers)
    if not rows:
        return {}
    now = now or timezone.now()
    logged = Service.objects.kept().filter(dryer__in=rows, kind="oil").order_by("on")
    changed: dict[int, date] = dict(logged.values_list("dryer_id", "on"))  # the last of each
    whole, cut, since = Q(), Q(ended_at=None), dict[int, datetime]()
    for row in rows:
        if row.pk in changed:
            since[row.pk] = begun = timezone.make_aware(datetime.combine(changed[row.pk], time()))
            whole |= Q(dryer=row, started_at__gte=begun)
            cut |= Q(dryer=row, started_at__lt=begun, ended_at__gt=begun)
        else:
            whole |= Q(dryer=row)
    runs = Batch.objects.kept().filter(dryer__in=rows, started_at__isnull=False).order_by()
    ended = runs.filter(whole, ended_at__gt=F("started_at")).values_list("dryer_id")
    hours = defaultdict[int, float](float, ended.annotate(hours=Sum(Hours(F("ended_at"), F("started_at")))))
    for number, start, end in runs.filter(cut).values_list("dryer_id", "started_at", "ended_at"):
        assert start is not None
        start = max(start, since.get(number, start))
        hours[number] += max(((end or now) - start).total_seconds() / 3600, 0.0)
    return {row.pk: OilHours(changed.get(row.pk), round(hours[row.pk], 4), row.oil_hours_limit) for row in rows}


def taught_by(dryer: Dryer) -> tuple[list[Taught], float | None]:
    """Return the last finished runs of a dryer against their predictions, newest first, and the mean ratio."""
    ended = Batch.objects.kept().filter(dryer=dryer, started_at__isnull=False, ended_at__gt=F("started_at"))
    last = ended.only("lot", "title", "started_at", "ended_at", "prediction").order_by("-ended_at", "-pk")
    runs = []
    for batch in last[: 2 * RUNS_SHOWN]:
        assert batch.started_at is not None
        assert batch.ended_at is not None
        if predicted := predicted_hours(batch):
            runs.append(Taught(batch, predicted, (batch.ended_at - batch.started_at).total_seconds() / 3600))
    runs = runs[:RUNS_SHOWN]
    return runs, (sum(run.ratio for run in runs) / len(runs) if runs else None)


def predicted_hours(batch: Batch) -> float | None:
    """Return the middle of the predicted times of a batch [h], None when nothing was predicted."""
    total = batch.prediction.get("total_h") if isinstance(batch.prediction, dict) else None
    if isinstance(total, dict):
        total = total.get("p50")
    return float(total) if isinstance(total, (int, float)) and total > 0 else None


@dataclass(frozen=True)
class TaughtPage:
    """What batches taught, for the page.

    words: sentences, the pace first
    batches: how many taught
    used: forecasts use it
    changed: the dryer's own numbers changed since
    drawing: the heat's range after each batch, None before the second one
    runs: each run with what it taught, None when it taught nothing
    """

    words: tuple[str, ...]
    batches: int
    used: bool
    changed: bool
    drawing: Drawing | None
    runs: tuple[tuple[Taught, TaughtStep | None], ...]


def shown_of(dryer: Dryer, runs: Sequence[Taught]) -> TaughtPage:
    """Return what the page of a dryer shows.

    runs: its finished runs
    """
    row = lessons_of(dryer)
    steps = {} if row is None else {step.batch: step for step in row.steps}
    pairs = tuple((run, steps.get(run.batch.pk)) for run in runs)
    if row is None:
        return TaughtPage((), 0, False, False, None, pairs)
    learned = row.learned
    changed = row.machine != machine_print(dryer)
    return TaughtPage(
        words=learned_words(learned, row.factor),
        batches=learned.batches,
        used=dryer.use_taught and learned.batches >= FEWEST and not changed,
        changed=changed,
        drawing=_drawing(row.steps),
        runs=pairs,
    )


def step_of(dryer: Dryer, batch: int) -> TaughtStep | None:
    """Return what a batch taught, None when it did not yet.

    batch: its key
    """
    row = lessons_of(dryer)
    return None if row is None else next((step for step in row.steps if step.batch == batch), None)


def _drawing(steps: Sequence[TaughtStep]) -> Drawing | None:
    if len(steps) < 2:
        return None
    rows = [(-NINE_IN_TEN, 0.0, NINE_IN_TEN), *(step.contact for step in steps)]
    factors = [tuple(math.exp(CONTACT_SPREAD * value) for value in row) for row in rows]
    return drawing_of(
        learning_picture([(low, middle, high) for low, middle, high in factors], msg("Heat from shelf to food"))
    )

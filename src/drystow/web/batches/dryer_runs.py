"""What the runs of a dryer say of it: hours on the pump oil, times against the forecast."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from django.db.models import F, FloatField, Func, Q, Sum
from django.utils import timezone

from drystow.web.batches.models import Batch
from drystow.web.dryers.models import Dryer, Service

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
        start = max(start, since.get(number, start))
        hours[number] += max(((end or now) - start).total_seconds() / 3600, 0.0)
    return {row.pk: OilHours(changed.get(row.pk), round(hours[row.pk], 4), row.oil_hours_limit) for row in rows}


def taught_by(dryer: Dryer) -> tuple[list[Taught], float | None]:
    """Return the last finished runs of a dryer against their predictions, newest first, and the mean ratio."""
    ended = Batch.objects.kept().filter(dryer=dryer, started_at__isnull=False, ended_at__gt=F("started_at"))
    last = ended.only("lot", "title", "started_at", "ended_at", "prediction").order_by("-ended_at", "-pk")
    runs = []
    for batch in last[: 2 * RUNS_SHOWN]:
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

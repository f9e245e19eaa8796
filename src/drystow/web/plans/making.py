"""Plans are worked out beside the requests, one at a time; what was made is kept in a row until something better is."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from django.db import transaction
from django.utils import timezone

from drystow.errors import DrystowError, InputError, InputErrors
from drystow.packing.shopping import packs_of, shopping_list
from drystow.planning.schedule.model import load_solver
from drystow.planning.schedule.plan import schedule
from drystow.web.kit.answers import worked_out_by
from drystow.web.kit.background import Queue
from drystow.web.kit.models import Change
from drystow.web.plans.adapters import Basis, basis_of, fingerprint, lots_of, rests_on
from drystow.web.plans.differences import change_json
from drystow.web.plans.kept import plan_json, problems_json
from drystow.web.plans.made_view import FORM
from drystow.web.plans.models import Made, Plan
from drystow.web.plans.running import live_bookings

SECONDS = 20.0
"""Of the search. Source: drystow-default."""
WORKERS = 1  # the other core answers pages
ROUNDS = 2


@dataclass(frozen=True)
class PlanState:
    """What is known of a plan now.

    row: as last worked out, None when it never was
    basis: that it rests on today, None when that cannot even be read
    rests: the same as plain data
    problems: why it cannot be read, as they are kept
    share: how far the work is, 0 to 100; None when nobody works on it
    """

    row: Made | None
    basis: Basis | None
    rests: dict[str, Any]
    problems: list[dict[str, Any]]
    share: int | None

    @property
    def current(self) -> bool:
        """What was kept rests on what stands in the database today."""
        return self.row is not None and self.row.fingerprint == fingerprint(self.rests)


def answer_state(plan: Plan) -> PlanState:
    """Return what is known of a plan; without one that worked out, it is asked for when there is something to plan."""
    row = Made.objects.filter(plan=plan).first()
    basis = None
    rests: dict[str, Any] = {}
    problems: list[dict[str, Any]] = []
    try:
        basis = basis_of(plan)
        rests = rests_on(basis)
    except (InputError, InputErrors) as problem:
        problems = problems_json(problem, None)
    known = PlanState(row, basis, rests, problems, QUEUE.percent(plan.pk))
    nothing = row is None or row.result.get("form") != FORM or ("saved_kg" not in row.result and not known.current)
    if nothing and known.share is None and basis is not None and basis.lots and basis.dryers:
        QUEUE.ask(plan.pk)
        known = replace(known, share=QUEUE.percent(plan.pk))
    return known


def work_out(pk: int) -> Made | None:
    """Work out a plan, now and here, and keep it in place of what was kept; None when there is nothing to plan.

    What changes meanwhile counts too: then it is worked out once more.
    """
    made = None
    for _round in range(ROUNDS):
        plan = Plan.objects.kept().filter(pk=pk).first()
        if plan is None:
            return made
        try:
            basis = basis_of(plan)
        except (InputError, InputErrors):  # as its page tells
            return made
        rests = rests_on(basis)
        if not basis.lots or not basis.dryers or (made is not None and made.fingerprint == fingerprint(rests)):
            return made
        made = _made(plan, basis, rests)
    return made


QUEUE = Queue("plans", work_out)
"""Plans that are asked about."""
worked_out_by(Made, QUEUE.ask)


def plan_again_when_one_ended(sender: Any, instance: Change, created: bool, **_options: Any) -> None:
    """Have a plan worked out anew when one of its batches ended: the rest is planned from there."""
    if instance.kind != "batches.batch" or instance.before.get("ended_at") or not instance.after.get("ended_at"):
        return
    for row in live_bookings().filter(batch=instance.object_id, plan__made__isnull=False).select_related("plan"):
        if row.plan.begin + timedelta(days=row.plan.days) >= timezone.localdate():
            transaction.on_commit(partial(QUEUE.ask, row.plan_id))


def _made(plan: Plan, basis: Basis, rests: dict[str, Any]) -> Made:
    row, now = Made.objects.filter(plan=plan).first(), timezone.now()
    before = row.result if row is not None and row.result.get("form") == FORM else {}
    try:
        result = _answer(plan.pk, basis, now, before) | {"rests_on": rests}
    except DrystowError as problem:
        result = {"rests_on": rests} | before | {"problems": problems_json(problem, basis)}
    values = {"fingerprint": fingerprint(rests), "at": now, "result": result | {"form": FORM}}
    return Made.objects.update_or_create(plan=plan, defaults=values)[0]


def _answer(pk: int, basis: Basis, now: datetime, before: dict[str, Any]) -> dict[str, Any]:
    load_solver()
    lots = lots_of(basis, max(now, basis.begin))
    made = schedule(lots, SECONDS, workers=WORKERS, tick=lambda share: QUEUE.tell(pk, share))
    data = plan_json(basis, lots, made, shopping_list(packs_of(lots, made)), before)
    return data | {"change": change_json(before, data), "problems": []}

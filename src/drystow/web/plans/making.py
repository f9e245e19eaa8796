"""Plans are worked out beside the requests; what was made is kept until something better is."""

from dataclasses import dataclass, replace
from datetime import timedelta
from functools import partial
from typing import Any

from django.db import transaction
from django.utils import timezone

from drystow.errors import InputError, InputErrors
from drystow.packing.shopping import packs_of, shopping_list
from drystow.planning.schedule.model import load_solver
from drystow.planning.schedule.plan import schedule
from drystow.web.kit.answers import AnswerRecipe, KeptAnswer, Kind, Problem, Tell, fingerprint
from drystow.web.kit.models import Change
from drystow.web.plans.adapters import Basis, Rests, basis_of, lots_of, rests_on
from drystow.web.plans.differences import change_of
from drystow.web.plans.made import MadePlan, made_plan, plan_problem
from drystow.web.plans.models import Plan
from drystow.web.plans.running import live_bookings

SECONDS = 20.0
"""Of the search. Source: drystow-default."""
WORKERS = 1  # the other core answers pages


@dataclass(frozen=True)
class PlanState:
    """What is known of a plan now.

    row: as last worked out, None when it never was
    basis: that it rests on today, None when that cannot even be read
    rests: the same by what a person would call changed
    problems: why it cannot be read, as they are kept
    share: how far the work is, 0 to 100; None when nobody works on it
    """

    row: KeptAnswer[MadePlan] | None
    basis: Basis | None
    rests: Rests | None
    problems: tuple[Problem, ...]
    share: int | None

    @property
    def current(self) -> bool:
        """What was kept rests on what stands in the database today."""
        return self.row is not None and self.rests is not None and self.row.fingerprint == fingerprint(self.rests)

    @property
    def made(self) -> MadePlan | None:
        """The plan that was last made."""
        return None if self.row is None else self.row.result


def answer_state(plan: Plan) -> PlanState:
    """Return what is known of a plan; without one that worked out, it is asked for when there is something to plan."""
    row = PLAN.kept(plan.pk)
    basis, rests = None, None
    problems: tuple[Problem, ...] = ()
    try:
        basis = basis_of(plan)
        rests = rests_on(basis)
    except (InputError, InputErrors) as problem:
        problems = tuple(plan_problem(one, None) for one in problem.problems)
    known = PlanState(row, basis, rests, problems, PLAN.task.percent(plan.pk))
    nothing = known.made is None and not known.current
    if nothing and known.share is None and basis is not None and basis.lots and basis.dryers:
        PLAN.ask(plan.pk)
        known = replace(known, share=PLAN.task.percent(plan.pk))
    return known


def _basis(pk: int, _wishes: None) -> Basis | None:
    plan = Plan.objects.kept().filter(pk=pk).first()
    basis = None if plan is None else basis_of(plan)
    return basis if basis is not None and basis.lots and basis.dryers else None


def _make(basis: Basis, before: KeptAnswer[MadePlan] | None, tell: Tell) -> MadePlan:
    load_solver()
    lots = lots_of(basis, max(timezone.now(), basis.begin))
    found = schedule(lots, SECONDS, workers=WORKERS, tick=tell)
    made = made_plan(basis, rests_on(basis), lots, found, shopping_list(packs_of(lots, found)))
    last = None if before is None else before.result
    return made if last is None else replace(made, change=change_of(last, made))


PLAN = Kind("plan", MadePlan, "seconds", keeps_last=True, rounds=2)
"""The batches of a plan."""
PLAN.worked_out_by(AnswerRecipe(_basis, lambda basis: fingerprint(rests_on(basis)), _make, plan_problem))


def plan_again_when_one_ended(sender: Any, instance: Change, created: bool, **_options: Any) -> None:
    """Have a plan worked out anew when one of its batches ended: the rest is planned from there."""
    if instance.kind != "batches.batch" or instance.before.get("ended_at") or not instance.after.get("ended_at"):
        return
    rows = live_bookings().filter(batch=instance.object_id).select_related("plan")
    today = timezone.localdate()
    for pk in PLAN.kept_about(row.plan_id for row in rows if row.plan.begin + timedelta(days=row.plan.days) >= today):
        transaction.on_commit(partial(PLAN.ask, pk))

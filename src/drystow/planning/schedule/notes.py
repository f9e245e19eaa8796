"""What to know of a schedule, and what to mind."""

from drystow.days import day_text
from drystow.messages import msg
from drystow.planning.schedule.arrivals import Lots
from drystow.planning.schedule.grid import Run, ScheduleProblem, is_frozen
from drystow.planning.schedule.solver import Solved
from drystow.planning.schedule.too_old import LOOK, verdict_on
from drystow.planning.separation import cautions
from drystow.shown import FREEZER, REFRIGERATOR


def notes_of(problem: ScheduleProblem, solved: Solved, step: float) -> tuple[str, ...]:
    """Return what to know of a plan.

    problem: lots, dryers and rules
    solved: the plan
    step: grid of times [s]
    """
    hours = step / 3600.0
    notes: list[str] = [
        msg("Start and end times are rounded to {hours:.2g} h, and the proof is for those times.", hours=hours),
        msg(
            "Planned hours are on the safe side. In 8 of 10 simulated runs with a full dryer, the "
            "slowest tray is dry by then. The batch then waits under vacuum until someone is home."
        ),
    ]
    inside = {(problem.jobs[job], run.start) for run in solved.plan for job in run.trays}
    if any(job.came <= job.fresh_until < start for job, start in inside):
        notes.append(msg("Food that would wait longer than the refrigerator allows is frozen the day it arrives."))
    if any(problem.machines[0].costs):
        notes.append(
            msg("Electricity is based on each dryer's average power from loading to unloading, full or half full.")
        )
    if solved.missed:
        notes.append(
            msg(
                "Not everything that must be dried can be. This plan comes closest and dries as much of it as possible."
            )
        )
    return tuple(notes)


def cautions_of(lots: Lots, problem: ScheduleProblem, plan: tuple[Run, ...]) -> tuple[str, ...]:
    """Return what to mind with food that waits and with foods that share a chamber.

    lots: what is to be dried
    problem: the same on the grid
    plan: batches on it
    """
    found: list[str] = [
        msg(
            "Keep waiting food at {cold} or colder and frozen food at {frozen} or colder. "
            "Refrigerator times are the short end of public food-safety guidance. When in doubt, "
            "throw it out, and follow your local rules.",
            cold=REFRIGERATOR,
            frozen=FREEZER,
        )
    ]
    found += _counted_frozen(lots, problem, plan)
    for run in plan:
        found += cautions([lots.lots[job].item.food for job in run.trays])
    return tuple(dict.fromkeys(found))


def _counted_frozen(lots: Lots, problem: ScheduleProblem, plan: tuple[Run, ...]) -> list[str]:
    """Return what a plan takes from the freezer although it came before anything new is loaded."""
    found: list[str] = []
    for number in sorted({job for run in plan for job in run.trays if is_frozen(problem.jobs[job], run.start)}):
        job, lot = problem.jobs[number], lots.lots[number]
        if lot.frozen or job.came == job.arrival or job.fresh_until >= job.arrival:
            continue
        since = day_text(lot.arrival, "weekday_clock")
        if verdict_on(lot.item.food) == LOOK:
            words = msg(
                "{name}: the plan counts on it having been in the freezer since {since}; if it was not, "
                "look at it and decide",
                name=lot.name,
                since=since,
            )
        else:
            words = msg(
                "{name}: the plan counts on it having been in the freezer since {since}; if it was not, do not use it",
                name=lot.name,
                since=since,
            )
        found.append(words)
    return found

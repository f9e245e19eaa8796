"""What to know of a schedule, and what to mind."""

from drystow.planning.grid import Problem, Run, is_frozen
from drystow.planning.lots import Lots
from drystow.planning.separation import cautions
from drystow.planning.solver import Solved
from drystow.planning.too_old import LOOK, verdict_on
from drystow.said import say
from drystow.shown import FREEZER, REFRIGERATOR


def notes_of(problem: Problem, solved: Solved, step: float) -> tuple[str, ...]:
    """Return what to know of a plan.

    problem: lots, dryers and rules
    solved: the plan
    step: grid of times [s]
    """
    hours = step / 3600.0
    notes: list[str] = [
        say("Batches begin and end on a grid of {hours:.2g} h; the bound holds for plans on this grid.", hours=hours),
        say(
            "A batch takes the time within which its slowest tray is dry in four of five calculated runs, with the"
            " dryer full of such trays; then it waits under vacuum until somebody is home."
        ),
    ]
    inside = {(problem.jobs[job], run.start) for run in solved.plan for job in run.trays}
    if any(job.came <= job.fresh_until < start for job, start in inside):
        notes.append(say("Food that waits longer than the refrigerator allows is frozen on the day it arrives."))
    if any(problem.machines[0].costs):
        notes.append(
            say("Electricity is counted with each dryer's mean power from loading to unloading, full or half full.")
        )
    if solved.missed:
        notes.append(
            say("Not everything that had to be dried can be; this plan comes nearest and dries as much of it as goes.")
        )
    return tuple(notes)


def cautions_of(lots: Lots, problem: Problem, plan: tuple[Run, ...]) -> tuple[str, ...]:
    """Return what to mind with food that waits and with foods that share a chamber.

    lots: what is to be dried
    problem: the same on the grid
    plan: batches on it
    """
    found: list[str] = [
        say(
            "Keep food that waits at {cold} or colder, frozen food at {frozen} or colder. Times in the"
            " refrigerator are the short end of public food-safety guidance; when in doubt, throw it out, and follow"
            " your local rules.",
            cold=REFRIGERATOR,
            frozen=FREEZER,
        )
    ]
    found += _counted_frozen(lots, problem, plan)
    for run in plan:
        found += cautions([lots.lots[job].item.food for job in run.trays])
    return tuple(dict.fromkeys(found))


def _counted_frozen(lots: Lots, problem: Problem, plan: tuple[Run, ...]) -> list[str]:
    """Return what a plan takes from the freezer although it came before anything new is loaded."""
    found: list[str] = []
    for number in sorted({job for run in plan for job in run.trays if is_frozen(problem.jobs[job], run.start)}):
        job, lot = problem.jobs[number], lots.lots[number]
        if lot.frozen or job.came == job.arrival or job.fresh_until >= job.arrival:
            continue
        since = lot.arrival.strftime("%Y-%m-%d %H:%M")
        if verdict_on(lot.item.food) == LOOK:
            words = say(
                "{name}: the plan counts on it being in the freezer since it came ({since}); if it was not, look at it"
                " and decide",
                name=lot.name,
                since=since,
            )
        else:
            words = say(
                "{name}: the plan counts on it being in the freezer since it came ({since}); if it was not, do not use"
                " it",
                name=lot.name,
                since=since,
            )
        found.append(words)
    return found

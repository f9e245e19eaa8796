"""Plans by a simple rule: whenever a dryer is free and somebody is there, load what comes first."""

from collections.abc import Callable, Sequence

from drystow.planning.grid import (
    Job,
    Plan,
    Problem,
    Run,
    duration,
    end_of,
    freezer_moments,
    freezer_use,
    is_free,
    saved_mass,
    trimmed,
    unloading,
)


def first_come(problem: Problem) -> Plan:
    """Return the plan that loads food in the order in which it came."""
    return greedy(problem, lambda job: (job.arrival, job.name))


def earliest_deadline(problem: Problem) -> Plan:
    """Return the plan that loads first what spoils first."""
    return greedy(problem, lambda job: (max(job.fresh_until, job.frozen_until), job.arrival, job.name))


def freshest_deadline(problem: Problem) -> Plan:
    """Return the plan that loads first what leaves the refrigerator first, frozen food last."""
    return greedy(problem, lambda job: (job.fresh_until, job.frozen_until, job.name))


def most_valuable(problem: Problem) -> Plan:
    """Return the plan that loads first what is worth most per tray."""
    return greedy(problem, lambda job: (not job.must, -job.price * max(job.loads), job.fresh_until, job.name))


RULES: dict[str, Callable[[Problem], Plan]] = {
    "first come": first_come,
    "earliest deadline": earliest_deadline,
    "refrigerator first": freshest_deadline,
    "most valuable": most_valuable,
}
"""Simple rules by name."""


def greedy(problem: Problem, order: Callable[[Job], tuple[object, ...]]) -> Plan:
    """Return a plan that breaks no rule: each dryer, as soon as it is free, takes the first lots in an order.

    order: key of a lot, smaller comes first
    """
    plan: list[Run] = []
    ready = [0] * len(problem.machines)
    lots = sorted(range(len(problem.jobs)), key=lambda number: order(problem.jobs[number]))
    for start in range(problem.steps):
        if not problem.home[start]:
            continue
        for machine, dryer in enumerate(problem.machines):
            if ready[machine] > start:
                continue
            run = _fill(problem, plan, lots, machine, start)
            if run is not None:
                plan.append(run)
                ready[machine] = run.end + dryer.turnaround
    return plan


def _fill(problem: Problem, plan: Sequence[Run], lots: Sequence[int], machine: int, start: int) -> Run | None:
    dryer = problem.machines[machine]
    inside: dict[int, int] = {}
    room, trap = dryer.trays, dryer.trap
    run: Run | None = None
    for lot in lots:
        job = problem.jobs[lot]
        if end_of(problem, lot, machine, start) is None or any(other in job.apart for other in inside):
            continue
        left = job.mass - saved_mass(problem, plan, lot)
        wanted = min(-(-left // job.loads[machine]), room, trap // max(job.water[machine], 1))
        while wanted > 0:
            tried = _run(problem, machine, start, {**inside, lot: wanted})
            if tried is not None and _fits_freezer(problem, [*plan, tried]):
                run, inside = tried, dict(tried.trays)
                room -= wanted
                trap -= wanted * job.water[machine]
                break
            wanted -= 1
        if not room:
            break
    return run


def _run(problem: Problem, machine: int, start: int, trays: dict[int, int]) -> Run | None:
    slowest = max(duration(problem.jobs[job], machine, start) for job in trays)
    end = unloading(problem, start + slowest)
    if end is None or not is_free(problem.machines[machine], start, end):
        return None
    if any(end > problem.jobs[job].ready_by for job in trays):
        return None
    return trimmed(problem, Run(machine, start, end, trays))


def _fits_freezer(problem: Problem, plan: Plan) -> bool:
    return all(freezer_use(problem, plan, step) <= 1000 * problem.freezer[step] for step in freezer_moments(problem))

"""Plans by a simple rule: whenever a dryer is free and somebody is there, load what comes first."""

from bisect import bisect_left
from collections.abc import Callable, Sequence

from drystow.planning.schedule.grid import Job, Plan, Run, ScheduleProblem, duration, in_freezer, is_free, unloading

Ends = Sequence[Sequence[dict[int, int]]]
"""When each job would be unloaded, per dryer and step of loading."""


Key = Callable[[Job], tuple[str | int | bool, ...]]
"""Place of a lot in an order; smaller comes first."""

ORDERS: dict[str, Key] = {
    "first_come": lambda job: (job.arrival, job.name),
    "earliest_deadline": lambda job: (max(job.fresh_until, job.frozen_until), job.arrival, job.name),
    "refrigerator_first": lambda job: (job.fresh_until, job.frozen_until, job.name),
    "most_valuable": lambda job: (not job.must, -job.price * max(job.loads), job.fresh_until, job.name),
}
"""Simple orders by name."""


def first_come(problem: ScheduleProblem) -> Plan:
    """Return the plan that loads food in the order in which it came."""
    return greedy(problem, ORDERS["first_come"])


def earliest_deadline(problem: ScheduleProblem) -> Plan:
    """Return the plan that loads first what spoils first."""
    return greedy(problem, ORDERS["earliest_deadline"])


RULES: dict[str, Callable[[ScheduleProblem], Plan]] = {"first_come": first_come, "earliest_deadline": earliest_deadline}
"""Simple rules that a schedule is compared with."""


def greedy(problem: ScheduleProblem, order: Key) -> Plan:
    """Return a plan that breaks no rule: each dryer, as soon as it is free, takes the first lots in an order.

    problem: lots, dryers and rules
    order: key of a lot, smaller comes first
    """
    lots = sorted(range(len(problem.jobs)), key=lambda number: order(problem.jobs[number]))
    return load_in_order(problem, all_ends(problem), lots)


def all_ends(problem: ScheduleProblem) -> Ends:
    """Return when each job would be unloaded, for every dryer and step of loading at which it can be loaded."""
    found: list[list[dict[int, int]]] = [[{} for _step in range(problem.steps)] for _machine in problem.machines]
    for machine, starts in enumerate(found):
        known: dict[int, list[int | None]] = {}
        for number, job in enumerate(problem.jobs):
            from_freezer = max(job.arrival, job.fresh_until + 1)
            spans = ((job.arrival, job.fresh_until, job.fresh), (from_freezer, job.frozen_until, job.frozen))
            for first, last, steps in spans:
                if not job.trays[machine] or not steps[machine]:
                    continue
                ends = known.get(steps[machine]) or _ends_after(problem, machine, steps[machine])
                known[steps[machine]] = ends
                for start in range(max(first, 0), min(last + 1, problem.steps)):
                    if (end := ends[start]) is not None and end <= job.ready_by:
                        starts[start][number] = end
    return found


def _ends_after(problem: ScheduleProblem, machine: int, steps: int) -> list[int | None]:
    """Return when a batch that dries so long is unloaded, for every step of loading, None when it cannot be loaded."""
    ends = [unloading(problem, start + steps) if home else None for start, home in enumerate(problem.home)]
    return [
        end if end is not None and is_free(problem.machines[machine], start, end) else None
        for start, end in enumerate(ends)
    ]


def load_in_order(problem: ScheduleProblem, ends: Ends, lots: Sequence[int], least: int = 1) -> Plan:
    """Return the plan in which each dryer, as soon as it is free, takes the first lots in an order.

    problem: lots, dryers and rules
    ends: as `all_ends` gives them
    lots: numbers of the jobs in their order
    least: trays below which a batch is not begun, in a smaller dryer all its trays
    """
    plan: list[Run] = []
    ready = [0] * len(problem.machines)
    left = [job.mass for job in problem.jobs]
    waiting = [lot for lot in lots if left[lot]]
    moments = list(problem.freezer_moments)
    space = [1000 * problem.freezer[step] for step in moments]
    for start in range(problem.steps):
        for machine, dryer in enumerate(problem.machines):
            if not ends[machine][start] or ready[machine] > start:
                continue
            here = [lot for lot in waiting if lot in ends[machine][start]]
            enough = min(least, dryer.trays)
            if sum(-(-left[lot] // problem.jobs[lot].loads[machine]) for lot in here) < enough:
                continue
            run = _fill(problem, here, left, (moments, space), (machine, start))
            if run is None or sum(run.trays.values()) < enough:
                continue
            plan.append(run)
            ready[machine] = run.end + dryer.turnaround
            for lot, trays in run.trays.items():
                job = problem.jobs[lot]
                left[lot] = max(left[lot] - trays * job.loads[machine], 0)
                for at in _while_waiting(moments, job, start):
                    space[at] -= job.room * job.loads[machine] * trays
            waiting = [lot for lot in waiting if left[lot]]
    return plan


def _fill(
    problem: ScheduleProblem,
    lots: Sequence[int],
    left: Sequence[int],
    freezer: tuple[list[int], list[int]],
    where: tuple[int, int],
) -> Run | None:
    machine, start = where
    dryer = problem.machines[machine]
    inside: dict[int, int] = {}
    room, trap, moments, space = dryer.trays, dryer.trap, freezer[0], freezer[1].copy()
    run: Run | None = None
    for lot in lots:
        job = problem.jobs[lot]
        if any(other in job.apart for other in inside):
            continue
        wanted = min(-(-left[lot] // job.loads[machine]), room, trap // max(job.water[machine], 1), job.trays[machine])
        one = job.room * job.loads[machine]
        waiting = _while_waiting(moments, job, start)
        if waiting and one:
            wanted = min(wanted, min(space[waiting.start : waiting.stop]) // one)
        tried = _run(problem, machine, start, {**inside, lot: wanted}) if wanted > 0 else None
        if tried is None:
            continue
        run, inside = tried, dict(tried.trays)
        room -= wanted
        trap -= wanted * job.water[machine]
        for at in waiting:
            space[at] -= one * wanted
        if not room:
            break
    return run


def _while_waiting(moments: Sequence[int], job: Job, start: int) -> range:
    """Return the places of the moments at which a lot waits in the freezer for a batch."""
    steps = in_freezer(job, start)
    return range(bisect_left(moments, steps.start), bisect_left(moments, steps.stop))


def _run(problem: ScheduleProblem, machine: int, start: int, trays: dict[int, int]) -> Run | None:
    slowest = max(duration(problem.jobs[job], machine, start) for job in trays)
    end = unloading(problem, start + slowest)
    if end is None or not is_free(problem.machines[machine], start, end):
        return None
    if any(end > problem.jobs[job].ready_by for job in trays):
        return None
    return Run(machine, start, end, trays)

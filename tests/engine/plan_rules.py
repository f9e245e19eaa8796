"""Every hard rule of a schedule once more, and the best plan by trying all; none of the planner's own functions."""

import random
from collections.abc import Iterator
from functools import cache
from itertools import combinations, product

from drystow.planning.schedule.grid import GridDryer, Job, Plan, ScheduleProblem


def broken_rules(problem: ScheduleProblem, plan: Plan) -> list[str]:
    """Return a sentence for every rule that a plan breaks."""
    found = []
    for run in plan:
        dryer = problem.machines[run.machine]
        where = f"{dryer.name} at {run.start}"
        if not 0 <= run.start < run.end < problem.steps:
            found.append(f"{where}: outside the plan")
            continue
        if not (problem.home[run.start] and problem.home[run.end]):
            found.append(f"{where}: no one is home")
        if not 1 <= sum(run.trays.values()) <= dryer.trays or min(run.trays.values()) < 1:
            found.append(f"{where}: number of trays")
        if sum(problem.jobs[job].water[run.machine] * count for job, count in run.trays.items()) > dryer.trap:
            found.append(f"{where}: trap too small")
        if any(run.start < until and run.end + dryer.turnaround > begin for begin, until in dryer.blocked):
            found.append(f"{where}: service")
        if any(other in problem.jobs[one].apart for one, other in combinations(run.trays, 2)):
            found.append(f"{where}: separation")
        for number in run.trays:
            job = problem.jobs[number]
            from_fridge = job.arrival <= run.start <= job.fresh_until
            from_freezer = not from_fridge and job.arrival <= run.start <= job.frozen_until
            needed = job.fresh[run.machine] if from_fridge else job.frozen[run.machine]
            if not (from_fridge or from_freezer):
                found.append(f"{where}: {job.name} not there or spoiled")
            if not needed or run.end - run.start < needed:
                found.append(f"{where}: {job.name} not dry")
            if not job.trays[run.machine]:
                found.append(f"{where}: {job.name} may not be here")
            if run.end > job.ready_by:
                found.append(f"{where}: {job.name} too late")
    for one, other in combinations(plan, 2):
        if one.machine == other.machine:
            first, second = sorted((one, other), key=lambda run: run.start)
            if second.start < first.end + problem.machines[one.machine].turnaround:
                found.append(f"{problem.machines[one.machine].name}: two batches at {second.start}")
    for number, job in enumerate(problem.jobs):
        for machine in range(len(problem.machines)):
            if sum(run.trays.get(number, 0) for run in plan if run.machine == machine) > job.trays[machine]:
                found.append(f"{job.name}: more trays than it fills")
    for step in range(problem.steps):
        used = 0
        for run in plan:
            for number, count in run.trays.items():
                job = problem.jobs[number]
                waited = job.came <= step < run.start or (job.came < 0 and step == 0)
                if waited and run.start > job.fresh_until:
                    used += job.room * job.loads[run.machine] * count
        if used > 1000 * problem.freezer[step]:
            found.append(f"freezer full at {step}")
    return found


def best_by_trying_all(problem: ScheduleProblem) -> tuple[int, int, int]:
    """Return value, minus cost and minus idle steps of the best plan for one dryer, trying every plan."""
    dryer, jobs = problem.machines[0], problem.jobs
    contents = list(product(*(range(min(job.trays[0], dryer.trays) + 1) for job in jobs)))
    contents = [one for one in contents if 1 <= sum(one) <= dryer.trays]

    def worth(job: Job, trays: int) -> int:
        return min(job.mass, job.loads[0] * trays) * job.price

    def batches(start: int) -> Iterator[tuple[tuple[int, ...], int]]:
        for content, end in product(contents, range(start + 1, problem.steps)):
            if problem.home[end]:
                yield content, end

    def fits(content: tuple[int, ...], start: int, end: int) -> bool:
        inside = [number for number, count in enumerate(content) if count]
        if sum(jobs[number].water[0] * content[number] for number in inside) > dryer.trap:
            return False
        if any(start < until and end + dryer.turnaround > begin for begin, until in dryer.blocked):
            return False
        if any(other in jobs[one].apart for one, other in combinations(inside, 2)):
            return False
        for number in inside:
            job = jobs[number]
            fresh = start <= job.fresh_until
            needed = job.fresh[0] if fresh else job.frozen[0]
            there = job.arrival <= start <= (job.fresh_until if fresh else job.frozen_until)
            if not there or not needed or end - start < needed or end > job.ready_by:
                return False
        return True

    possible = {
        start: [(content, end) for content, end in batches(start) if fits(content, start, end)]
        for start in range(problem.steps)
        if problem.home[start]
    }

    @cache
    def best(step: int, last: int, used: tuple[int, ...], room: tuple[int, ...]) -> tuple[int, int, int]:
        if step >= problem.steps:
            return 0, 0, 0
        top = best(step + 1, last, used, room)
        for content, end in possible.get(step, []):
            after = tuple(had + more for had, more in zip(used, content, strict=True))
            if any(count > job.trays[0] for count, job in zip(after, jobs, strict=True)):
                continue
            left = list(room)
            for job, count in zip(jobs, content, strict=True):
                if count and step > job.fresh_until:
                    for at in {0, *range(step)} if job.came < 0 else range(job.came, step):
                        left[at] -= job.room * job.loads[0] * count
            if min(left) < 0:
                continue
            gain = sum(worth(job, now) - worth(job, had) for job, had, now in zip(jobs, used, after, strict=True))
            cost, idle = sum(dryer.costs[step:end]), step - last
            later = best(end + dryer.turnaround, end, after, tuple(left))
            top = max(top, (gain + later[0], later[1] - cost, later[2] - idle))
        return top

    return best(0, 0, (0,) * len(jobs), tuple(1000 * space for space in problem.freezer))


def small_problem(seed: int) -> ScheduleProblem:
    """Return a tiny problem with one dryer, at most four lots and every rule at work in some."""
    dice = random.Random(seed)
    steps, count = dice.randint(8, 13), dice.randint(1, 4)
    home = tuple(dice.random() < 0.8 for _ in range(steps))
    pairs = {pair for pair in combinations(range(count), 2) if dice.random() < 0.25}
    jobs = []
    for number in range(count):
        trays, load, arrival = dice.randint(1, 2), dice.choice((900, 1200)), dice.randint(0, steps // 2)
        fresh = dice.randint(2, 4)
        jobs.append(
            Job(
                name=f"lot {number}",
                mass=trays * load - dice.choice((0, 100)),
                price=dice.choice((200, 500, 900)),
                loads=(load,),
                trays=(trays,),
                arrival=arrival,
                came=arrival - dice.choice((0, 0, 3, 9)),
                fresh_until=arrival + dice.randint(-1, 4),
                frozen_until=dice.choice((-1, steps)),
                fresh=(fresh,),
                frozen=(max(fresh - dice.randint(0, 1), 1),),
                room=1000,
                water=(int(load * 0.8),),
                ready_by=dice.choice((steps, steps, steps - 2)),
                must=False,
                apart=frozenset(b if a == number else a for a, b in pairs if number in (a, b)),
            )
        )
    blocked = ((4, 5),) if dice.random() < 0.25 else ()
    costs = tuple(dice.choice((10, 30)) for _ in range(steps))
    machine = GridDryer(
        "dryer", dice.randint(2, 3), dice.choice((2000, 3000, 9000)), dice.randint(0, 1), blocked, costs
    )
    return ScheduleProblem(steps, home, tuple(jobs), (machine,), (dice.choice((0, 2500, 9000)),) * steps)

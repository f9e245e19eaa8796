"""Schedules of 40 lots, two dryers and 14 days: value, bound and gap after 20 s, beside simple rules.

Run on two quiet cores: ``python -m benchmarks.schedule [instances] [seconds]``. The instances are invented kitchens;
from the first to the last, the food that comes rises from half of what the dryers can take to a third more.
"""

import random
import sys
import time

from drystow.planning.greedy import earliest_deadline, first_come
from drystow.planning.grid import Job, Machine, Problem, saved_value
from drystow.planning.solver import solve

LOTS, DAYS, STEP = 40, 14, 2
KINDS = ("raw", "onion", "fruit", "fruit", "vegetable", "vegetable", "vegetable", "dish")
KEEPS = {"raw": (1, 3), "onion": (14,), "fruit": (2, 3, 3), "vegetable": (1, 3, 3, 14), "dish": (3,)}  # days


def kitchen(seed: int, lots: int = LOTS, days: int = DAYS, most_trays: float = 3.5) -> Problem:
    """Return an invented kitchen.

    seed: of the random numbers
    lots: that come
    days: of the plan
    most_trays: that a lot fills, on average
    """
    dice = random.Random(seed)
    day = 24 // STEP
    steps = days * day
    weekday = {6, 18, 20}
    hours = [(step % day) * STEP for step in range(steps)]
    home = tuple(hour in weekday or (step // day % 7 >= 5 and 8 <= hour <= 20) for step, hour in enumerate(hours))
    costs = tuple(round(1.2 * STEP * (34 if 16 <= hour < 21 else 14) * 100) for hour in hours)
    kinds = [dice.choice(KINDS) for _ in range(lots)]
    jobs = []
    for number, kind in enumerate(kinds):
        trays = max(1, round(dice.uniform(0.4, 1.6) * most_trays))
        load = dice.randint(900, 1400)
        arrival = dice.randrange(steps * 4 // 5)
        fresh = dice.randint(18, 32) // STEP
        apart = frozenset(
            other
            for other, also in enumerate(kinds)
            if (kind == "raw") != (also == "raw") or {kind, also} == {"onion", "fruit"}
        )
        jobs.append(
            Job(
                name=f"{kind} {number}",
                mass=trays * load,
                price=dice.randint(200, 1200),
                loads=(load, load),
                trays=(trays, trays),
                arrival=arrival,
                fresh_until=arrival + dice.choice(KEEPS[kind]) * day,
                frozen_until=steps,
                fresh=(fresh, fresh),
                frozen=(max(fresh - 2, 1),) * 2,
                room=1700,
                water=(round(load * 0.85),) * 2,
                ready_by=steps,
                must=False,
                apart=apart,
            )
        )
    machines = tuple(Machine(name, 5, 7000, 2, (), costs) for name in ("one", "two"))
    return Problem(steps, home, tuple(jobs), machines, (60_000,) * steps)


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 20.0
    print("seed  trays  first come  earliest deadline  planned   bound     gap  seconds")
    gaps = []
    for seed in range(count):
        problem = kitchen(seed, most_trays=1.5 + 2.0 * seed / max(count - 1, 1))
        begin = time.monotonic()
        solved = solve(problem, seconds)
        took = time.monotonic() - begin
        simple = [saved_value(problem, rule(problem)) / 1e5 for rule in (first_come, earliest_deadline)]
        trays = sum(job.trays[0] for job in problem.jobs)
        print(
            f"{seed:4d}  {trays:5d}  {simple[0]:10.2f}  {simple[1]:17.2f}  {solved.saved / 1e5:7.2f}"
            f"  {solved.bound / 1e5:7.2f}  {solved.gap:6.2%}  {took:7.1f}",
            flush=True,
        )
        gaps.append(solved.gap)
    within = sum(gap <= 0.01 for gap in gaps)
    print(f"{within} of {count} within 1 %; largest gap {max(gaps):.2%}")


if __name__ == "__main__":
    main()

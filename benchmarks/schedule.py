"""The trial of the schedule search: invented gluts of 40 lots, two dryers and 14 days, beside two simple rules.

Run on two quiet cores: ``python -m benchmarks.schedule [--seconds 20] [--seeds 30] [--write]``. Results are kept in
``out/`` and not worked out again, so a run that was cut off goes on; ``--write`` writes ``docs/schedule-trial.md``.
"""

import argparse
import hashlib
import inspect
import json
import random
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from statistics import mean, median

from drystow.planning.schedule.greedy import ORDERS, all_ends, load_in_order
from drystow.planning.schedule.grid import GridDryer, Job, ScheduleProblem, saved_value
from drystow.planning.schedule.value_search import solve

ROOT = Path(__file__).parents[1]
KEPT, PAGE = ROOT / "out" / "schedule-trial.json", ROOT / "docs" / "schedule-trial.md"
LOTS, DAYS, STEP = 40, 14, 2
GLUT = 3.5  # trays that a lot fills, on average
LESS = (1.5, 2.0, 2.5, 3.0)  # likewise, in fortnights with less food
KINDS = ("raw", "onion", "fruit", "fruit", "vegetable", "vegetable", "vegetable", "dish")
KEEPS = {"raw": (1, 3), "onion": (14,), "fruit": (2, 3, 3), "vegetable": (1, 3, 3, 14), "dish": (3,)}  # days
SEARCH = ("grid", "greedy", "structure", "slots", "prices", "columns", "branching", "model", "value_search", "solver")
SIMPLE = {"first": ("first_come",), "earliest": ("earliest_deadline", "refrigerator_first")}
"""Simple rules; where one can be understood in two ways, the better counts."""


def kitchen(seed: int, most_trays: float = GLUT, alike: bool = True) -> ScheduleProblem:
    """Return an invented kitchen.

    seed: of the random numbers
    most_trays: that a lot fills, on average
    alike: the dryers are equal; else the second has its own size and pace
    """
    dice = random.Random(seed)
    day = 24 // STEP
    steps = DAYS * day
    weekday = {6, 18, 20}
    hours = [(step % day) * STEP for step in range(steps)]
    home = tuple(hour in weekday or (step // day % 7 >= 5 and 8 <= hour <= 20) for step, hour in enumerate(hours))
    costs = tuple(round(1.2 * STEP * (34 if 16 <= hour < 21 else 14) * 100) for hour in hours)
    kinds = [dice.choice(KINDS) for _ in range(LOTS)]
    other = random.Random(1000 + seed)
    size, pace, places = (
        (1.0, 1.0, 5) if alike else (other.uniform(0.7, 1.4), other.uniform(0.85, 1.2), other.choice((3, 4, 6)))
    )
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
        filled = max(1, round(trays / size))
        loads = (load, -(-trays * load // filled))
        lasts = (fresh, max(round(fresh * pace), 1))
        jobs.append(
            Job(
                name=f"{kind} {number}",
                mass=trays * load,
                price=dice.randint(200, 1200),
                loads=loads,
                trays=(trays, filled),
                arrival=arrival,
                came=arrival,
                fresh_until=arrival + dice.choice(KEEPS[kind]) * day,
                frozen_until=steps,
                fresh=lasts,
                frozen=(max(lasts[0] - 2, 1), max(lasts[1] - 2, 1)),
                room=1700,
                water=(round(loads[0] * 0.85), round(loads[1] * 0.85)),
                ready_by=steps,
                must=False,
                apart=apart,
            )
        )
    machines = (
        GridDryer("one", 5, 7000, 2, (), costs),
        GridDryer("two", places, round(1400 * places * size), 2, (), costs),
    )
    return ScheduleProblem(steps, home, tuple(jobs), machines, (60_000,) * steps)


@dataclass(frozen=True)
class Trial:
    """One kitchen.

    seed: of it
    most_trays: that a lot fills, on average
    alike: its dryers are equal
    trays: that all lots fill
    first: value that loading in the order of arrival saves
    earliest: value that loading first what spoils first saves
    planned: value that the plan saves
    bound: value that no plan exceeds
    gap: of the plan to the bound [-]
    seconds: of the search
    share: of two cores that it had [-]
    """

    seed: int
    most_trays: float
    alike: bool
    trays: int
    first: float
    earliest: float
    planned: float
    bound: float
    gap: float
    seconds: float
    share: float

    @property
    def more(self) -> tuple[float, float]:
        """How much more the plan saves than each simple rule [-]."""
        return self.planned / self.first - 1, self.planned / self.earliest - 1

    @property
    def met(self) -> bool:
        """Whether the plan is within 1% of the bound and saves 10% more than each simple rule."""
        return self.gap <= 0.01 and min(self.more) >= 0.1


def trial(seed: int, most_trays: float, alike: bool, seconds: float) -> Trial:
    """Return what the search and the simple rules reach in a kitchen."""
    problem = kitchen(seed, most_trays, alike)
    begin, work = time.monotonic(), time.process_time()
    solved = solve(problem, seconds)
    took, worked = time.monotonic() - begin, time.process_time() - work
    simple = {name: max(by_rule(problem, order) for order in orders) / 1e5 for name, orders in SIMPLE.items()}
    trays = sum(job.trays[0] for job in problem.jobs)
    return Trial(
        seed, most_trays, alike, trays, simple["first"], simple["earliest"], solved.saved / 1e5, solved.bound / 1e5,
        solved.gap, took, worked / took / 2,
    )  # fmt: skip


def by_rule(problem: ScheduleProblem, order: str) -> int:
    """Return the value that a simple rule saves, with the best of all smallest numbers of trays to begin a batch."""
    ends = all_ends(problem)
    lots = sorted(range(len(problem.jobs)), key=lambda number: ORDERS[order](problem.jobs[number]))
    fewest = range(1, max(machine.trays for machine in problem.machines) + 1)
    return max(saved_value(problem, load_in_order(problem, ends, lots, least)) for least in fewest)


def kept(fingerprint: str) -> dict[str, Trial]:
    """Return the results of earlier runs of the same code."""
    if not KEPT.exists():
        return {}
    found = json.loads(KEPT.read_text(encoding="utf-8"))
    return {key: Trial(**one) for key, one in found.items() if key.startswith(fingerprint)}


def fingerprint(seconds: float) -> str:
    """Return a short name of the code of the search and of its time."""
    code = [(ROOT / "src" / "drystow" / "planning" / f"{name}.py").read_text(encoding="utf-8") for name in SEARCH]
    code += [inspect.getsource(part) for part in (kitchen, trial, by_rule)]
    return hashlib.sha256("".join(code).encode()).hexdigest()[:12] + f" {seconds:g}"


def line(one: Trial) -> str:
    """Return a row of the table."""
    dryers = "equal" if one.alike else "different"
    return (
        f"| {one.seed} | {dryers} | {one.trays} | {one.first:.2f} | {one.earliest:.2f} | {one.planned:.2f} |"
        f" {one.bound:.2f} | {one.gap:.2%} | {one.more[0]:.1%} | {one.more[1]:.1%} | {one.seconds:.1f} |"
        f" {one.share:.0%} | {'yes' if one.met else 'no'} |"
    )


HEAD = (
    "| seed | dryers | trays | first come | earliest deadline | planned | bound | gap | more than first come"
    " | more than earliest deadline | seconds | share of two cores | met |\n" + "|--:" * 13 + "|"
)


def page(glut: Sequence[Trial], less: Sequence[Trial], seconds: float) -> str:
    """Return the page with both tables."""
    gaps = [one.gap for one in glut]
    more = [min(one.more) for one in glut]
    rows = [
        f"| {most_trays:g} | {len(own)} | {max(one.gap for one in own):.2%} | {mean(one.more[0] for one in own):.1%} |"
        f" {mean(one.more[1] for one in own):.1%} |"
        for most_trays in LESS
        if (own := [one for one in less if one.most_trays == most_trays])
    ]
    return f"""# How good the plans are (trial)

Written by `python -m benchmarks.schedule --write`, {seconds:g} s of search for each kitchen.

**What is asked.** With 40 lots, two dryers and 14 days, within 20 s on two cores: the plan is at most 1% below the
proven bound of all plans, and saves at least 10% more food value than loading in the order of arrival and than loading
first what spoils first.

**What came out.** {sum(one.met for one in glut)} of {len(glut)} kitchens meet both.
{sum(gap <= 0.01 for gap in gaps)} are within 1% of the bound (median gap {median(gaps):.2%}, largest {max(gaps):.2%});
{sum(one >= 0.1 for one in more)} save 10% more than the better simple rule (median {median(more):.1%}, least
{min(more):.1%}). The searches had {min(one.share for one in glut):.0%} to {max(one.share for one in glut):.0%} of two
cores; one that ends early, or whose halves wait for each other, has less than all.

## The kitchens
They are invented, and drawn by `kitchen` in `benchmarks/schedule.py` with the seeds 0 to {len(glut) - 1}; none is left
out and no seed was chosen by its result. It is a glut: a fortnight that brings about half as much again as the dryers
can take. When everything fits, any rule saves everything, and planning can win nothing.
- A lot fills 1.4 to 5.6 trays (uniform, rounded) of 0.9 to 1.4 kg and arrives at any moment of the first eleven days.
  It is raw meat or fish (1 in 8), onions (1 in 8), fruit (2 in 8), vegetables (3 in 8) or a cooked dish (1 in 8), and
  keeps 1, 2, 3 or 14 days in the refrigerator; frozen it keeps to the end, but the freezer holds 60 L, about 35 kg. A
  kilogram is worth 2 to 12.
- It dries for 18 to 32 h, 2 h less when frozen. Raw food goes apart from all other, onions apart from fruit.
- Somebody is there at 6, 18 and 20 h on five days, from 8 to 22 h on two. The grid is 2 h, the turnaround 4 h.
- With even seeds both dryers have five trays. With odd seeds the second has 3, 4 or 6 trays of 0.7 to 1.4 times the
  size, and dries 0.85 to 1.2 times as long.

**The simple rules** load a dryer as soon as it is free and somebody is there, with the lots in their order, passing
over what may not go in, and freezing food in time as if they had known. They know beforehand with how few trays a
batch is worth beginning (the best of all numbers counts). "Earliest deadline" is the better of two: by the day when
food spoils even frozen, and by the day until which it keeps in the refrigerator.

{HEAD}
{chr(10).join(line(one) for one in glut)}

## With less food
The same draw with smaller lots. The less there is beyond what the dryers can take, the less is left to win.

| trays of a lot, mean | kitchens | largest gap | more than first come, mean | more than earliest deadline, mean |
|--:|--:|--:|--:|--:|
{chr(10).join(rows)}
"""


def main() -> None:
    """Run what is not yet known, print the table, and write the page."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--seconds", type=float, default=20.0, help="of each search")
    words.add_argument("--seeds", type=int, default=30, help="kitchens with a glut")
    words.add_argument("--less", type=int, default=3, help="kitchens for each smaller amount of food")
    words.add_argument("--write", action="store_true", help=f"write {PAGE.name}")
    chosen = words.parse_args()
    name = fingerprint(chosen.seconds)
    known = kept(name)
    asked = [(seed, GLUT) for seed in range(chosen.seeds)]
    asked += [(seed, most_trays) for most_trays in LESS for seed in range(chosen.less)]
    found = []
    print(HEAD)
    for seed, most_trays in asked:
        key = f"{name} {seed} {most_trays:g}"
        if key not in known:
            known[key] = trial(seed, most_trays, seed % 2 == 0, chosen.seconds)
            KEPT.parent.mkdir(exist_ok=True)
            KEPT.write_text(json.dumps({key: asdict(one) for key, one in known.items()}, indent=1), encoding="utf-8")
        found.append(known[key])
        print(line(known[key]), flush=True)
    glut, less = found[: chosen.seeds], found[chosen.seeds :]
    if chosen.write:
        PAGE.write_text(page(glut, less, chosen.seconds), encoding="utf-8")
    print(f"{sum(one.met for one in glut)} of {len(glut)} meet both")


if __name__ == "__main__":
    main()

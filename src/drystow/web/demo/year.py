"""A year of batches: food by season, each run really simulated, weighed as people weigh."""

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np

from drystow.machine.ensemble import simulate_spread, with_middle_times
from drystow.machine.result import LoadResult, TrayResult
from drystow.machine.run import simulate
from drystow.web.batches.adapters import dryer_of, load_of, prediction_json
from drystow.web.batches.models import Batch, Happening, Item, Load, Weighing
from drystow.web.demo.menu import CUTS, PROGRAMS, MenuFood
from drystow.web.dryers.models import Dryer

MEMBERS = 20  # runs behind the ranges of a batch
OPEN_STAGES = ("labels", "packing", "running", "proof", "program", "trays", "basket")
TARES_G = (905.0, 640.0)
FULL_TRAY = 0.16  # tray area that `Cut.tray_kg` fills [m2]
TRAP_MARGIN = 0.92  # of what the vapour trap holds
BUOYANCY_G = 0.6  # a tray still warm from the shelf weighs less, rising air lifts it; common practice
UPTAKE = 0.0006  # moisture from the room, of the dry mass per minute outside; common practice
NOTES = (
    "Rain outside, kitchen humid.",
    "Cut a little thicker than usual.",
    "Lovely colour.",
    "Trays swapped top to bottom before the run.",
    "Some pieces stuck to the tray, parchment next time.",
    "Smells like summer.",
)


@dataclass
class DemoRun:
    """One batch with its rows, not yet saved.

    batch: the batch
    cuts: what is on it, one per item
    items: rows of the basket
    loads: rows of the trays, in the order of the result
    result: simulated course, None before the run
    pace: actual duration over predicted
    """

    batch: Batch
    cuts: list[MenuFood]
    items: list[Item]
    loads: list[Load]
    result: LoadResult | None = None
    pace: float = 1.0
    weighings: list[Weighing] = field(default_factory=list)
    happenings: list[Happening] = field(default_factory=list)

    def moisture(self, number: int) -> float:
        """Return the moisture of an item at the end of the run, wet basis [-]."""
        assert self.result is not None
        return self.result.trays[number].residual_moisture


def year_of_runs(now: datetime, count: int, dryers: list[Dryer], refs: dict[str, str], seed: int) -> Iterator[DemoRun]:
    """Yield batches of the last twelve months, oldest first; the last ones are in every stage from basket to labels.

    now: end of the year
    count: how many batches, at least one per open stage
    dryers: saved dryers
    refs: own foods and recipes of the menu by their references in the database
    seed: the same seed gives the same year
    """
    chance = random.Random(seed)
    for number, (start, dryer_number, stage) in enumerate(_calendar(now, max(count, len(OPEN_STAGES)), chance)):
        yield _run(number, start, dryers[dryer_number % len(dryers)], dryer_number, stage, now, refs, chance)


def _calendar(now: datetime, count: int, chance: random.Random) -> list[tuple[datetime, int, str]]:
    past = count - len(OPEN_STAGES)
    first, last = now - timedelta(days=362), now - timedelta(days=9)
    gap = (last - first) / max(past, 1)
    calendar = []
    for number in range(past):
        morning = (first + gap * number).replace(hour=chance.choice((8, 9, 17, 18)), minute=chance.choice((0, 15, 40)))
        calendar.append((morning, number % 2, "done"))
    hours_ago = {"labels": 132, "packing": 75, "running": 11, "proof": 34, "program": -4, "trays": -28, "basket": -60}
    second = {"proof": 1, "trays": 1}
    return calendar + [(now - timedelta(hours=hours_ago[stage]), second.get(stage, 0), stage) for stage in OPEN_STAGES]


def _run(
    number: int,
    start: datetime,
    dryer: Dryer,
    dryer_number: int,
    stage: str,
    now: datetime,
    refs: dict[str, str],
    chance: random.Random,
) -> DemoRun:
    program = chance.choice(("mild", "usual", "warm"))
    season = [cut for cut in CUTS if start.month in cut.months and cut.program == program]
    cuts = chance.sample(season, min(len(season), chance.choice((1, 2, 2, 3))))
    created = min(start - timedelta(hours=chance.uniform(1, 4)), now - timedelta(minutes=len(OPEN_STAGES) - number % 7))
    batch = Batch(
        lot=f"{start:%y%m%d}-{'AB'[dryer_number]}{number:02d}",
        title=" and ".join(cut.name.split(",")[0].lower() for cut in cuts).capitalize(),
        dryer=dryer,
        stage=stage,
        program=[dict(step) for step in PROGRAMS[program]],
        created_at=created,
        changed_at=created,
        notes=chance.choice(NOTES) if chance.random() < 0.35 else "",
    )
    run = DemoRun(batch, cuts, [], [])
    _fill_trays(run, dryer, refs, chance)
    if stage == "basket":
        run.loads.clear()
    if stage in ("done", "labels", "packing", "proof", "running"):
        _dry(run, start, now, TARES_G[dryer_number], chance)
    return run


def _fill_trays(run: DemoRun, dryer: Dryer, refs: dict[str, str], chance: random.Random) -> None:
    machine = dryer_of(dryer)
    share = machine.tray_area / FULL_TRAY
    wanted = [run.cuts[tray % len(run.cuts)] for tray in range(machine.trays)]
    masses = [round(cut.tray_kg * share * chance.uniform(0.85, 1.0), 3) for cut in wanted]
    full = min(1.0, TRAP_MARGIN * machine.trap_capacity / (0.94 * sum(masses)))
    masses = [round(mass * full, 3) for mass in masses]
    for cut in run.cuts:
        mass = round(sum(mass for mass, on in zip(masses, wanted, strict=True) if on is cut), 3)
        item = Item(
            batch=run.batch,
            food=refs.get(cut.ref, cut.ref),
            name=cut.name,
            mass_kg=mass,
            shape=cut.shape,
            size_m=cut.size_m,
            skin_state=cut.skin,
            frozen=cut.frozen,
            start_c=-18.0 if cut.frozen else 5.0,
            price=round(mass * cut.price * chance.uniform(0.8, 1.15), 2),
            shop_price=round(mass * cut.shop, 2),
            created_at=run.batch.created_at,
            changed_at=run.batch.created_at,
        )
        run.items.append(item)
    by_cut = dict(zip((id(cut) for cut in run.cuts), run.items, strict=True))
    for tray, (cut, mass) in enumerate(zip(wanted, masses, strict=True), start=1):
        when = run.batch.created_at
        run.loads.append(Load(item=by_cut[id(cut)], tray=tray, mass_kg=mass, created_at=when, changed_at=when))


def _dry(run: DemoRun, start: datetime, now: datetime, tare: float, chance: random.Random) -> None:
    batch, load = run.batch, load_of(run.batch, run.loads)
    run.result = simulate(load)
    spread = simulate_spread(load, MEMBERS, seed=1)
    batch.prediction = prediction_json(run.loads, with_middle_times(run.result, spread), spread)
    batch.started_at = start
    run.pace = max(0.85, chance.gauss(1.02, 0.05))
    if chance.random() < 0.08:
        minutes = round(chance.uniform(6, 35))
        at = start + timedelta(hours=chance.uniform(4, 9))
        run.happenings.append(_happening(batch, "power", at, "The lights went out in the whole street.", minutes))
    if batch.stage == "running":
        return
    hours = run.result.total_time * run.pace / 3600 + (run.happenings[0].minutes or 0) / 60 if run.happenings else 0
    hours = hours or run.result.total_time * run.pace / 3600
    batch.ended_at = start + timedelta(hours=hours)
    if batch.stage == "proof":
        batch.ended_at = min(batch.ended_at, now - timedelta(hours=2.5))
    batch.energy_kwh = round(run.result.machine.energy / 3.6e6 * run.pace * chance.uniform(0.96, 1.06), 2)
    _weigh(run, tare, now, chance)
    if batch.stage in ("packing", "labels", "done"):
        batch.opened_at = max(row.at for row in run.weighings) + timedelta(minutes=chance.uniform(5, 40))


def _weigh(run: DemoRun, tare: float, now: datetime, chance: random.Random) -> None:
    """Weigh every tray towards the end of the run, two hours apart, the last time when it ends."""
    assert run.result is not None
    assert run.batch.started_at is not None
    assert run.batch.ended_at is not None
    rounds = 3 if chance.random() < 0.25 else 2
    for turn in range(rounds):
        at = run.batch.ended_at - timedelta(hours=2.0 * (rounds - 1 - turn))
        for number, (load, tray) in enumerate(zip(run.loads, run.result.trays, strict=True)):
            outside = 1.5 + 1.2 * number + chance.uniform(0, 1.0)
            when = at + timedelta(minutes=outside)
            hours = (at - run.batch.started_at).total_seconds() / 3600.0 / run.pace
            net = _food_g(run.result, tray, hours) * (1 + UPTAKE * outside) - BUOYANCY_G * chance.uniform(0.3, 1.5)
            own = tare + (7 * load.tray) % 11
            gross = float(round(own + net + chance.gauss(0, 0.35)))
            row = Weighing(batch=run.batch, tray=load.tray, at=min(when, now), gross_g=gross, tare_g=own)
            row.outside_min = round(outside, 1)
            run.weighings.append(row)
        if turn < rounds - 1:
            text = "Trays out to weigh, then back in."
            run.happenings.append(_happening(run.batch, "door", at, text, round(2 + 1.2 * len(run.loads), 1)))
    if chance.random() < 0.3:
        at = run.batch.ended_at + timedelta(minutes=12)
        cut = _happening(run.batch, "core", at, "Thickest piece cut open: dry to the core.", None)
        cut.tray, cut.finding = run.loads[0].tray, "dry"
        run.happenings.append(cut)


def _food_g(result: LoadResult, tray: TrayResult, hours: float) -> float:
    moisture = float(np.interp(hours * 3600.0, result.time, tray.moisture))
    return tray.solids / (1 - moisture) * 1000


def _happening(batch: Batch, kind: str, at: datetime, text: str, minutes: float | None) -> Happening:
    return Happening(batch=batch, kind=kind, at=at, text=text, minutes=minutes, created_at=at, changed_at=at)

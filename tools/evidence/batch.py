"""One synthetic batch: what the judge says of each tray beside what is true, and what the plain rules say."""

import math
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np

from drystow.evidence.dryness.courses import View, index_at
from drystow.evidence.dryness.judge import DrynessQuestion, TrayDryness, judge
from drystow.evidence.dryness.reading import solids_with
from drystow.evidence.dryness.samples import LIKELIHOODS, drawn_activity
from drystow.evidence.dryness.weighings import Signal, drawn_water, wet_moisture
from drystow.machine.run import drying_program
from drystow.numerics import Array
from tools.evidence import seeing
from tools.evidence import truth as real
from tools.evidence.naive import constant_weight, cut_and_look
from tools.evidence.scenes import Scene, scene
from tools.evidence.seeing import HOUR, MINUTE, Diary, drying_time, habits_of, open_and_weigh

Row = dict[str, Any]
ALL = real.ALL | seeing.ALL
HORIZON = 60 * HOUR  # of the true course beyond the plan [s]
PATIENCE = 24 * HOUR  # of a person who follows a batch beyond its true dryness [s]
MOST_VISITS = 14


class Listener:
    """Keeps what the judge works with, for the place of the truth among its members; says nothing itself."""

    def __init__(self) -> None:
        self.views: dict[int, tuple[View, tuple[Array, Array]]] = {}

    def __call__(self, view: View, prior: tuple[Array, Array]) -> tuple[Signal, ...]:
        self.views[view.tray] = (view, prior)
        return ()

    def places(self, tray: TrayDryness, seed: int, moisture: float, activity: float) -> tuple[float, float]:
        """Return the share of the weight below the true moisture and the true water activity [-].

        tray: as judged
        seed: that the judge was asked with
        moisture: true, wet basis [-]
        activity: true [-]
        """
        view, prior = self.views[tray.tray]
        here = index_at(view, view.now)
        solids = solids_with(view, drawn_water(view, prior, seed + tray.tray))
        values = wet_moisture(view, here, solids), drawn_activity(view, here, seed + tray.tray)
        below = [float(tray.weights @ (one < true)) for one, true in zip(values, (moisture, activity), strict=True)]
        return below[0], below[1]


def judged_batch(seed: int, members: int, differ: frozenset[str] = ALL) -> list[Row]:
    """Return one row per tray of a batch that is looked at once.

    seed: of the batch
    members: of the judge
    differ: names of the differences between the truth and the judge's model
    """
    batch, diary, random = _begin(seed, differ=differ)
    now = batch.planned * float(random.uniform(0.75, 1.6))
    _weigh_by_plan(diary, now, random)
    return _judged(seed, members, batch, diary, now)


def followed_batch(seed: int, members: int, differ: frozenset[str] = ALL) -> list[Row]:
    """Return one row of a one-tray batch that is weighed every one to three hours until it is called dry.

    seed: of the batch
    members: of the judge
    differ: names of the differences between the truth and the judge's model
    """
    batch, diary, random = _begin(seed, 1, differ)
    pause = float(random.choice([1.0, 1.5, 2.0, 3.0])) * HOUR
    moment = batch.planned * float(random.uniform(0.7, 0.95))
    dry = real.dry_time(diary.truth, diary.course, batch.groups[0])
    looked = constant = math.inf
    for _visit in range(MOST_VISITS):
        open_and_weigh(diary, moment, (1,))
        now = max(row.time for row in diary.evidence.weighed)
        dried = drying_time(diary, moment)
        if constant == math.inf and constant_weight(diary.evidence, 1):
            constant = dried
        if looked == math.inf and cut_and_look(diary.truth, diary.course, batch.groups[0], dried, random):
            looked = dried
        row = _judged(seed, members, batch, diary, now)[0]
        if row["verdict"] == "dry" or dried > dry + PATIENCE:
            break
        moment = max(now, sum(diary.openings[-1])) + pause
    called = dried if row["verdict"] == "dry" else math.inf
    return [{**row, "pause": pause, "true_dry": dry, "called": called, "constant": constant, "looked": looked}]


def _begin(seed: int, trays: int = 3, differ: frozenset[str] = ALL) -> tuple[Scene, Diary, np.random.Generator]:
    batch = scene(seed, trays)
    random = np.random.default_rng([seed, 3])
    truth = real.make_truth(batch.load, seed, differ)
    program = drying_program(batch.load)
    program[-1, 0] = 2.5 * batch.planned + HORIZON
    course = real.course_of(truth, program)
    habits = habits_of(truth, len(batch.groups), random, differ)
    return batch, Diary(truth, course, batch.groups, habits, random, differ=differ), random


def _weigh_by_plan(diary: Diary, now: float, random: np.random.Generator) -> None:
    trays = tuple(range(1, len(diary.groups) + 1))
    if len(trays) > 1 and random.random() < 0.2:
        trays = (int(random.choice(trays)),)  # only one of them
    count = int(random.choice([0, 1, 2, 3, 4, 5, 6], p=[0.04, 0.06, 0.26, 0.26, 0.18, 0.12, 0.08]))
    last = now - float(random.uniform(20.0, 60.0)) * MINUTE
    if count == 0:
        return
    if random.random() < 0.5:  # only near the end
        moments = last - float(random.choice([1.0, 1.0, 1.5, 2.0, 3.0])) * HOUR * np.arange(count)[::-1]
    else:
        moments = np.linspace(last * float(random.uniform(0.3, 0.75)), last, count)
    moments = moments[moments > HOUR]
    which = int(random.choice(trays))
    oven, meter = (which if random.random() < 0.12 else None for _ in range(2))
    for moment in moments:
        final = moment == moments[-1]
        open_and_weigh(diary, float(moment), trays, oven if final else None, meter if final else None)


def _judged(seed: int, members: int, batch: Scene, diary: Diary, now: float) -> list[Row]:
    now = max([now, *(row.time for row in diary.evidence.weighed)])
    moment = drying_time(diary, now)
    listener = Listener()
    with ThreadPoolExecutor(1) as alone:
        asked = DrynessQuestion(
            batch.load,
            diary.evidence,
            now,
            groups=batch.groups,
            members=members,
            seed=seed,
            likelihoods=(*LIKELIHOODS, listener),
        )
        trays = judge(asked, executor=alone)
    held = real.course_of(diary.truth, real.held_program(drying_program(batch.load), moment, HORIZON))
    return [_row(seed, batch, diary, held, moment, tray, listener) for tray in trays]


def _row(
    seed: int,
    batch: Scene,
    diary: Diary,
    course: real.Course,
    moment: float,
    tray: TrayDryness,
    listener: Listener,
) -> Row:
    truth, items = diary.truth, batch.groups[tray.tray - 1]
    moisture = real.wet_moisture(truth, course, items, moment)
    activity = real.activity_of(truth, course, items, moment)
    dry = real.dry_time(truth, course, items)
    mine = np.isin(truth.item, items)
    ice = real.at(course, course.ice, moment)[mine]
    random = np.random.default_rng([seed, 4, tray.tray])
    seen = [row for row in diary.evidence.weighed if row.tray == tray.tray]
    sampled = any(row.tray == tray.tray for row in diary.evidence.samples)
    metered = any(row.tray == tray.tray for row in diary.evidence.activities)
    below = listener.places(tray, seed, moisture, activity)
    return {
        "seed": seed,
        "tray": tray.tray,
        "foods": [batch.load.items[number].food.name for number in items],
        "class": batch.load.items[items[0]].food.food_class,
        "forms": [truth.sorption[number].form for number in items],
        "kind": "oven" if sampled else "meter" if metered else ("none", "once")[len(seen)] if len(seen) < 2 else "more",
        "step": diary.habits.resolution,
        "weighings": len(seen),
        "mistake": abs(diary.habits.written[tray.tray - 1] - diary.habits.tares[tray.tray - 1]) > 0.015,
        "now": moment,
        "planned": batch.planned,
        "target": tray.target_moisture,
        "moisture": moisture,
        "moisture_range": list(_three(tray.residual_moisture)),
        "moisture_place": below[0],
        "activity": activity,
        "activity_range": list(_three(tray.water_activity)),
        "activity_place": below[1],
        "ice": float(ice.mean()),
        "dry": bool(dry <= moment),
        "chance": tray.probability_dry,
        "more": max(dry - moment, 0.0),
        "more_said": [float(value) for value in tray.more_time],
        "verdict": tray.verdict,
        "notes": list(tray.notes),
        "constant_weight": constant_weight(diary.evidence, tray.tray),
        "cut": cut_and_look(truth, course, items, moment, random),
    }


def _three(span: Any) -> tuple[float, float, float]:
    return span.low, span.middle, span.high

"""Batches of an invented dryer: truths with pieces of three thicknesses, and what a cook writes down of them."""

from dataclasses import replace
from typing import Any

import numpy as np

from drystow.evidence.dryness.courses import moisture_of, run_courses, solids_of, views_of
from drystow.evidence.dryness.observed import Clock, Evidence, PressureReading, Weighed
from drystow.evidence.dryness.weighings import UPTAKE
from drystow.evidence.learning.finished import Ended, Finished, curve_at, dry_times
from drystow.foods import table
from drystow.machine.load import Load
from drystow.machine.loadfile import parse_load
from drystow.machine.run import drying_program
from drystow.machine.sampling import SHARED, TOGETHER, column, load_samples
from drystow.numerics import Array

FOODS = {
    "fruit": ("Strawberries, raw", "Apples, raw, without skin"),
    "vegetable": ("Broccoli, raw", "Carrots, raw"),
    "dish": ("Soup, lentil", "Stew, beef"),
    "meat": ("Chicken, breast, boneless, skinless, raw", "Chicken, stewing, meat only, raw"),
}
PIECES = (("slab", 9.0), ("slab", 11.0), ("cube", 11.0), ("sphere", 10.0))
TARE = 0.412
OUT = 240.0
WHEN = (0.5, 0.8)  # of the time until dry, at which all trays are weighed; and once more at the end
CLASSES = 3


def some_load(random: np.random.Generator, classes: tuple[str, ...], trays: int = 3, shelf: str = "45 degC") -> Load:
    """A load of some classes of food, cut as it happens."""
    rows: list[dict[str, Any]] = []
    for number in range(trays):
        food = table.get(str(random.choice(FOODS[classes[number % len(classes)]])))
        shape, size = PIECES[random.integers(len(PIECES) if food.food_class in ("fruit", "vegetable") else 2)]
        mass = random.uniform(0.8, 1.2)
        rows.append({"food": food.id, "mass": f"{mass:.3f} kg", "shape": shape, "size": f"{size:g} mm"})
    return parse_load(
        {
            "dryer": {"profile": "kitchen-5"},
            "program": {"shelf": ["-10 degC for 2 h", f"{shelf} until dry"]},
            "tray": rows,
        }
    )


def true_draws(load: Load, truth: dict[tuple[str, str], float], random: np.random.Generator, between: float) -> Array:
    """The real numbers of a batch: the machine's and the classes' as told, everything else by chance."""
    draws = load_samples(load, 2, int(random.integers(1_000_000)))[:1]
    for cause in SHARED:
        draws[0, column(cause)] = truth.get((cause, ""), 0.0)
    draws[0, column("contact")] += between * random.standard_normal()
    draws[0, column("freezing")] = random.standard_normal()
    for number, item in enumerate(load.items):
        for cause, (kind, share) in TOGETHER.items():
            if kind == "class":
                level = truth.get((cause, item.food.food_class), 0.0)
                own = random.standard_normal()
                draws[0, column(cause, number)] = np.sqrt(share) * level + np.sqrt(1.0 - share) * own
    return draws


def true_batch(
    key: str,
    load: Load,
    truth: dict[tuple[str, str], float],
    random: np.random.Generator,
    *,
    written: Load | None = None,
    between: float = 0.25,
    pace: float = 0.04,
    weighed: bool = True,
    extra: dict[tuple[str, int], float] | None = None,
    gauge: bool = False,
) -> tuple[Finished, float]:
    """A batch as a cook writes it down, and when it really was dry since drying began [s].

    load: what really lay on the trays
    written: what the cook wrote down, when it is something else
    between: spread of the heat transfer between batches [standard deviations]
    pace: spread of the logarithm of the pace between batches
    extra: added to real draws: (cause, number of the item, -1 for all) -> standard deviations
    gauge: the pressure is written down too
    """
    draws = true_draws(load, truth, random, between)
    for (cause, number), more in (extra or {}).items():
        for item in range(len(load.items)) if number < 0 else (number,):
            draws[0, column(cause, item)] += more
    sample_times = np.linspace(0.0, 90 * 3600.0, 541)
    runs = run_courses(load, draws, drying_program(load), sample_times, CLASSES, None, lambda _count: None)
    clock, trays = Clock(np.zeros(0), np.zeros(0)), [(number,) for number in range(len(load.items))]
    nothing = np.full((1, len(trays)), -50.0)
    views = views_of(load, runs, trays, CLASSES, Evidence(), clock, 0.0, nothing)
    dry = float(max(dry_times(view)[0] for view in views))
    slower = np.exp(pace * random.standard_normal())  # what no model knows of one batch
    rows, away = [], 0.0
    for share in (*WHEN, 1.0) if weighed else ():
        moment = share * dry
        for number, view in enumerate(views, start=1):
            solids = solids_of(view)[0, 0]
            curve = np.array([[solids * (1.0 + moisture_of(view, index)[0, 0]) for index in range(len(sample_times))]])
            real = float(curve_at(sample_times, curve, np.array([moment]))[0])
            taken_up = UPTAKE * OUT * solids * np.exp(0.5 * random.standard_normal())
            shown = round((real + taken_up + TARE + 0.0004 * random.standard_normal()) * 1000.0) / 1000.0
            rows.append(Weighed(number, slower * moment + away + OUT, shown, TARE, 0.001, OUT))
        away += 2.0 * OUT + load.rig.dryer.pump_down
    ended = round((slower * dry + (away - 2 * OUT - load.rig.dryer.pump_down if weighed else 0.0)) / 900.0) * 900.0
    pressures = []
    if gauge:
        wrong = np.exp(0.1 * random.standard_normal())
        for share in np.linspace(0.05, WHEN[0] - 0.05, 6):  # before the chamber is opened
            real = float(np.interp(share * dry, sample_times, runs.pressure[0]))
            shown = real * wrong * np.exp(0.05 * random.standard_normal())
            pressures.append(PressureReading(slower * share * dry, shown))
    seen = Evidence(weighed=tuple(rows), pressures=tuple(pressures))
    return Finished(key, load if written is None else written, seen, (Ended(ended),)), slower * dry


def on_day(finished: Finished, day: float) -> Finished:
    """The same batch on another day."""
    return replace(finished, day=day)


OFF = {("contact", ""): np.log(0.75) / 0.2, ("desorption", "fruit"): np.log(0.7) / (0.25 * 0.6**0.5)}
"""A machine that passes 25% less heat, and fruit that gives its last moisture 30% slower: about a fifth slower."""

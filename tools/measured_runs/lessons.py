"""The table of what all studies teach together."""

import math

import numpy as np

from drystow.machine.layout import Tray
from drystow.machine.loadfile import parse_load
from drystow.machine.sampling import PER_ITEM, SHARED, TOGETHER, column, drawn_numbers
from tools.measured_runs.predict import OWN_MACHINE
from tools.measured_runs.published import published_runs
from tools.measured_runs.teach import COMMON, TAUGHT, Learned

TENTH = 1.2816  # standard deviations between the middle and the 10th percentile
CLEAR = 1.0  # standard deviations that a mean must be from zero to be called clear
NUMBERS = {"resistance": Tray.A1, "conductivity": Tray.KD_VACUUM, "desorption": Tray.DESORPTION_RATE}
WORDS = {"resistance": "permeability", "conductivity": "conductivity", "desorption": "desorption"}


def lessons_section(learned: Learned) -> str:
    """Return the table of multipliers and the weights of the studies.

    learned: from all studies
    """
    by_key = {key: (learned.means[at], learned.widths[at]) for at, key in enumerate(learned.keys)}
    kinds = list(dict.fromkeys(kind for cause, kind in learned.keys if cause != OWN_MACHINE))
    rows = [
        "| Class | " + " | ".join(WORDS[cause] for cause in TAUGHT) + " |",
        "|---|" + len(TAUGHT) * "---|",
    ]
    for kind in kinds:
        cells = [_factor(_spread(cause, kind), *by_key[cause, kind]) for cause in TAUGHT]
        rows.append(f"| {kind} | " + " | ".join(cells) + " |")
    mean, width = by_key[OWN_MACHINE, ""]
    low, high = _heat_range()
    spread = math.log(high / low) / math.sqrt(12.0) * math.sqrt(COMMON)
    heat = _factor(spread, mean, width, math.sqrt(low * high))
    weights = ", ".join(f"{name} {weight:.1f}" for name, weight in sorted(learned.weights.items()))
    return "\n".join([
        *rows, "",
        f"Heat of laboratory machines beside ours: {heat}. Weights of the studies: {weights}.\n",
    ])  # fmt: skip


def _spread(cause: str, kind: str) -> float:
    """Spread of a number that all foods of a class have in common, as the program draws it; permeability is 1 / A1."""
    tray = {"composition": {"water": 0.8}, "like": kind, "shape": "slab", "size": "10 mm", "mass": "1 kg"}
    load = parse_load({"dryer": {"profile": "bench-4"}, "program": {"shelf": ["20 degC until dry"]}, "tray": [tray]})
    draws = np.zeros((2, len(SHARED) + len(PER_ITEM)))
    draws[1, column(cause, 0)] = 1.0
    usual, shifted = drawn_numbers(load, draws).trays[:, 0, NUMBERS[cause]]
    spread = math.log(shifted / usual) * math.sqrt(TOGETHER[cause][1])
    return -spread if cause == "resistance" else spread


def _factor(spread: float, mean: float, width: float, middle: float = 1.0) -> str:
    """Return a multiplier with its range of 8 in 10; bold where it is clear of what was taken before."""
    ends = sorted(middle * math.exp(spread * (mean + side * TENTH * width)) for side in (-1.0, 1.0))
    words = f"{middle * math.exp(spread * mean):.2f} ({ends[0]:.2f} to {ends[1]:.2f})"
    return f"**{words}**" if abs(mean) > CLEAR * width else words


def _heat_range() -> tuple[float, float]:
    runs, _sources = published_runs()
    low, high = next(run.missing[OWN_MACHINE].values for run in runs if OWN_MACHINE in run.missing)
    return float(low), float(high)

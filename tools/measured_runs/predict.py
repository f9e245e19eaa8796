"""Predict one published run: missing inputs over their ranges, the engine's own numbers over their spreads."""

import math
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.stats import qmc, rankdata

from drystow.machine.ensemble import WORDS, Members, simulate_members
from drystow.machine.load import Load
from drystow.machine.loadfile import parse_load
from drystow.machine.profile import dryer_profile
from drystow.machine.sampling import PER_ITEM, SHARED, load_samples
from drystow.numerics import Array
from drystow.properties.water import ice_vapour_pressure
from drystow.units import in_file
from tools.measured_runs.published import Run

AREA = 0.1  # of the tray that a run covers [m2]; the result does not depend on it
COVER = 0.6  # share of the tray in the shadow of single pieces
STEPPED = "bench-4"  # machine that follows steps, which a held shelf does not; air holds its pressure
MOST_AIR = 100.0  # pressure that a load file lets air have [Pa]
MOMENTS = 80  # moments at which the water of a run that is timed before its ice is gone is sampled at
PERCENTILES = (10.0, 50.0, 90.0)
LEAST = 0.3  # rank correlation below which a cause is not worth naming


@dataclass(frozen=True)
class Prediction:
    """What the engine says of a run, in the unit of what was published.

    p10, p50, p90: percentiles; infinite where more members than that never get there
    widest: input or uncertain number that the result follows most, empty when it follows none
    icy: median share of the time until dry in which there is ice; NaN when it is not known
    """

    p10: float
    p50: float
    p90: float
    widest: str = ""
    icy: float = math.nan

    @property
    def ranges(self) -> tuple[float, float, float]:
        """The three percentiles."""
        return self.p10, self.p50, self.p90


def predict(run: Run, members: int, seed: int) -> Prediction:
    """Return the prediction of a run.

    run: published
    members: how many runs of the engine
    seed: of the random numbers
    """
    names = list(run.missing)
    shares = qmc.LatinHypercube(max(len(names), 1), rng=np.random.default_rng(seed)).random(members)[:, : len(names)]
    loads = [load_of(run, run.inputs(row)) for row in shares]
    draws = load_samples(loads[0], members, seed + 1)
    with ThreadPoolExecutor(1) as thread:
        measured = [_measured(run, load, row[None], thread) for load, row in zip(loads, draws, strict=True)]
    values, icy = np.array(measured).T
    values = np.where(np.isnan(values), np.inf, values)
    low, middle, high = np.percentile(values, PERCENTILES, method="nearest")
    icy = icy[np.isfinite(icy)]
    share = float(np.median(icy)) if len(icy) else math.nan
    return Prediction(float(low), float(middle), float(high), _widest(names, shares, draws, values), share)


def middle_of(run: Run) -> dict[str, Any]:
    """Return every input of a run, each missing one at the middle of its range.

    run: published
    """
    return run.inputs(np.full(len(run.missing), 0.5))


def load_of(run: Run, inputs: Mapping[str, Any]) -> Load:
    """Return a run as a load, written as a load file writes it.

    run: published
    inputs: every input in SI, such as `Run.inputs` gives them

    This is the one place that knows how a load file is written.
    """
    tray = {**run.table, "frozen": True, "start_temperature": in_file(inputs["frozen"], "temperature")}
    if "composition" in tray:
        water = {"water": inputs["water"]} if "water" in inputs else {}
        tray["composition"] = {**tray["composition"], **water}
    for name in ("like", "faces"):
        if name in inputs:
            tray[name] = inputs[name]
    if "end" in inputs:
        tray["final_moisture"] = inputs["end"]
    if isinstance(inputs["plate"], list):
        stage = in_file(inputs["stage"], "time") if "stage" in inputs else ""
        program = {"program": {"shelf": [step.format(stage=stage) for step in inputs["plate"]]}}
        air = inputs["pressure"] - float(ice_vapour_pressure(dryer_profile(STEPPED).trap_floor))
        dryer = {
            "profile": STEPPED,
            "pressure_limit": "0 Pa",
            "ultimate_pressure": in_file(min(max(air, 0.1), MOST_AIR), "pressure"),
        }
    else:
        program, dryer = {}, {
            "pressure_mode": "held",
            "chamber_pressure": in_file(inputs["pressure"], "pressure"),
            "shelf_temperature": in_file(inputs["plate"], "temperature"),
            "upper_temperature": in_file(inputs["surroundings"], "temperature"),
        }  # fmt: skip

    def written(size: float, mass: float) -> Load:
        row = {**tray, "size": in_file(size, "length"), "mass": in_file(mass, "mass"), "area": in_file(AREA, "area")}
        return parse_load({"dryer": dryer, **program, "tray": [row]})

    density = written(0.01, 0.5).items[0].density
    if run.table["shape"] != "slab":
        size = inputs["size"]
        return written(
            size, density * COVER * AREA * size * (math.pi / 4.0 if run.table["shape"] == "stick" else 2.0 / 3.0)
        )
    bulk = density * inputs["fill"]
    size = inputs["size"] if "size" in inputs else inputs["load"] / bulk
    return written(size, bulk * size * AREA)


def _measured(run: Run, load: Load, draws: Array, thread: ThreadPoolExecutor) -> tuple[float, float]:
    """Return what the run measures, and the share of the time until dry in which there is ice."""
    members = simulate_members(load, draws, executor=thread)
    gone, dry = (float(times[0, 0] - members.start[0]) for times in (members.ice_gone, members.dry))
    if run.measure == "water at the last ice":
        sampled = simulate_members(load, draws, sample_times=(gone,), executor=thread)
        return float(sampled.moisture[0, 0, 0]), gone / dry
    if run.measure == "down to":
        moments = np.linspace(0.0, dry, MOMENTS).tolist()
        sampled = simulate_members(load, draws, sample_times=moments, executor=thread)
        return _down_to(sampled, load, dry), math.nan
    return {"ice gone": gone, "dry": dry, "share of the time": gone / dry}[run.measure], gone / dry


def _down_to(members: Members, load: Load, dry: float) -> float:
    """Return when all water, ice included, is down to the target [s]; NaN when it never is."""
    if math.isnan(dry):
        return math.nan
    wanted, left = load.items[0].target / (1.0 - load.items[0].target), members.moisture[0, :, 0]
    below = np.flatnonzero(left <= wanted)
    if not len(below) or below[0] == 0:
        return dry
    at = below[0]
    share = (left[at - 1] - wanted) / (left[at - 1] - left[at])
    before, after = members.sample_times[at - 1], members.sample_times[at]
    return float(before + share * (after - before))


def _widest(names: list[str], shares: Array, draws: Array, values: Array) -> str:
    causes = [*names, *(str(WORDS[cause]) for cause in (*SHARED, *PER_ITEM))]
    columns = np.concatenate([shares, draws], axis=1)
    ranks = rankdata(values)
    if np.ptp(ranks) == 0.0:
        return ""
    follow = [abs(float(np.corrcoef(rankdata(column), ranks)[0, 1])) for column in columns.T]
    best = int(np.argmax(follow))
    return causes[best] if follow[best] >= LEAST else ""

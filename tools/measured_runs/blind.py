"""The blind predictions: what the engine said of every run before anything was tuned on them."""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from tools.measured_runs.predict import Prediction
from tools.measured_runs.published import FILE, MEASURES, Run

BLIND = FILE.with_name("runs_blind.toml")
HOUR = 3600.0
HEAD = """# What the engine said of every run of runs.toml before any of its numbers was chosen with their help: the
# record that tuning is judged by, never a number to check the engine with. Times in hours, everything else as in
# runs.toml. Written by `python -m tools.write_measured_runs --keep-as-blind`.

"""


@dataclass(frozen=True)
class Blind:
    """The record.

    commit: state of the program
    said: prediction of each run by its name; a run that was added later has none
    """

    commit: str
    said: Mapping[str, Prediction]


def unit_of(run: Run) -> float:
    """Return by what a prediction of a run is divided to be shown: an hour for times, else 1.

    run: published
    """
    return HOUR if MEASURES[run.measure] == "time" else 1.0


def blind_text(runs: Sequence[Run], said: Mapping[str, Prediction], commit: str, members: int, seed: int) -> str:
    """Return the record as it is kept.

    runs: published
    said: their predictions
    commit: state of the program
    members, seed: of the predictions
    """
    rows = [HEAD, f'[made]\ncommit = "{commit}"\nmembers = {members}\nseed = {seed}\n']
    for run in runs:
        low, middle, high = (value / unit_of(run) for value in said[run.name].ranges)
        rows.append(f'\n[run."{run.name}"]\np10 = {low:.4g}\np50 = {middle:.4g}\np90 = {high:.4g}\n')
    return "".join(rows)


def read_blind(path: Path = BLIND) -> Blind:
    """Return the record.

    path: of it
    """
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    return Blind(
        raw["made"]["commit"],
        {name: Prediction(row["p10"], row["p50"], row["p90"]) for name, row in raw["run"].items()},
    )

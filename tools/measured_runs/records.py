"""Predictions that are kept: what the engine said of the runs at some state of the program."""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from tools.measured_runs.published import FILE, MEASURES, Run
from tools.measured_runs.summary import Prediction

BLIND = FILE.with_name("runs_blind.toml")
"""Before any number of the program was chosen with the help of a run; never written again."""
UNTAUGHT = FILE.with_name("runs_untaught.toml")
"""With the program's own numbers at a later state, no lesson taken."""
TAUGHT = FILE.with_name("runs_taught.toml")
"""At the same state, each run with what the other studies taught."""
HOUR = 3600.0
HEADS = {
    UNTAUGHT: """# What the engine said of every run of runs.toml with the program's own numbers, no lesson of
# these runs taken. Times in hours, everything else as in runs.toml. Never a number to check the
# engine with. Written by `python -m tools.write_measured_runs --keep`.

""",
    TAUGHT: """# What the engine said of every run of runs.toml with the lessons of all studies but its own.
# Times in hours, everything else as in runs.toml. Never a number to check the engine with.
# Written by `python -m tools.write_measured_runs --keep`.

""",
}


@dataclass(frozen=True)
class Record:
    """Kept predictions.

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


def write_record(
    path: Path, runs: Sequence[Run], said: Mapping[str, Prediction], commit: str, members: int, seed: int
) -> None:
    """Keep predictions.

    path: of the record
    runs: published
    said: their predictions
    commit: state of the program
    members, seed: of the predictions
    """
    rows = [HEADS[path], f'[made]\ncommit = "{commit}"\nmembers = {members}\nseed = {seed}\n']
    for run in runs:
        low, middle, high = (value / unit_of(run) for value in said[run.name].ranges)
        rows.append(f'\n[run."{run.name}"]\np10 = {low:.4g}\np50 = {middle:.4g}\np90 = {high:.4g}\n')
    path.write_text("".join(rows), encoding="utf-8")


def read_record(path: Path) -> Record:
    """Return kept predictions in the units of the page; none where there is no record.

    path: of the record
    """
    if not path.exists():
        return Record("", {})
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    return Record(
        raw["made"]["commit"],
        {name: Prediction(row["p10"], row["p50"], row["p90"]) for name, row in raw["run"].items()},
    )


def in_seconds(record: Record, runs: Sequence[Run]) -> dict[str, Prediction]:
    """Return kept predictions in the unit of the engine.

    record: kept
    runs: published
    """
    there = [run for run in runs if run.name in record.said]
    return {run.name: Prediction(*(value * unit_of(run) for value in record.said[run.name].ranges)) for run in there}

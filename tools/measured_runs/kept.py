"""Answers of the engine that were worked out before: the command goes on where it was stopped.

They are kept below `build/` and hold only for the program, the run, the numbers and the lessons they were made with.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

from tools.measured_runs.predict import NOTHING, Taught, answers_of
from tools.measured_runs.published import Run
from tools.measured_runs.summary import Prediction, Said, Slopes, said_of

ROOT = Path(__file__).parents[2]
FILE = ROOT / "build" / "measured-runs.json"
ENGINE = ("foods", "properties", "freezing", "drying", "machine", "numerics")
"""Parts of the program that a prediction rests on."""
ROWS = ("values", "gone", "dry", "left")
DIGITS = 6  # to which an answer is kept


class Engine:
    """Asks the engine, or remembers what it said."""

    def __init__(self, runs: Sequence[Run], members: int, seed: int, path: Path = FILE) -> None:
        """Read what is kept.

        runs: published
        members: how many runs of the engine for each published run
        seed: of the random numbers
        path: of the file
        """
        self.members, self.seed, self.path = members, seed, path
        self.studies = {one.source: [run for run in runs if run.source == one.source] for one in runs}
        self.state = _state()
        kept = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
        self.kept: dict[str, Any] = kept["answers"] if kept.get("state") == self.state else {}

    def __call__(self, run: Run, taught: Taught = NOTHING) -> Said:
        """Return what the engine says of a run.

        run: published
        taught: what other studies taught
        """
        study = self.studies[run.source]
        key = hashlib.sha256(f"{run} {study} {taught} {self.members} {self.seed}".encode()).hexdigest()
        if key not in self.kept:
            self.kept[key] = _written(said_of(answers_of(run, study, self.members, self.seed, taught)))
            self.path.parent.mkdir(exist_ok=True)
            self.path.write_text(json.dumps({"state": self.state, "answers": self.kept}), encoding="utf-8")
        return _read(self.kept[key])


def _state() -> str:
    files = [path for part in ENGINE for path in (ROOT / "src" / "drystow" / part).rglob("*") if path.suffix != ".pyc"]
    files += [*Path(__file__).parent.glob("*.py"), *(ROOT / "src" / "drystow").glob("*.py")]
    digest = hashlib.sha256()
    for path in sorted(path for path in files if path.is_file()):
        digest.update(path.read_bytes())
    return digest.hexdigest()


def _written(said: Said) -> dict[str, Any]:
    rows = {name: [float(f"{value:.{DIGITS}g}") for value in getattr(said, name)] for name in ROWS}
    return {"prediction": asdict(said.prediction), "slopes": said.slopes and asdict(said.slopes), **rows}


def _read(raw: Mapping[str, Any]) -> Said:
    slopes = None if raw["slopes"] is None else Slopes(**raw["slopes"])
    rows = [np.array(raw[name], dtype=float) for name in ROWS]
    return Said(Prediction(**raw["prediction"]), slopes, *rows)

"""The set of published runs: read and checked, each input as a value or as a range with its reason."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from drystow.errors import InputError
from drystow.numerics import Array
from drystow.units import parse

FILE = Path(__file__).parents[2] / "tests" / "published" / "runs.toml"
MEASURES = {"dry": "time", "down to": "time", "ice gone": "time", "share of the time": "", "water at the last ice": ""}
"""What can be predicted, with the kind of its unit."""
BOUNDS = ("", "at most", "at least")
MARKS = ("read", "calculated")
READ = (
    "full text",
    "abstract",
    "opening",
    "methods fragment",
    "article of an encyclopedia",
    "quoted in a review",
    "news page",
    "data file",
)
INPUTS = {"size": "length", "load": "load", "fill": "number", "faces": "number", "pressure": "pressure",
          "plate": "temperature", "stage": "time", "surroundings": "temperature", "frozen": "temperature",
          "end": "fraction", "water": "fraction", "like": "text", "skin": "text", "heat": "number"}  # fmt: skip
DECISIVE = ("size", "pressure", "plate", "frozen", "end")
"""A run whose source gives all of these is complete; no source tells what the food saw around it."""


@dataclass(frozen=True)
class Range:
    """An input that a source does not give.

    values: low and high in SI, or the values that are possible
    choice: one of the values, not between them
    why: reason for the range
    practice: key of the range when several runs share it
    """

    values: tuple[Any, ...]
    choice: bool
    why: str
    practice: str = ""

    def at(self, share: float) -> Any:
        """Return the value at a share of the way from low to high, by ratio; one of the values for a choice.

        share: 0 to 1
        """
        if self.choice:
            return self.values[min(int(share * len(self.values)), len(self.values) - 1)]
        low, high = self.values
        return float(low * (high / low) ** share)


@dataclass(frozen=True)
class Source:
    """Where runs were read.

    authors, year, title, where: of the publication
    read: what of it was read
    seen: what of the program was chosen with its help, empty for most
    """

    authors: str
    year: str
    title: str
    where: str
    read: str
    seen: str = ""


@dataclass(frozen=True)
class Run:
    """One published run.

    name: a few words
    source: key of its source
    at: where in the source the numbers stand
    measure: what was measured
    low, high: what was published, equal for a single value; times in s
    bound: at most, at least, or empty for a value
    mark: read or calculated
    how: the calculation
    table: food and shape as a load file writes them
    given: inputs that the source gives, in SI; a plate may be a list of steps
    missing: inputs that it does not give
    note: what a load file cannot say of it
    """

    name: str
    source: str
    at: str
    measure: str
    low: float
    high: float
    bound: str
    mark: str
    how: str
    table: Mapping[str, Any]
    given: Mapping[str, Any]
    missing: Mapping[str, Range]
    note: str

    @property
    def published(self) -> float:
        """What was published, the middle of a band by ratio."""
        return float(np.sqrt(self.low * self.high))

    @property
    def timed(self) -> bool:
        """Whether a time was published, not a limit or another number."""
        return MEASURES[self.measure] == "time" and not self.bound

    @property
    def complete(self) -> bool:
        """Whether the source gives every decisive input."""
        return not any(name in self.missing for name in DECISIVE)

    @property
    def sized(self) -> bool:
        """Whether the source gives how thick the food was, or how much lay on an area."""
        return "size" in self.given or "load" in self.given

    def inputs(self, shares: Array) -> dict[str, Any]:
        """Return every input of one member.

        shares: one number from 0 to 1 for each missing input, in order
        """
        return {
            **self.given,
            **{name: span.at(share) for (name, span), share in zip(self.missing.items(), shares, strict=True)},
        }


def published_runs() -> tuple[tuple[Run, ...], dict[str, Source]]:
    """Return all runs of the set and their sources."""
    return read_runs(tomllib.loads(FILE.read_text(encoding="utf-8")))


def read_runs(raw: Mapping[str, Any]) -> tuple[tuple[Run, ...], dict[str, Source]]:
    """Return all runs and their sources; raise `ValueError` with the run and what is wrong with it.

    raw: the set as read from TOML
    """
    sources = {
        key: Source(**{name: _words(text, key) for name, text in row.items()}) for key, row in raw["source"].items()
    }
    for key, source in sources.items():
        if source.read not in READ:
            raise ValueError(f"source {key}: read {source.read!r} is none of {READ}")
    runs = tuple(_run(row, raw["practice"], sources) for row in raw["run"])
    if len({run.name for run in runs}) < len(runs):
        raise ValueError("two runs have one name")
    return runs, sources


def _run(row: Mapping[str, Any], practice: Mapping[str, Any], sources: Mapping[str, Source]) -> Run:
    name = row.get("name", "a run without name")
    try:
        measure, bound, mark = row["measure"], row.get("bound", ""), row["mark"]
        for what, value, allowed in (("measure", measure, MEASURES), ("bound", bound, BOUNDS), ("mark", mark, MARKS),
                                     ("source", row["source"], sources)):  # fmt: skip
            if value not in allowed:
                raise ValueError(f"{what} {value!r} is none of {', '.join(allowed)}")
        if mark == "calculated" and not row.get("how"):
            raise ValueError("is calculated but does not say how")
        kind = MEASURES[measure]
        span = row["value"] if isinstance(row["value"], Mapping) else {"low": row["value"], "high": row["value"]}
        low, high = (_value(span[end], kind or "number") for end in ("low", "high"))
        if not 0.0 < low <= high:
            raise ValueError(f"value {row['value']!r} is not above 0, or high is below low")
        given = {key: _given(key, value) for key, value in row["given"].items()}
        missing = {key: _range(key, value, practice) for key, value in row["missing"].items()}
        _check_inputs(row["shape"], measure, given, missing)
        table = {key: row[key] for key in ("food", "composition", "shape") if key in row}
        if ("food" in table) == ("composition" in table):
            raise ValueError("needs food or composition")
        return Run(
            name=name,
            source=row["source"],
            at=_words(row["at"], name),
            measure=measure,
            low=low,
            high=high,
            bound=bound,
            mark=mark,
            how=row.get("how", ""),
            table=table,
            given=given,
            missing=missing,
            note=row.get("note", ""),
        )
    except (InputError, KeyError, ValueError) as problem:
        raise ValueError(f"{name}: {problem}") from problem


def _check_inputs(shape: str, measure: str, given: Mapping[str, Any], missing: Mapping[str, Range]) -> None:
    if both := given.keys() & missing.keys():
        raise ValueError(f"{sorted(both)} are given and missing")
    have = given.keys() | missing.keys()
    needed = {"pressure", "plate", "surroundings", "frozen", "heat"} | ({"fill", "faces"} if shape == "slab" else set())
    needed |= set() if "load" in have else {"size"}
    needed |= {"end"} if measure in ("dry", "down to", "share of the time") else set()
    needed |= {"stage"} if "{stage}" in str(given.get("plate", "")) else set()
    if lacking := needed - have:
        raise ValueError(f"says nothing of {sorted(lacking)}; give a value, or a range with its reason")
    if surplus := have - needed - {"load", "water", "like", "skin"}:
        raise ValueError(f"{sorted(surplus)} have no place in this run")


def _given(key: str, written: Any) -> Any:
    if key == "plate" and isinstance(written, list):
        return written
    return _value(written, INPUTS[key])


def _range(key: str, written: Any, practice: Mapping[str, Any]) -> Range:
    row = practice[written] if isinstance(written, str) else written
    kind, why, shared = INPUTS[key], _words(row["why"], key), written if isinstance(written, str) else ""
    if "of" in row:
        return Range(tuple(_value(value, kind) for value in row["of"]), True, why, shared)
    low, high = _value(row["low"], kind), _value(row["high"], kind)
    if not 0.0 < low < high:
        raise ValueError(f"{key} from {row['low']} to {row['high']} is no range")
    return Range((low, high), False, why, shared)


def _value(written: Any, kind: str) -> Any:
    if kind == "text":
        return _words(written, kind)
    if kind == "number":
        return float(written) if isinstance(written, float) else int(written)
    if kind == "load":
        number, unit = str(written).split()
        if unit != "kg/m^2":
            raise ValueError(f"load {written!r} is not in kg/m^2")
        return float(number)
    return parse(written, kind, kind)


def _words(text: Any, where: str) -> str:
    if not isinstance(text, str) or not text.strip():
        raise ValueError(f"{where}: {text!r} says nothing")
    return text

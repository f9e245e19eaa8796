"""BATCH.toml: a load and what was seen of it. docs/dryness-file.md describes every field."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar

from drystow.errors import InputError, InputErrors
from drystow.evidence.dryness.observed import (
    FINDINGS,
    ActivityReading,
    CutPiece,
    Evidence,
    ObservedRise,
    OvenSample,
    PowerReading,
    PressureReading,
    ProbeReading,
    Weighed,
)
from drystow.fields import Fields, Problems, read_toml
from drystow.machine.load import Load
from drystow.machine.loadfile import parse_load, read_load
from drystow.messages import msg
from drystow.ranges import LONGEST, RANGES, Range
from drystow.units import as_written, parse, step_of

PAGE = "docs/dryness-file.md"
LOAD = ("file", "title", "dryer", "program", "tray")
RUN = ("drying_began", "now", "trays")
ROWS = {
    "weighing": ("tray", "time", "gross", "tare", "resolution", "outside"),
    "oven_sample": ("tray", "time", "before", "after", "resolution"),
    "activity": ("tray", "time", "activity", "error"),
    "probe": ("tray", "time", "product", "shelf"),
    "pressure_rise": ("time", "duration", "before", "after"),
    "pressure": ("time", "pressure"),
    "power": ("time", "power"),
    "cut": ("tray", "time", "finding"),
}
MOST_ROWS = 500
COARSEST = 1.0  # step of a scale that still tells anything [kg]; drystow-default


@dataclass(frozen=True)
class BatchSpec:
    """A batch while it dries.

    title: of the batch
    load: food, dryer and program
    evidence: what was seen
    now: moment of the question, since drying began [s]
    groups: numbers of the tray items (from 0) of each tray, or None for one item on each
    """

    title: str
    load: Load
    evidence: Evidence
    now: float
    groups: tuple[tuple[int, ...], ...] | None


@dataclass(frozen=True)
class _BatchFrame:
    """What every row needs to know: when drying began, and how many trays there are."""

    began: datetime | None
    trays: int


Kind = TypeVar("Kind")


def read_batch(path: Path) -> BatchSpec:
    """Return the batch of a BATCH.toml file, or raise what is wrong with it: `InputErrors` names every problem.

    path: of the file; a load file that it names lies beside it
    """
    return parse_batch(read_toml(path, PAGE), path.parent)


def parse_batch(raw: dict[str, Any], folder: Path) -> BatchSpec:
    """Return the batch written in a table; `InputErrors` names every problem.

    raw: the table as read from TOML
    folder: where a load file that it names lies
    """
    problems = Problems()
    fields = Fields(raw, "", ("title", "load", "run", *ROWS), problems)
    load = _load(fields, folder)
    run = Fields(raw.get("run", {}), "run", RUN, problems)
    began = _began(run)
    groups = _groups(run, load)
    count = len(groups) if groups is not None else len(load.items) if load else 60
    frame = _BatchFrame(began, count)
    evidence = Evidence(
        weighed=_rows(fields, "weighing", frame, _weighing),
        samples=_rows(fields, "oven_sample", frame, _sample),
        activities=_rows(fields, "activity", frame, _activity),
        probes=_rows(fields, "probe", frame, _probe),
        rises=_rows(fields, "pressure_rise", frame, _rise),
        pressures=_rows(fields, "pressure", frame, _pressure),
        powers=_rows(fields, "power", frame, _power),
        cuts=_rows(fields, "cut", frame, _cut),
    )
    now = _time(run, "now", frame)
    late = [
        InputError(f"{name}[{number}].time", msg("is later than run.now; correct this time, or write a later run.now"))
        for name, rows in zip(ROWS, vars(evidence).values(), strict=True)
        for number, row in enumerate(rows, start=1)
        if row.time > now
    ]
    problems += [] if problems else late
    if problems or load is None:
        raise InputErrors(problems)
    return BatchSpec(fields.text("title", load.title), load, evidence, now, groups)


def _load(fields: Fields, folder: Path) -> Load | None:
    if not fields.has("load"):
        fields.problem("load", msg('is missing; write [load] and under it file = "load.toml", or the load itself'))
        return None
    table = Fields(fields.table["load"], "load", LOAD, fields.problems)
    try:
        if not table.has("file"):
            return parse_load(table.table) if table.readable else None
        if table.has(*LOAD[1:]):
            table.problem("file", msg("give a file or the load itself, not both"))
            return None
        name = table.text("file")
        return read_load(folder / name) if name else None
    except InputErrors as many:
        fields.problems += [problem.under("load") for problem in many.problems]
        return None


def _began(run: Fields) -> datetime | None:
    value = run.table.get("drying_began")
    if value is None or isinstance(value, datetime):
        return value
    run.problem(
        "drying_began",
        msg("{value} is not a date and time; write it without quotes, such as 2026-03-14T21:30:00", value=str(value)),
    )
    return None


def _groups(run: Fields, load: Load | None) -> tuple[tuple[int, ...], ...] | None:
    if not run.has("trays") or load is None:
        return None
    rows, wanted = run.table["trays"], list(range(1, len(load.items) + 1))
    good = isinstance(rows, list) and all(isinstance(row, list) and row for row in rows)
    if not good or sorted((number for row in rows for number in row), key=str) != sorted(wanted, key=str):
        run.problem(
            "trays",
            msg(
                "list the item numbers of each tray, every item from 1 to {count} once, such as [[1], [2, 3]]",
                count=len(load.items),
            ),
        )
        return None
    return tuple(tuple(number - 1 for number in row) for row in rows)


def _rows(
    fields: Fields, name: str, frame: _BatchFrame, read: Callable[[Fields, _BatchFrame], Kind]
) -> tuple[Kind, ...]:
    rows = fields.table.get(name, [])
    if not isinstance(rows, list) or len(rows) > MOST_ROWS:
        fields.problem(name, msg("write up to {most} tables [[{name}]]", most=MOST_ROWS, name=name))
        return ()
    ranges, problems = RANGES.get(name, {}), fields.problems
    named = [(row, f"{name}[{number}]") for number, row in enumerate(rows, start=1)]
    return tuple(read(Fields(row, prefix, ROWS[name], problems, ranges), frame) for row, prefix in named)


def _time(table: Fields, key: str, frame: _BatchFrame) -> float:
    value = table.table.get(key)
    if value is None:
        table.problem(key, msg("is missing; write hours since drying began ('26 h'), or a date and time"))
        return 0.0
    if isinstance(value, datetime):
        if frame.began is None:
            table.problem(key, msg("is a date and time, so run.drying_began must be one too"))
            return 0.0
        if (value.tzinfo is None) != (frame.began.tzinfo is None):
            table.problem(key, msg("has a time zone but run.drying_began has none, or the other way around"))
            return 0.0
        seconds = (value - frame.began).total_seconds()
    else:
        try:
            seconds = parse(value, "time", f"{table.prefix}.{key}")
        except InputError as problem:
            table.problems.append(problem)
            return 0.0
    if not 0.0 <= seconds <= LONGEST:
        table.problem(key, msg("'{value}' is not in the 20 days after drying began", value=str(value)))
        return 0.0
    return seconds


def _tray(table: Fields, frame: _BatchFrame) -> int:
    if not table.has("tray"):
        table.problem("tray", msg("is missing; write the tray number, counted from 1"))
        return 1
    return table.whole("tray", 1, Range("", 1, frame.trays))


def _step(table: Fields, *keys: str) -> float:
    """Return the step of the scale, as the coarsest of some weights was written: 0.01 lb for 3.31 lb [kg]."""
    steps = []
    for key in keys:
        try:
            steps.append(step_of(table.table[key], "mass"))
        except (KeyError, InputError):  # told with the weight itself
            continue
    return min(max(steps, default=0.001), COARSEST)


def _weighing(table: Fields, frame: _BatchFrame) -> Weighed:
    before = len(table.problems)
    row = Weighed(
        tray=_tray(table, frame),
        time=_time(table, "time", frame),
        gross=table.required("gross"),
        tare=table.quantity("tare", 0.0),
        resolution=table.quantity("resolution", _step(table, "gross")),
        outside=table.quantity("outside", 240.0),
    )
    if row.gross <= row.tare and table.has("gross") and len(table.problems) == before:
        words = msg(
            "the empty tray can't weigh as much as the tray with its food; write less than {gross}",
            gross=as_written(table.table["gross"]),
        )
        table.problem("tare", words)
    return row


def _sample(table: Fields, frame: _BatchFrame) -> OvenSample:
    row = OvenSample(
        tray=_tray(table, frame),
        time=_time(table, "time", frame),
        before=table.required("before"),
        after=table.required("after"),
        resolution=table.quantity("resolution", _step(table, "before", "after")),
    )
    if row.after > row.before and table.has("before") and table.has("after"):
        table.problem("after", msg("is more than before; a sample can only lose weight in an oven"))
    return row


def _activity(table: Fields, frame: _BatchFrame) -> ActivityReading:
    return ActivityReading(
        tray=_tray(table, frame),
        time=_time(table, "time", frame),
        activity=table.required("activity"),
        error=table.quantity("error", 0.015),
    )


def _probe(table: Fields, frame: _BatchFrame) -> ProbeReading:
    return ProbeReading(
        tray=_tray(table, frame),
        time=_time(table, "time", frame),
        product=table.required("product"),
        shelf=table.required("shelf"),
    )


def _rise(table: Fields, frame: _BatchFrame) -> ObservedRise:
    return ObservedRise(
        time=_time(table, "time", frame),
        duration=table.required("duration"),
        before=table.required("before"),
        after=table.required("after"),
    )


def _pressure(table: Fields, frame: _BatchFrame) -> PressureReading:
    return PressureReading(_time(table, "time", frame), table.required("pressure"))


def _power(table: Fields, frame: _BatchFrame) -> PowerReading:
    return PowerReading(_time(table, "time", frame), table.required("power"))


def _cut(table: Fields, frame: _BatchFrame) -> CutPiece:
    if not table.has("finding"):
        table.problem("finding", msg("is missing; write dry, cold, soft or ice"))
    finding = table.choice("finding", FINDINGS, FINDINGS[0], msg("finding"))
    return CutPiece(_tray(table, frame), _time(table, "time", frame), finding)

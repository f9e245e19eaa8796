"""The page about the published runs."""

import math
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from tools.measured_runs.blind import Blind, unit_of
from tools.measured_runs.predict import Prediction, load_of, middle_of
from tools.measured_runs.published import FILE, INPUTS, Range, Run, Source, published_runs
from tools.measured_runs.scores import Pair, Scores, inside, ratio_of, same, scores_of

PROSE: dict[str, Any] = tomllib.loads((Path(__file__).parent / "prose.toml").read_text(encoding="utf-8"))
AS_SHOWN = {
    "length": (1e-3, "mm", 0.0),
    "pressure": (1.0, "Pa", 0.0),
    "temperature": (1.0, "°C", 273.15),
    "time": (3600.0, "h", 0.0),
}
SCORE_HEAD = (
    "Times | Studies | In P10 to P90 | By study | Median error of P50 | Median P50 / published | Median P90 / P10 |"
)
SCORE_LINE = 7 * "---|"
ENOUGH = 6  # complete runs below which the page says so


def page_of(said: Mapping[str, Prediction], blind: Blind, members: int, seed: int) -> str:
    """Return the page.

    said: prediction of each run by its name
    blind: the predictions from before any tuning
    members, seed: of the predictions
    """
    runs, sources = published_runs()
    pairs = [(run, said[run.name]) for run in runs]
    old = [(run, blind.said[run.name]) for run in runs if run.name in blind.said]
    old_seconds = [(run, _times(record, unit_of(run))) for run, record in old]
    unchanged = len(old) == len(runs) and same(
        [record for _run, record in old_seconds], [record for _run, record in pairs]
    )
    parts = [
        PROSE["head"],
        f"{members} runs of the engine for each published run, seed {seed}.\n",
        "## In short\n",
        _short(pairs, old_seconds, unchanged, blind),
        PROSE["reading"],
        PROSE["chart"],
        "## Times\n",
        PROSE["columns"],
        _times_table(
            [pair for pair in pairs if pair[0].timed],
            {run.name: record for run, record in old_seconds},
            unchanged,
        ),
        "## By class of food\n",
        _classes(pairs),
        "## Ratios within a study\n",
        PROSE["ratios"],
        _ratios({run.name: (run, record) for run, record in pairs}),
        "## Limits and other numbers\n",
        _others([pair for pair in pairs if not pair[0].timed]),
        "## Tuning\n",
        PROSE["tuning"],
        "## Inputs\n",
        PROSE["complete"],
        _inputs(runs),
        "## Sources\n",
        _sources(runs, sources),
        "## What was searched, and what could not be had\n",
        "".join(f"- {line}\n" for line in (*PROSE["searched"], *PROSE["unused"])),
    ]
    return "\n".join(parts)


def _short(pairs: Sequence[Pair], old: Sequence[Pair], unchanged: bool, blind: Blind) -> str:
    timed = [run for run, _said in pairs if run.timed]
    complete = [pair for pair in pairs if pair[0].timed and pair[0].complete]
    studies = len({run.source for run, _said in pairs})
    lines = [
        f"- {len(pairs)} published numbers from {studies} studies: {len(timed)} times, "
        f"{sum(bool(run.bound) for run, _said in pairs)} limits on a time, the rest other numbers.",
        f"- **{len(complete)} of the times have all inputs given**"
        + (f", fewer than the {ENOUGH} that a figure of their own would take; the last section says what was searched."
           if len(complete) < ENOUGH else "."),
        f"- {sum(run.sized for run in timed)} of the times have their thickness or load given.",
    ]  # fmt: skip
    groups = {
        "All times": pairs,
        "Thickness or load given": [pair for pair in pairs if pair[0].sized],
        "All inputs given": complete,
    }
    rows = [("Blind", name, scores_of(_only(old, group))) for name, group in groups.items()]
    if not unchanged:
        rows += [("Today", name, scores_of(group)) for name, group in groups.items()]
    table = [
        f"| Prediction | Runs | {SCORE_HEAD}",
        f"|---|---|{SCORE_LINE}",
        *(f"| {when} | {name} | {_score(score)} |" for when, name, score in rows),
    ]
    when = f"Blind: before any tuning, at {blind.commit[:10]}." + (
        " Nothing has changed since, so today's predictions are the same.\n"
        if unchanged
        else " Today: with the program as it is.\n"
    )
    return "\n".join([*lines, "", *table, "", when])


def _only(pairs: Sequence[Pair], group: Sequence[Pair]) -> list[Pair]:
    names = {run.name for run, _said in group}
    return [pair for pair in pairs if pair[0].name in names]


def _score(score: Scores | None) -> str:
    if score is None:
        return "0 | 0 | none | none | none | none | none"
    return (
        f"{score.runs} | {score.studies} | {score.covered:.0%} | {score.covered_by_study:.0%} | {score.error:.0%} | "
        f"{score.ratio:.2f} | {score.width:.1f}"
    )


def _times_table(pairs: Sequence[Pair], blind: Mapping[str, Prediction], unchanged: bool) -> str:
    head = "| Run | Published h | Blind P10 – P50 – P90 |" + ("" if unchanged else " Today |")
    rows = [
        head + " P50 / published | Inside | With ice | Follows most |",
        "|---|---|---|" + ("" if unchanged else "---|") + "---|---|---|",
    ]
    for run, said in pairs:
        cells = [run.name, _published(run), _span(run, blind.get(run.name))]
        cells += [] if unchanged else [_span(run, said)]
        icy = f"{said.icy:.0%}" if math.isfinite(said.icy) else ""
        cells += [f"{said.p50 / run.published:.2f}", "yes" if inside(run, said) else "**no**", icy, said.widest]
        rows.append("| " + " | ".join(cells) + " |")
    return "\n".join(rows) + "\n"


def _classes(pairs: Sequence[Pair]) -> str:
    groups: dict[str, list[Pair]] = {}
    for run, said in pairs:
        if run.timed:
            kind = "several" if "like" in run.missing else load_of(run, middle_of(run)).items[0].food.food_class
            groups.setdefault(kind, []).append((run, said))
    rows = [f"| Class | {SCORE_HEAD}", f"|---|{SCORE_LINE}"]
    rows += [f"| {name} | {_score(scores_of(group))} |" for name, group in sorted(groups.items())]
    return "\n".join(rows) + "\n"


def _ratios(pairs: Mapping[str, Pair]) -> str:
    rows = ["| Ratio | Published | Predicted | Predicted / published |", "|---|---|---|---|"]
    for row in tomllib.loads(FILE.read_text(encoding="utf-8"))["ratio"]:
        published, predicted = ratio_of(pairs[row["of"]], pairs[row["to"]])
        rows.append(f"| {row['name']} | {published:.2f} | {predicted:.2f} | {predicted / published:.2f} |")
    return "\n".join(rows) + "\n"


def _others(pairs: Sequence[Pair]) -> str:
    rows = ["| Run | Measure | Published | P10 – P50 – P90 | Agrees | Follows most |", "|---|---|---|---|---|---|"]
    for run, said in pairs:
        agrees = "yes" if inside(run, said) else "**no**"
        published = f"{run.bound} {_published(run)}".strip()
        rows.append(f"| {run.name} | {run.measure} | {published} | {_span(run, said)} | {agrees} | {said.widest} |")
    return "\n".join(rows) + "\n"


def _inputs(runs: Sequence[Run]) -> str:
    shared = {span.practice: (name, span) for run in runs for name, span in run.missing.items() if span.practice}
    lines = ["| Not given | Input | Range | Why |", "|---|---|---|---|"]
    lines += [f"| {key} | {name} | {_range(name, span)} | {span.why} |" for key, (name, span) in shared.items()]
    lines.append("")
    for run in runs:
        given = ", ".join(f"{name} {_shown(name, value)}" for name, value in run.given.items()) or "nothing else"
        missing = "; ".join(
            f"{name} ({span.practice})" if span.practice else f"{name} {_range(name, span)} ({span.why})"
            for name, span in run.missing.items()
        )
        mark = run.mark + (f": {run.how}" if run.how else "")
        line = f"- **{run.name}** [{run.source}; {run.at}; {mark}]. Given: {given}. Not given: {missing}."
        lines.append(line + (f" Note: {run.note}." if run.note else ""))
    return "\n".join(lines) + "\n"


def _sources(runs: Sequence[Run], sources: Mapping[str, Source]) -> str:
    rows = ["| Key | Numbers | Source | Read |", "|---|---|---|---|"]
    for key, source in sources.items():
        count = sum(run.source == key for run in runs)
        rows.append(
            f"| {key} | {count} | {source.authors} ({source.year}). {source.title}. {source.where}. | {source.read} |"
        )
    return "\n".join(rows) + "\n"


def _range(name: str, span: Range) -> str:
    words = [_shown(name, value) for value in span.values]
    return " or ".join(words) if span.choice else f"{words[0]} to {words[1]}"


def _shown(name: str, value: Any) -> str:
    if isinstance(value, list):
        return ", ".join(step.format(stage="a stage").replace("degC", "°C") for step in value)
    kind = INPUTS[name]
    if kind == "load":
        return f"{value:g} kg/m²"
    if kind == "fraction":
        return f"{100.0 * value:.3g}%"
    if kind in ("number", "text"):
        return str(value)
    divided, unit, less = AS_SHOWN[kind]
    return f"{value / divided - less:.4g} {unit}"


def _published(run: Run) -> str:
    low, high = run.low / unit_of(run), run.high / unit_of(run)
    return f"{low:.3g}" if low == high else f"{low:.3g} to {high:.3g}"


def _span(run: Run, said: Prediction | None) -> str:
    if said is None:
        return "none"
    return " – ".join(f"{value / unit_of(run):.3g}" if math.isfinite(value) else "never" for value in said.ranges)


def _times(record: Prediction, unit: float) -> Prediction:
    return Prediction(record.p10 * unit, record.p50 * unit, record.p90 * unit)

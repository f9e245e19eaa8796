"""The page about the published runs."""

import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tools.measured_runs.facts import orders_of, ratios_of
from tools.measured_runs.lessons import lessons_section
from tools.measured_runs.predict import load_of, middle_of
from tools.measured_runs.published import INPUTS, Range, Run, Source
from tools.measured_runs.records import Record, in_seconds, unit_of
from tools.measured_runs.scores import Pair, Scores, inside, same, scores_of
from tools.measured_runs.summary import Prediction, Said
from tools.measured_runs.teach import Learned

PROSE: dict[str, Any] = tomllib.loads((Path(__file__).parent / "prose.toml").read_text(encoding="utf-8"))
AS_SHOWN = {
    "length": (1e-3, "mm", 0.0),
    "pressure": (1.0, "Pa", 0.0),
    "temperature": (1.0, "°C", 273.15),
    "time": (3600.0, "h", 0.0),
}
SCORE_HEAD = (
    "Times | Studies | In P10 to P90 | By study | Median error of P50 | By study | Median P50 / published | "
    "Median P90 / P10 |"
)
SCORE_LINE = 8 * "---|"
ENOUGH = 6  # complete runs below which the page says so


@dataclass(frozen=True)
class Contents:
    """All that the page is about.

    runs: published
    sources: by key
    untaught: what the engine says with the program's own numbers, by the name of the run
    taught: the same with what the other studies taught
    learned: what all studies teach together
    blind, kept: records of the first blind predictions and of untaught ones
    members, seed: of the predictions
    """

    runs: Sequence[Run]
    sources: Mapping[str, Source]
    untaught: Mapping[str, Said]
    taught: Mapping[str, Said]
    learned: Learned
    blind: Record
    kept: Record
    members: int
    seed: int

    def pairs(self, said: Mapping[str, Prediction]) -> list[Pair]:
        """Return the runs that have a prediction, with it.

        said: predictions by the name of the run
        """
        return [(run, said[run.name]) for run in self.runs if run.name in said]


def page_of(page: Contents) -> str:
    """Return the page.

    page: its contents
    """
    untaught = {name: said.prediction for name, said in page.untaught.items()}
    taught = {name: said.prediction for name, said in page.taught.items()}
    parts = [
        PROSE["head"],
        f"{page.members} runs of the engine for each published run, seed {page.seed}.\n",
        "## In short\n",
        _short(page, untaught, taught),
        PROSE["reading"],
        PROSE["chart"],
        "## Times\n",
        PROSE["columns"],
        _times_table(page, untaught, taught),
        "## By class of food\n",
        _classes(page, untaught, taught),
        "## Orders and ratios within a study\n",
        PROSE["ratios"],
        _orders(page),
        _ratios(page),
        "## Limits and other numbers\n",
        _others([pair for pair in page.pairs(untaught) if not pair[0].timed]),
        "## What disagrees, and why\n",
        _causes(page, untaught),
        "## Leave one study out\n",
        PROSE["teaching"],
        lessons_section(page.learned),
        _gain(page, untaught, taught),
        PROSE["kept"],
        "## Inputs\n",
        PROSE["complete"],
        _inputs(page.runs),
        "## Sources\n",
        _sources(page.runs, page.sources),
        "## What was searched, and what could not be had\n",
        "".join(f"- {line}\n" for line in (*PROSE["searched"], *PROSE["unused"])),
    ]
    return "\n".join(parts)


def _short(page: Contents, untaught: Mapping[str, Prediction], taught: Mapping[str, Prediction]) -> str:
    timed = [run for run in page.runs if run.timed]
    complete = [run for run in timed if run.complete]
    lines = [
        f"- {len(page.runs)} published numbers from {len({run.source for run in page.runs})} studies: "
        f"{len(timed)} times, {sum(bool(run.bound) for run in page.runs)} limits on a time, the rest other numbers.",
        f"- **{len(complete)} of the times {'has' if len(complete) == 1 else 'have'} all inputs given**"
        + (f", fewer than the {ENOUGH} that a figure of their own would take; the last section says what was searched."
           if len(complete) < ENOUGH else "."),
        f"- {sum(run.sized for run in timed)} of the times have their thickness or load given.",
    ]  # fmt: skip
    groups = {
        "All times": timed,
        "Not seen before": [run for run in timed if not page.sources[run.source].seen],
        "Thickness or load given": [run for run in timed if run.sized],
        "All inputs given": complete,
    }
    blind, kept = in_seconds(page.blind, page.runs), in_seconds(page.kept, page.runs)
    shared = [run.name for run in page.runs if run.name in kept]
    unchanged = same([kept[name] for name in shared], [untaught[name] for name in shared])
    told = {"Blind": blind, **({} if unchanged else {"Untaught, as kept": kept}), "Untaught": untaught,
            "**Left out**": taught}  # fmt: skip
    rows = [
        f"| {when} | {name} | {_score(scores_of([(run, said[run.name]) for run in group if run.name in said]))} |"
        for when, said in told.items()
        for name, group in groups.items()
    ]
    table = [f"| Prediction | Runs | {SCORE_HEAD}", f"|---|---|{SCORE_LINE}", *rows]
    when = [
        f"Blind: before any number was chosen with the help of a run, at {page.blind.commit[:10]}; runs that were "
        "found later have none.",
        "Untaught: with the program's own numbers"
        + (f", kept at {page.kept.commit[:10]}" if page.kept.commit else "")
        + (", and the same today." if unchanged and page.kept.commit else "."),
        "Left out: with what all other studies taught, none of the study itself.",
        "Not seen before: no number of the program was chosen with the help of the study.\n",
    ]
    return "\n".join([*lines, "", *table, "", *when])


def _score(score: Scores | None) -> str:
    if score is None:
        return "0 | 0 | none | none | none | none | none | none"
    return (
        f"{score.runs} | {score.studies} | {score.covered:.0%} | {score.covered_by_study:.0%} | {score.error:.0%} | "
        f"{score.error_by_study:.0%} | {score.ratio:.2f} | {score.width:.1f}"
    )


def _times_table(page: Contents, untaught: Mapping[str, Prediction], taught: Mapping[str, Prediction]) -> str:
    rows = [
        "| Run | Published h | Blind P10 – P50 – P90 | Untaught | Left out | P50 / published | Inside | With ice | "
        "Follows most |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for run, said in page.pairs(taught):
        if not run.timed:
            continue
        icy = f"{said.icy:.0%}" if math.isfinite(said.icy) else ""
        cells = [run.name, _published(run), _kept(page.blind.said.get(run.name)), _span(run, untaught[run.name]),
                 _span(run, said), f"{said.p50 / run.published:.2f}", "yes" if inside(run, said) else "**no**", icy,
                 said.widest]  # fmt: skip
        rows.append("| " + " | ".join(cells) + " |")
    return "\n".join(rows) + "\n"


def _classes(page: Contents, untaught: Mapping[str, Prediction], taught: Mapping[str, Prediction]) -> str:
    groups: dict[str, list[Run]] = {}
    for run in page.runs:
        if run.timed:
            kind = "several" if "like" in run.missing else load_of(run, middle_of(run)).items[0].food.food_class
            groups.setdefault(kind, []).append(run)
    rows = [f"| Class | Prediction | {SCORE_HEAD}", f"|---|---|{SCORE_LINE}"]
    for name, group in sorted(groups.items()):
        for when, said in (("untaught", untaught), ("left out", taught)):
            rows.append(f"| {name} | {when} | {_score(scores_of([(run, said[run.name]) for run in group]))} |")
    return "\n".join(rows) + "\n"


def _orders(page: Contents) -> str:
    rows = ["| Order of the study | Engine, in that order | Agrees | Draws that agree |", "|---|---|---|---|"]
    for order in orders_of({run.name: run for run in page.runs}, page.untaught):
        shown = ", ".join(f"{value:.2g}" for value in order.shown)
        unit = "h" if order.name.startswith("Ice") else "per hour"
        agrees = "yes" if order.agrees else "**no**"
        rows.append(f"| {order.name} | {shown} {unit} | {agrees} | {order.share:.0%} |")
    return "\n".join(rows) + "\n"


def _ratios(page: Contents) -> str:
    rows = ["| Ratio | Published | P10 – P50 – P90 | Agrees |", "|---|---|---|---|"]
    for ratio in ratios_of({run.name: run for run in page.runs}, page.untaught):
        said = " – ".join(f"{value:.2f}" for value in ratio.said.ranges)
        rows.append(f"| {ratio.name} | {ratio.published:.2f} | {said} | {'yes' if ratio.agrees else '**no**'} |")
    return "\n".join(rows) + "\n"


def _others(pairs: Sequence[Pair]) -> str:
    rows = ["| Run | Measure | Published | P10 – P50 – P90 | Agrees | Follows most |", "|---|---|---|---|---|---|"]
    for run, said in pairs:
        agrees = "yes" if inside(run, said) else "**no**"
        published = f"{run.bound} {_published(run)}".strip()
        rows.append(f"| {run.name} | {run.measure} | {published} | {_span(run, said)} | {agrees} | {said.widest} |")
    return "\n".join(rows) + "\n"


def _causes(page: Contents, untaught: Mapping[str, Prediction]) -> str:
    by_name = {run.name: run for run in page.runs}
    names = [order.name for order in orders_of(by_name, page.untaught) if not order.agrees]
    names += [ratio.name for ratio in ratios_of(by_name, page.untaught) if not ratio.agrees]
    names += [run.name for run, said in page.pairs(untaught) if not inside(run, said)]
    causes: Mapping[str, str] = PROSE["cause"]
    studies = {run.name: run.source for run in page.runs}
    by_cause: dict[str, list[str]] = {}
    for name in names:
        cause = causes.get(name, causes.get(studies.get(name, ""), PROSE["no_cause"]))
        by_cause.setdefault(cause, []).append(name)
    rows = [f"- {'; '.join(f'**{name}**' for name in group)}: {cause}.\n" for cause, group in by_cause.items()]
    return "".join(rows) or PROSE["no_mismatch"]


def _gain(page: Contents, untaught: Mapping[str, Prediction], taught: Mapping[str, Prediction]) -> str:
    """Say whether lessons make studies come out better that gave none of them."""
    timed = [run for run in page.runs if run.timed]
    before, after = (scores_of([(run, said[run.name]) for run in timed]) for said in (untaught, taught))
    assert before is not None
    assert after is not None
    better = after.error_by_study < before.error_by_study
    words = (
        f"Median error, each study once: {before.error_by_study:.0%} with the program's own numbers, "
        f"{after.error_by_study:.0%} for studies that were left out. "
    )
    return words + PROSE["better" if better else "no_better"]


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
    rows = ["| Key | Numbers | Source | Read | Seen before |", "|---|---|---|---|---|"]
    for key, source in sources.items():
        count = sum(run.source == key for run in runs)
        rows.append(
            f"| {key} | {count} | {source.authors} ({source.year}). {source.title}. {source.where}. | {source.read} | "
            f"{source.seen} |"
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


def _span(run: Run, said: Prediction) -> str:
    return " – ".join(f"{value / unit_of(run):.3g}" if math.isfinite(value) else "never" for value in said.ranges)


def _kept(said: Prediction | None) -> str:
    return "none" if said is None else " – ".join(f"{value:.3g}" for value in said.ranges)

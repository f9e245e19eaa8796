"""The page about the trial: wishes first, then every table."""

import math
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from drystow.evidence.dryness.judge import DECISION_LEVEL
from tools.evidence import seeing, truth
from tools.evidence.batch import Row
from tools.evidence.scores import (
    Share,
    brier,
    coverage,
    hindsight,
    plausible,
    reliability,
    share_of,
    uniformity,
    upper_limit,
)

HOUR = 3600.0
LOW, HIGH = 0.85, 0.95  # wished coverage of the 90% intervals
FALSE = 1 / 200  # wished most of false "dry" among the decisions
KINDS = {
    "none": "nothing seen of the tray",
    "once": "weighed once",
    "more": "weighed twice or more",
    "oven": "and a sample from the oven",
    "meter": "and a water-activity reading",
}
RULES = {"constant_weight": "constant weight", "cut": "cut a piece and look"}
VERDICTS = ("dry", "nearly", "not_dry", "not_enough_evidence", "contradiction")
PROSE: dict[str, str] = tomllib.loads((Path(__file__).parent / "prose.toml").read_text(encoding="utf-8"))


def page_of(rows: Sequence[Row], followed: Sequence[Row], members: int, first: int) -> str:
    """Return the page.

    rows: of the trays that were looked at once
    followed: of the trays that were weighed until they were called dry
    members: of the judge
    first: seed of the first batch
    """
    failed = [row for row in (*rows, *followed) if "failed" in row]
    rows, followed = ([row for row in part if "failed" not in row] for part in (rows, followed))
    judged = [row for row in rows if row["verdict"] != "contradiction"]
    batches = len({row["seed"] for row in rows})
    tried = (
        f"Tried on {batches} batches ({len(rows)} trays, seeds from {first}), and on {len(followed)} trays that were\n"
        f"weighed on until they were called dry; {members} members each. {len(failed)} batches failed to run.\n"
    )
    differences = (*truth.DIFFERENCES.values(), *seeing.DIFFERENCES.values())
    parts = [
        PROSE["head"],
        tried,
        "## In short\n",
        _wishes(rows, judged, followed),
        "## How the test dryers differ from the model\n",
        PROSE["world"],
        "".join(f"- {line}\n" for line in differences),
        PROSE["scenes"],
        PROSE["tuning"],
        "## Do the ranges hold?\n",
        PROSE["intervals"],
        _coverage_table(judged),
        "![Place of the truth in the forecasts](evidence/ranks.svg)\n",
        _even(judged),
        "## Can you trust the chance of dry?\n",
        _reliability_table(judged),
        "![Reliability](evidence/reliability.svg)\n",
        "## Compared with rules of thumb\n",
        PROSE["rules"],
        _rules(judged),
        "## The verdict\n",
        _verdicts(rows),
        "## How much longer?\n",
        PROSE["more"],
        _more(judged),
        "## Followed until dry\n",
        PROSE["followed"],
        _followed(followed),
    ]
    return "\n".join(part for part in parts if part)


def _wishes(rows: Sequence[Row], judged: Sequence[Row], followed: Sequence[Row]) -> str:
    lines = []
    for name, words in (("moisture", "residual moisture"), ("activity", "water activity")):
        found = coverage(judged, name)
        good = LOW <= found.value <= HIGH
        lines.append(_line(f"85 to 95% of the 90% intervals of {words} hold", _share(found), _mark(good)))
    said = [row for row in rows if row["verdict"] == "dry"]
    asked = [row for row in followed if math.isfinite(row["called"])]
    wrong, early = sum(not row["dry"] for row in said), sum(row["called"] < row["true_dry"] for row in asked)
    counts = [("all judgements", wrong, len(rows)), ('verdicts "dry"', wrong, len(said))]
    counts += [("trays asked about until dry", early, len(asked))] if asked else []
    for words, wrong, of in counts:
        found = share_of(wrong, of)
        most = upper_limit(wrong, of)
        limit = f"{_share(found)}, with 95% confidence below {most:.2%}"
        mark = "met" if most < FALSE else "met so far, too few to be sure" if found.value < FALSE else _mark(False)
        lines.append(_line(f'False "dry" in fewer than 1 in 200 {words}', limit, mark))
    dry = [row["dry"] for row in judged]
    score, base = brier([row["chance"] for row in judged], dry), _base(dry)
    lines.append(_line("Brier score better than the base rate", f"{score:.3f} against {base:.3f}", _mark(score < base)))
    for key, words in RULES.items():
        mine = [row for row in judged if row[key] is not None]
        real = [row["dry"] for row in mine]
        ours = brier([row["chance"] for row in mine], real)
        theirs = brier(hindsight([row[key] for row in mine], real), real)
        scores = f"{ours:.3f} against {theirs:.3f}"
        lines.append(_line(f'Better than "{words}" with hindsight', scores, _mark(ours < theirs)))
    return _table(("Wish", "Came out", ""), lines)


def _coverage_table(rows: Sequence[Row]) -> str:
    groups: dict[str, Callable[[Row], bool]] = {"all": lambda _row: True}
    for key, words in KINDS.items():
        groups[words] = lambda row, key=key: row["kind"] == key  # type: ignore[misc]
    groups |= {
        "one food on the tray": lambda row: len(row["foods"]) == 1,
        "two foods on the tray": lambda row: len(row["foods"]) > 1,
        "truly dry": lambda row: row["dry"],
        "not dry, no ice": lambda row: not row["dry"] and row["ice"] <= 0.0,
        "ice left": lambda row: row["ice"] > 0.0,
    }
    for name in sorted({row["class"] for row in rows}):
        groups[f"class: {name}"] = lambda row, name=name: row["class"] == name  # type: ignore[misc]
    lines = []
    for words, fits in groups.items():
        mine = [row for row in rows if fits(row)]
        if not mine:
            continue
        above = np.mean([row["moisture"] > row["moisture_range"][2] for row in mine])
        below = np.mean([row["moisture"] < row["moisture_range"][0] for row in mine])
        both = _percent(coverage(mine, "moisture")), _percent(coverage(mine, "activity"))
        lines.append(_line(words, str(len(mine)), both[0], f"{above:.0%} / {below:.0%}", both[1]))
    low, high = plausible(len(rows))
    head = ("Trays", "Count", "Residual moisture", "truth above / below", "Water activity")
    note = f"A calibrated judge has {low} to {high} of {len(rows)} inside, but for one time in a thousand.\n"
    return f"{_table(head, lines)}\n{note}"


def _even(rows: Sequence[Row]) -> str:
    found = [uniformity([row[f"{name}_place"] for row in rows]) for name in ("moisture", "activity")]
    return (
        "Even bars mean a calibrated forecast; the grey band is what chance allows (99%). Largest distance from an\n"
        f"even spread: {found[0][0]:.2f} for moisture (p = {found[0][1]:.1g}), {found[1][0]:.2f} for water activity"
        f" (p = {found[1][1]:.1g}).\n"
    )


def _reliability_table(rows: Sequence[Row]) -> str:
    lines = [
        _line(
            f"{band.low:g} to {band.high:g}",
            f"{band.mean:.3f}",
            str(band.dry.of),
            f"{band.dry.value:.1%}",
            f"{band.dry.low:.1%} to {band.dry.high:.1%}",
        )
        for band in reliability(rows)
    ]
    return _table(("Probability said", "Mean", "Trays", "Truly dry", "Wilson's 95% interval"), lines)


def _rules(rows: Sequence[Row]) -> str:
    lines = []
    for key, words in RULES.items():
        mine = [row for row in rows if row[key] is not None]
        real, says = [row["dry"] for row in mine], [row[key] for row in mine]
        wrong = sum(answer and not dry for answer, dry in zip(says, real, strict=True))
        scores = brier(says, real), brier(hindsight(says, real), real), brier([row["chance"] for row in mine], real)
        shown = [f"{score:.3f}" for score in (*scores, _base(real))]
        lines.append(_line(words, str(len(mine)), *shown, _share(share_of(wrong, sum(says)))))
    return _table(("Rule", "Trays", "Its score", "With hindsight", "Ours", "Base rate", 'Its false "dry"'), lines)


def _verdicts(rows: Sequence[Row]) -> str:
    lines = []
    for verdict in VERDICTS:
        mine = [row for row in rows if row["verdict"] == verdict]
        dry = share_of(sum(row["dry"] for row in mine), len(mine))
        lines.append(_line(verdict.replace("_", " "), f"{len(mine)} ({len(mine) / len(rows):.0%})", _share(dry)))
    wrong = [row for row in rows if row["verdict"] == "dry" and not row["dry"]]
    seen = [row for row in rows if row["dry"] and row["weighings"] >= 2 and row["verdict"] != "contradiction"]
    called = share_of(sum(row["verdict"] == "dry" for row in seen), len(seen))
    mistakes = [row for row in rows if row["mistake"]]
    found = share_of(sum(row["verdict"] == "contradiction" for row in mistakes), len(mistakes))
    return (
        f'"Dry" needs a probability of {DECISION_LEVEL:g}.\n\n'
        + _table(("Verdict", "Trays", "Truly dry"), lines)
        + ('\nEvery false "dry":\n\n' + "".join(map(_false, wrong)) if wrong else "")
        + f"\nOf truly dry trays with two or more weighings {_share(called)} were called dry at that moment. Of the\n"
        f"trays with a tare wrong by more than 15 g, {_share(found)} were called a contradiction.\n"
    )


def _false(row: Row) -> str:
    low, _middle, high = row["moisture_range"]
    return (
        f"- {' and '.join(row['foods'])}: {row['moisture']:.2%} water where {row['target']:.1%} is wished,"
        f" {row['ice']:.2%} of the ice left;\n  said {low:.1%} to {high:.1%}, probability {row['chance']:.3f},"
        f" {row['weighings']} weighings in steps of {1000 * row['step']:g} g\n"
    )


def _more(rows: Sequence[Row]) -> str:
    ends = [row for row in rows if math.isfinite(row["more"])]
    wet = [row for row in ends if not row["dry"]]
    groups = {
        "not dry yet": wet,
        "not dry yet, weighed twice or more": [row for row in wet if row["weighings"] >= 2],
        "all, dry ones too": ends,
    }
    lines = []
    for words, mine in groups.items():
        held = [share_of(sum(row["more"] <= row["more_said"][at] for row in mine), len(mine)) for at in (0, 1)]
        lines.append(_line(words, str(len(mine)), _percent(held[0]), _percent(held[1])))
    head = ("Trays", "Count", "need no more than the likely time", "no more than the nine-in-ten time")
    return f"{_table(head, lines)}\n{len(rows) - len(ends)} trays never get dry within 60 hours.\n"


def _followed(rows: Sequence[Row]) -> str:
    if not rows:
        return "Not run this time.\n"
    lines = []
    for key, words in (("called", "the verdict"), ("constant", "constant weight"), ("looked", "cut a piece and look")):
        called = [row for row in rows if math.isfinite(row[key])]
        early = share_of(sum(row[key] < row["true_dry"] for row in called), len(called))
        delays = [(row[key] - row["true_dry"]) / HOUR for row in called if math.isfinite(row["true_dry"])]
        spans = np.percentile(delays, [50, 90]) if delays else [math.nan, math.nan]
        lines.append(
            _line(words, f"{len(called)} of {len(rows)}", _share(early), f"{spans[0]:.1f} h", f"{spans[1]:.1f} h")
        )
    table = _table(("Rule", "Called dry", "too early", "Median delay", "nine in ten within"), lines)
    return f"{table}\n![Hours from true dryness to the verdict](evidence/delay.svg)\n"


def _base(dry: Sequence[bool]) -> float:
    rate = float(np.mean(dry))
    return rate * (1.0 - rate)


def _table(head: Sequence[str], lines: Sequence[str]) -> str:
    return "\n".join([_line(*head), "|" + "---|" * len(head), *lines]) + "\n"


def _line(*cells: str) -> str:
    return "| " + " | ".join(cells) + " |"


def _mark(good: bool) -> str:
    return "met" if good else "**missed**"


def _share(share: Share) -> str:
    return f"{share.hits} of {share.of} ({share.value:.1%})" if share.of else "none"


def _percent(share: Share) -> str:
    return f"{share.value:.0%} ({share.low:.0%} to {share.high:.0%})" if share.of else "none"

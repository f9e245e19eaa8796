"""Write docs/checks.md: every number that is checked against the outside, with what came out.

``--check`` compares instead of writing, so that the page cannot grow stale: names, words, and what came out.
"""

import math
import re
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.published.check import Check
from tests.published.gathered import all_checks, definitions

from drystow.sources import SHORT_MARKS, cite

PAGE = Path(__file__).parent.parent / "docs" / "checks.md"
SAME = 2e-3
"""Relative difference of two values that are the same but for rounding and the libraries of the machine [-]."""

HEAD = """# Checked against published numbers

Made by `make checks`; do not edit. Each row compares what Drystow computes with a number from outside the project. The
mark says how the number got here: *checked* against the source, *unchecked* so far, *common practice* (no published
source), *library* (an independent library computed it during the test), *calculated* from listed values, or
*definition*. A known mismatch is named in the last column instead of being tuned away. Which of
them would notice if a number inside were wrong stands in [mutants.md](mutants.md).

Two numbers that look like one: foods were measured in air, where a dried layer in plenty of gas gains 0.025 to
0.027 W/m/K, the conductivity of air. In a dryer its pores hold water vapor, which conducts two thirds as well, so
the layers of `classes.toml` gain 0.017. The law and its other numbers are held against the foods in air, the rise
against the conductivity of vapor.

"""
STEPS = """
## Definitions kept in step

These rows say nothing about the world. Either the program carries a number of a rule or a table, and the row sees to it
that it is still that number; or a constant was chosen to meet a study, and the row sees to it that it still does; or
two programs solve one equation, and the row sees to it that ours does so without a slip.

"""
COLUMNS = (
    "| Check | Expected | Got | Unit | Error | Allowed | Mark | Source | Where, and why this tolerance |\n"
    + "|---" * 9
    + "|\n"
)
WORDS = (0, 3, 6, 7, 8)
VALUES = (1, 2, 5)
"""Columns of a row that must be the same, and those of about the same numbers; the error follows from them."""


def main() -> None:
    """Write or compare the page."""
    outside, steps = list(all_checks()), list(definitions())
    rows = "".join(map(_row, outside))
    page = HEAD + COLUMNS + rows + STEPS + COLUMNS + "".join(map(_row, steps)) + _tail(outside, steps)
    if "--check" in sys.argv:
        stale = list(differences(PAGE.read_text(encoding="utf-8") if PAGE.exists() else "", page))
        if stale:
            sys.exit("docs/checks.md is stale: run `make checks` and commit it\n" + "\n".join(stale[:20]))
        return
    PAGE.write_text(page, encoding="utf-8")
    print(f"{PAGE.name}: {len(outside)} checks, {sum(check.holds for check in outside)} hold; {len(steps)} definitions")


def differences(old: str, new: str) -> Iterator[str]:
    """Yield what a page says differently from what comes out now, one sentence a row.

    old: page as it is kept
    new: page as it would be written
    """
    before, after = _rows(old), _rows(new)
    if [row[0] for row in before] != [row[0] for row in after]:
        gone = {row[0] for row in before} ^ {row[0] for row in after}
        yield "other rows, or in another order: " + ", ".join(sorted(gone)[:5])
        return
    for was, now in zip(before, after, strict=True):
        words = [column for column in WORDS if was[column] != now[column]]
        values = [column for column in VALUES if not _same(was[column], now[column])]
        for column in (*words, *values):
            yield f"{now[0]}: {was[column]!r} has become {now[column]!r}"


def _rows(page: str) -> list[Sequence[str]]:
    return [[cell.strip() for cell in line.split("|")[1:-1]] for line in page.splitlines() if line.startswith("| ")]


def _same(was: str, now: str) -> bool:
    number = r"-?(?:\d[\d.]*(?:e[-+]?\d+)?|inf)"
    if re.sub(number, "", was) != re.sub(number, "", now):
        return False
    pairs = zip(map(float, re.findall(number, was)), map(float, re.findall(number, now)), strict=True)
    return all(a == b or math.isclose(a, b, rel_tol=SAME, abs_tol=1e-9) for a, b in pairs)


def _row(check: Check) -> str:
    if isinstance(check.expected, tuple):
        expected = f"{_number(check.expected[0])} to {_number(check.expected[1])}"
        error, allowed = ("inside" if check.holds else f"outside by {_number(check.error)}"), "band"
    else:
        expected = _number(check.expected)
        relative = check.kind == "rel"
        error = f"{check.error:.2g}" if not relative else f"{check.error:.2%}"
        allowed = f"{check.tolerance:.2g}" if not relative else f"{check.tolerance:.2g} rel."
    mark = SHORT_MARKS.get(check.mark, check.mark)
    cells = [
        check.name, expected, _number(check.got), check.unit, error, allowed, mark, check.source,
        "; ".join(part for part in (check.where, check.why) if part),
    ]  # fmt: skip
    return "| " + " | ".join(cell.replace("|", "/").replace("\n", " ") for cell in cells) + " |\n"


def _number(value: float) -> str:
    return f"{value:.5g}"


def _tail(outside: list[Check], steps: list[Check]) -> str:
    keys = sorted({check.source for check in (*outside, *steps)})
    lines = "".join(f"- **{key}**: {cite(key).text} ({SHORT_MARKS[cite(key).mark]})\n" for key in keys)
    return f"\n{len(outside)} checks against the outside, {len(steps)} definitions.\n\n## Sources\n\n{lines}"


if __name__ == "__main__":
    main()

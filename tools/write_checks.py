"""Write docs/checks.md: every number that is checked against the outside, with what came out.

``--check`` compares instead of writing, so that the page cannot grow stale.
"""

import sys
from pathlib import Path

from tests.published.check import Check
from tests.published.test_published import all_checks

from drystow.sources import SHORT_MARKS, cite

PAGE = Path(__file__).parent.parent / "docs" / "checks.md"
HEAD = """# Checked against published numbers

Made by `make checks`; do not edit. Each row compares what Drystow computes with a number from outside the project. The
mark says how the number got here: *checked* against the source, *unchecked* so far, *common practice* (no published
source), *library* (an independent library computed it during the test), *calculated* from listed values, or
*definition*. A known mismatch is named in the last column instead of being tuned away.

| Check | Expected | Got | Unit | Error | Allowed | Mark | Source | Where, and why this tolerance |
|---|---|---|---|---|---|---|---|---|
"""


def main() -> None:
    """Write or compare the page."""
    checks = list(all_checks())
    page = HEAD + "".join(_row(check) for check in checks) + _tail(checks)
    if "--check" in sys.argv:
        old = PAGE.read_text(encoding="utf-8") if PAGE.exists() else ""
        names = [line.split("|")[1] for line in old.splitlines() if line.startswith("| ")]
        new = [line.split("|")[1] for line in page.splitlines() if line.startswith("| ")]
        if names != new:
            sys.exit("docs/checks.md is stale: run `make checks` and commit it")
        return
    PAGE.write_text(page, encoding="utf-8")
    print(f"{PAGE.name}: {len(checks)} checks, {sum(check.holds for check in checks)} hold")


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


def _tail(checks: list[Check]) -> str:
    keys = sorted({check.source for check in checks})
    lines = "".join(f"- **{key}**: {cite(key).text} ({SHORT_MARKS[cite(key).mark]})\n" for key in keys)
    return f"\n{len(checks)} checks.\n\n## Sources\n\n{lines}"


if __name__ == "__main__":
    main()

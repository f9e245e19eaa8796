"""Write docs/evidence.md: "is it dry?" tried on synthetic batches whose truth is known.

Runs on all cores and keeps what is done in a temporary folder, so that a run that was stopped goes on.
"""

import argparse
import math
from pathlib import Path

from drystow.reports.charts import chart_svg
from tools.evidence.page import HOUR, page_of
from tools.evidence.plots import delays_chart, ranks_chart, reliability_chart
from tools.evidence.run import run_batches
from tools.evidence.scores import reliability

DOCS = Path(__file__).parent.parent / "docs"
FIRST, BATCHES, FOLLOWED, MEMBERS = 10_000, 500, 60, 600
FOLLOWED_FROM = 20_000  # seeds of the trays that are followed, behind those that are looked at once


def main() -> None:
    """Run what is missing, then write the page and its pictures."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--batches", type=int, default=BATCHES, help="batches that are looked at once")
    asked.add_argument(
        "--followed", type=int, default=FOLLOWED, help="trays that are weighed until they are called dry"
    )
    asked.add_argument("--members", type=int, default=MEMBERS, help="of the judge")
    asked.add_argument("--first", type=int, default=FIRST, help="seed of the first batch")
    asked.add_argument("--folder", type=Path, default=None, help="where rows are kept")
    told = asked.parse_args()
    rows = run_batches("once", range(told.first, told.first + told.batches), told.members, told.folder)
    followed = run_batches("followed", range(FOLLOWED_FROM, FOLLOWED_FROM + told.followed), told.members, told.folder)
    (DOCS / "evidence").mkdir(exist_ok=True)
    good = [row for row in rows if row.get("verdict", "contradiction") != "contradiction"]
    called = [row for row in followed if math.isfinite(row.get("called", math.inf)) and math.isfinite(row["true_dry"])]
    charts = {
        "ranks": ranks_chart(good),
        "reliability": reliability_chart(reliability(good)),
    }
    if called:
        charts["delay"] = delays_chart([(row["called"] - row["true_dry"]) / HOUR for row in called])
    for name, spec in charts.items():
        (DOCS / "evidence" / f"{name}.svg").write_text(chart_svg(spec) + "\n", encoding="utf-8")
    (DOCS / "evidence.md").write_text(page_of(rows, followed, told.members, told.first), encoding="utf-8")
    print(f"evidence.md: {len(rows)} trays, {len(followed)} followed")


if __name__ == "__main__":
    main()

"""Write docs/measured-runs.md: published runs of freeze-drying against the engine's predictions.

Every run is predicted twice: with the program's own numbers, and with what the other studies taught. Answers are kept
below build/, so that the command goes on where it was stopped. ``--keep`` also keeps today's predictions as records.
"""

import argparse
import subprocess
import sys
from pathlib import Path

from drystow.reports.charts import chart_svg
from tools.measured_runs.kept import Engine
from tools.measured_runs.page import Contents, page_of
from tools.measured_runs.plot import times_chart
from tools.measured_runs.published import published_runs
from tools.measured_runs.records import BLIND, TAUGHT, UNTAUGHT, read_record, write_record
from tools.measured_runs.teach import learned_from, lessons_of, taught_without

DOCS = Path(__file__).parent.parent / "docs"
MEMBERS, SEED = 300, 20_260


def main() -> None:
    """Predict every run, then write the page and its picture."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--members", type=int, default=MEMBERS, help="runs of the engine for each published run")
    asked.add_argument("--seed", type=int, default=SEED, help="of the random numbers")
    asked.add_argument("--keep", action="store_true", help="keep these predictions as the records of today")
    told = asked.parse_args()
    runs, sources = published_runs()
    engine = Engine(runs, told.members, told.seed)
    untaught = {}
    for run in runs:
        untaught[run.name] = engine(run)
        print(f"{run.name}: done", file=sys.stderr)
    lessons = lessons_of(runs, untaught)
    kinds = sorted({kind for said in untaught.values() if said.slopes for kind in said.slopes.kinds})
    without = {study: taught_without(study, lessons, kinds).taught for study in sources}
    taught = {}
    for run in runs:
        taught[run.name] = engine(run, without[run.source])
        print(f"{run.name}: done with what the others taught", file=sys.stderr)
    ranges = [{name: said.prediction for name, said in answers.items()} for answers in (untaught, taught)]
    if told.keep:
        head = subprocess.run(["git", "rev-parse", "HEAD"], cwd=DOCS, capture_output=True, text=True, check=True)
        for path, said in zip((UNTAUGHT, TAUGHT), ranges, strict=True):
            write_record(path, runs, said, head.stdout.strip(), told.members, told.seed)
    (DOCS / "measured-runs").mkdir(exist_ok=True)
    chart = chart_svg(times_chart(runs, *ranges))
    (DOCS / "measured-runs" / "times.svg").write_text(chart + "\n", encoding="utf-8")
    page = Contents(runs, sources, untaught, taught, learned_from(lessons, kinds), read_record(BLIND),
                    read_record(UNTAUGHT), told.members, told.seed)  # fmt: skip
    (DOCS / "measured-runs.md").write_text(page_of(page), encoding="utf-8")
    print(f"measured-runs.md: {len(runs)} runs")


if __name__ == "__main__":
    main()

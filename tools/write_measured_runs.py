"""Write docs/measured-runs.md: published runs of freeze-drying against the engine's predictions.

``--keep-as-blind`` also keeps today's predictions as the blind ones, which later pages are compared with.
"""

import argparse
import subprocess
import sys
from pathlib import Path

from drystow.reports.charts import chart_svg
from tools.measured_runs.blind import BLIND, blind_text, read_blind
from tools.measured_runs.page import page_of
from tools.measured_runs.plot import times_chart
from tools.measured_runs.predict import predict
from tools.measured_runs.published import published_runs

DOCS = Path(__file__).parent.parent / "docs"
MEMBERS, SEED = 400, 20_260


def main() -> None:
    """Predict every run, then write the page and its picture."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--members", type=int, default=MEMBERS, help="runs of the engine for each published run")
    asked.add_argument("--seed", type=int, default=SEED, help="of the random numbers")
    asked.add_argument("--keep-as-blind", action="store_true", help="keep these predictions as the blind ones")
    told = asked.parse_args()
    runs, _sources = published_runs()
    said = {}
    for run in runs:
        said[run.name] = predict(run, told.members, told.seed)
        print(f"{run.name}: done", file=sys.stderr)
    if told.keep_as_blind:
        head = subprocess.run(["git", "rev-parse", "HEAD"], cwd=DOCS, capture_output=True, text=True, check=True)
        BLIND.write_text(blind_text(runs, said, head.stdout.strip(), told.members, told.seed), encoding="utf-8")
    (DOCS / "measured-runs").mkdir(exist_ok=True)
    pairs = [(run, said[run.name]) for run in runs]
    (DOCS / "measured-runs" / "times.svg").write_text(chart_svg(times_chart(pairs)) + "\n", encoding="utf-8")
    (DOCS / "measured-runs.md").write_text(page_of(said, read_blind(), told.members, told.seed), encoding="utf-8")
    print(f"measured-runs.md: {len(runs)} runs")


if __name__ == "__main__":
    main()

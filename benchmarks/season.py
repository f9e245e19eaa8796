"""How far a season that is dried day by day stays behind the plans that CP-SAT finds for single spans of it."""

import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from drystow.planning.schedule.batch_time import Reckoning
from drystow.planning.schedule.grid import saved_value
from drystow.planning.schedule.value_search import solve
from drystow.planning.season.days import Equipment, careful_plan, draw_season, equipment_of, season_problem
from drystow.planning.season.garden import Picking
from drystow.planning.season.garden_file import read_garden

GARDEN = Path(__file__).parent.parent / "examples" / "planning" / "garden.toml"
SEASONS, WEEKS, DAYS = range(5), (4, 12), 10  # spans of ten days, in June and in August
AFTER = 7  # days more to dry what was picked


def main() -> None:
    """Print the value that is saved in each span, as a part of all; the first argument is the time of a search."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 20.0
    garden, how = read_garden(GARDEN), Reckoning(seed=1)
    usual = equipment_of(garden.choices[0].frame, how)
    for freezer in (usual.lots.freezer, 0.0):
        lots = replace(usual.lots, days=DAYS + AFTER, freezer=freezer)
        rows = [
            row
            for number in SEASONS
            for week in WEEKS
            if (row := span_of(replace(usual, lots=lots), draw_season(garden, number), 7 * week, how, seconds))
        ]
        means = [sum(row[place] for row in rows) / len(rows) for place in range(3)]
        worst = max(cp - careful for careful, cp, _bound in rows)
        words = "day by day {:.3f}, CP-SAT {:.3f}, bound {:.3f}".format(*means)
        print(f"freezer {freezer:.3f} m3, {len(rows)} spans: {words}; at most {worst:.3f} behind CP-SAT")


def span_of(
    equipment: Equipment, season: Sequence[Picking], first: int, how: Reckoning, seconds: float
) -> tuple[float, float, float] | None:
    """Return the part of the value that is saved day by day, by CP-SAT and at most; None when nothing is picked."""
    span = [replace(one, day=one.day - first) for one in season if first <= one.day < first + DAYS]
    if not span:
        return None
    problem = season_problem(equipment, span, how)
    whole = sum(job.mass * job.price for job in problem.jobs)
    solved = solve(problem, seconds)
    return saved_value(problem, careful_plan(problem)) / whole, solved.saved / whole, solved.bound / whole


if __name__ == "__main__":
    main()

"""What holds for all tests: nothing fails because the computer is busy, and the longest files begin first."""

import os
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

patient = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("same examples", patient, derandomize=True)  # a run fails for what changed, not by chance
settings.register_profile("new examples", patient)
settings.load_profile(f"{os.environ.get('DRYSTOW_EXAMPLES', 'same')} examples")

LONGEST = (
    "tests/cli/test_documented_commands.py",
    "tests/web/test_migrations_from_each_state.py",
    "tests/web/test_reader_units.py",
    "tests/engine/test_planning_solver.py",
    "tests/web/test_one_date.py",
    "tests/cli/test_dryness.py",
    "tests/cli/test_simulate.py",
    "tests/cli/test_data.py",
    "tests/published/test_mutants.py",
    "tests/cli/test_account.py",
    "tests/cli/test_season.py",
    "tests/web/test_server.py",
    "tests/web/test_demo_crawl.py",
    "tests/web/test_question_counts.py",
    "tests/web/test_accounts_pages.py",
    "tests/web/test_reading_writes_nothing.py",
    "tests/web/test_kept_answers.py",
    "tests/web/test_once_forms.py",
    "tests/web/test_data_restore_killed.py",
    "tests/web/test_readings_live.py",
    "tests/web/test_demo_year.py",
    "tests/web/test_plans_best_load.py",
    "tests/web/test_plans_season_answer.py",
    "tests/web/test_spanish.py",
    "tests/cli/test_renamed.py",
)
"""Files that take longest, the longest first: begun last, one of them would keep one worker busy while the other has
nothing left to do."""


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Put the longest files first, then those with most tests; `make test` hands whole files out in this order."""
    names = {path: path.relative_to(config.rootpath).as_posix() for path in {item.path for item in items}}
    tests = Counter(item.path for item in items)
    rank = {name: number for number, name in enumerate(LONGEST)}

    def place(path: Path) -> tuple[int, int, str]:
        return rank.get(names[path], len(LONGEST)), -tests[path], names[path]

    places = {path: place(path) for path in names}
    items.sort(key=lambda item: places[item.path])

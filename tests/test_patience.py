"""No test lasts a span of time or fails because the computer is busy: all waiting is that of `tests.patience`."""

import re
from pathlib import Path

from tests.conftest import LONGEST

HERE = Path(__file__).parent
IN_A_HURRY = re.compile(
    r"\bsleep\(|\bmonotonic\(|\btimeout=\d|\.(?:wait|join|communicate)\(\d|wait_for_timeout\(\d{3,}"
    r"|\bperf_counter\(|\btime\.time\("
)
"""Spans of time on the clock of the wall; what a piece of work takes is counted in processor time."""
MAY = {
    "patience.py",  # where the waiting is done
    "test_patience.py",
    "crawl.py",  # tells how long a page took, which no test judges
}


def test_no_test_is_in_a_hurry() -> None:
    found = [
        f"{path.relative_to(HERE)}:{number}: {line.strip()}"
        for path in sorted(HERE.rglob("*.py"))
        if path.name not in MAY and "node_modules" not in path.parts
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if IN_A_HURRY.search(line)
    ]
    assert not found, "wait with `until` or up to PATIENCE, measure with `thread_time`:\n" + "\n".join(found)


def test_the_files_that_begin_first_are_there() -> None:
    assert [name for name in LONGEST if not (HERE.parent / name).is_file()] == []
    assert len(set(LONGEST)) == len(LONGEST)

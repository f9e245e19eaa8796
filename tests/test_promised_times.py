"""A time within which something will be done is never shown shorter than it is; a deadline never longer."""

import re
from pathlib import Path

import pytest

from drystow.reports.text import promised_text, unending_text

SOURCE = Path(__file__).parent.parent / "src" / "drystow"
SECONDS = {"d": 86400, "h": 3600, "min": 60}
PROMISE = re.compile(r"\b(within|at most|no later)\b")
AMOUNT = re.compile(r'{% amount (\S+) "time"')


def _read(text: str) -> float:
    return sum(float(number) * SECONDS[unit] for number, unit in re.findall(r"(\d+) (d|h|min)\b", text))


@pytest.mark.parametrize("hours", [0.01, 0.99, 1.001, 9.99, 10.01, 15.46, 23.98, 71.6, 72.4, 80.2, 99.01])
def test_a_promised_time_is_rounded_up(hours: float) -> None:
    shown = _read(promised_text(hours * 3600.0))
    assert hours * 3600.0 - 1.0 <= shown < hours * 3600.0 + (60.0 if hours < 9.9 else 3600.0)


@pytest.mark.parametrize("hours", [1, 10, 16, 24, 96])
def test_a_whole_time_stays_itself(hours: int) -> None:
    assert _read(promised_text(hours * 3600.0 + 0.2)) == hours * 3600


def test_no_page_promises_a_time_that_may_be_rounded_down() -> None:
    wrong = []
    for path in SOURCE.rglob("*.html"):
        for cell in re.split(r"</td>|</p>|\n", path.read_text(encoding="utf-8")):
            if PROMISE.search(cell) and AMOUNT.search(cell):
                wrong.append(f"{path.name}: {cell.strip()[:100]}")
    assert wrong == []


def test_a_run_that_never_ends_is_no_length_of_a_run() -> None:
    for low, high in ((3600.0, float("inf")), (float("inf"), float("inf"))):
        assert not re.search(r"takes|never$|to never|not in every", unending_text(low, high))
        assert unending_text(low, high).endswith(".")

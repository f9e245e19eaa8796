"""How fast Drystow is, against its requirements: `make bench`.

Ratios count, since machines differ; the seconds beside them are of this machine. Nothing here is a test.
"""

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np

from benchmarks.reference import reference
from drystow.foods import table
from drystow.machine.ensemble import simulate_spread
from drystow.machine.load import Load
from drystow.machine.loadfile import read_load
from drystow.machine.run import MOST_RECORDS, TOLERANCE, dry, drying_program, freeze_load, load_arrays, simulate
from drystow.machine.run import start_of_drying as start_of
from drystow.reports.labels import Label, label_pdf
from drystow.reports.sheets import SHEETS

MIXED = Path(__file__).parents[1] / "examples" / "mixed-load.toml"


def timed(action: Callable[[], object], repeats: int) -> tuple[float, float]:
    """Median and shortest time of an action after one warm-up [s]."""
    action()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return statistics.median(times), min(times)


def row(what: str, value: str, wished: str = "", met: bool | None = None) -> None:
    """Print one line of the table."""
    verdict = "" if met is None else ("yes" if met else "NO")
    print(f"{what:<58} {value:>22}  {wished:<16} {verdict}")


def agreement(load: Load) -> float:
    """Largest relative difference of all end times from the reference, counted from the start of drying [-]."""
    result, ends = simulate(load), reference(load)
    start = result.drying_start
    primary = np.array([tray.primary_end for tray in result.trays], dtype=float) - start
    dried = np.array([tray.dry_end for tray in result.trays], dtype=float) - start
    misses = [
        primary / ends.primary - 1.0,
        dried / ends.dry - 1.0,
        np.array([result.total_time - start]) / ends.total - 1.0,
    ]
    return float(np.abs(np.concatenate(misses)).max())


def simulator() -> None:
    """The five-tray mixed load against SciPy."""
    load = read_load(MIXED)
    _, shelf = start_of(load, freeze_load(load))
    arrays, program = load_arrays(load), drying_program(load)
    whole, whole_best = timed(lambda: simulate(load), 200)
    drying, drying_best = timed(lambda: dry(arrays, program, shelf, TOLERANCE, MOST_RECORDS), 200)
    other, other_best = timed(lambda: reference(load), 7)
    freezing, _ = timed(lambda: freeze_load(load), 50)
    other, other_best = other - freezing, other_best - freezing
    row("five-tray load, freezing and drying, median", f"{whole * 1e3:.2f} ms", "<= 5 ms", whole <= 5e-3)
    row("  shortest", f"{whole_best * 1e3:.2f} ms")
    row("  drying alone, median (shortest)", f"{drying * 1e3:.2f} ({drying_best * 1e3:.2f}) ms")
    row("  same drying by SciPy LSODA, rtol 1e-6, median (shortest)", f"{other:.3f} ({other_best:.3f}) s")
    row("  how many times faster, drying against drying", f"{other / drying:.0f}", ">= 200", other / drying >= 200)
    row("  how many times faster, whole load against its drying", f"{other / whole:.0f}")
    worst = agreement(load)
    row("  largest difference of an end time", f"{worst:.2e}", "<= 1e-3", worst <= 1e-3)


def ensemble() -> None:
    """A thousand members of the five-tray load, on all cores."""
    load = read_load(MIXED)
    median, best = timed(lambda: simulate_spread(load, 1000), 5)
    row("1,000 members of the five-tray load, median", f"{median:.2f} s", "<= 1.5 s", median <= 1.5)
    row("  shortest", f"{best:.2f} s")


def command_line() -> None:
    """`drystow --help` against an empty Python."""
    command = Path(sys.executable).with_name("drystow")
    if not command.exists():
        row("drystow --help", "not installed")
        return
    empty, _ = timed(lambda: subprocess.run([sys.executable, "-c", "pass"], check=True), 15)
    page, _ = timed(lambda: subprocess.run([command, "--help"], check=True, stdout=subprocess.DEVNULL), 15)
    row("drystow --help against python -c pass", f"{page / empty:.1f} x", "<= 3 x", page <= 3 * empty)


def food_search() -> None:
    """Typing a food's name."""
    words = ("strawb", "chicken breast", "sweet corn", "appel", "stew beef", "blueberries raw")
    medians = [timed(lambda word=word: table.find(word, 10), 20)[0] for word in words]  # type: ignore[misc]
    worst = max(medians)
    row("food search, slowest median of six", f"{worst * 1e3:.1f} ms", "< 20 ms", worst < 0.020)


def labels() -> None:
    """A thousand labels with a code each."""
    sheet = next(iter(SHEETS.values()))
    wanted = [
        Label("Strawberries", date(2024, 6, 1), f"AL-{number:05d}", 0.085, date(2030, 6, 1), "planning estimate")
        for number in range(1000)
    ]
    took, _ = timed(lambda: label_pdf(wanted, sheet), 3)
    row("1,000 labels as PDF", f"{took:.2f} s", "< 2 s", took < 2.0)


def main() -> None:
    """Print the table."""
    print(f"{'':<58} {'here':>22}  {'wished':<16} met")
    for part in (simulator, ensemble, food_search, labels, command_line):
        part()


if __name__ == "__main__":
    main()

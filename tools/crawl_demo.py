"""Start the demo in an empty folder and ask for every address while it is being filled, and once more afterwards.

``python -m tools.crawl_demo [--alike N]``: once in each language, an owner and a viewer at once, each in both unit
systems. Prints how many answers of each status came, which failed, and what requests that only read have written.
"""

import argparse
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.web.crawl import Crawl
from tests.web.watched import Person, Served, crawl_together, watched_demo

LANGUAGES = ("en", "es")
PEOPLE = (("Ana", "us"), ("Ana", "si"), ("Ben", "us"), ("Ben", "si"))
PAUSE = 0.2
LONGEST = 600.0
"""So long the filling may take on a slow computer [s]."""


def main() -> None:
    """Crawl, print the counts, and fail when anything failed or was written."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--alike", type=int, default=2, help="most addresses of one kind, 0 for all")
    alike, wrong = parser.parse_args().alike, 0
    with tempfile.TemporaryDirectory(prefix="drystow-crawl-") as routes:
        _know_the_routes(routes)
        for language in LANGUAGES:
            folder = tempfile.TemporaryDirectory(prefix="drystow-crawl-")
            with folder, watched_demo(Path(folder.name)) as served:
                wrong += _crawl(served, language, alike)
    sys.exit(1 if wrong else 0)


def _know_the_routes(folder: str) -> None:
    """Set Django up here too, only to read the URL patterns."""
    import os

    os.environ["DRYSTOW_DATA"] = folder
    from drystow.web.server import set_up_django

    set_up_django(demo=True, lan=True)


def _crawl(served: Served, language: str, alike: int) -> int:
    people = [Person(served, *who) for who in PEOPLE]
    saved = people[0].send("/settings/", {"language": language}).status
    begun, crawls, rounds = time.monotonic(), [], 0
    while served.filling and time.monotonic() - begun < LONGEST:
        crawls += crawl_together(people, alike, lambda: not served.filling)
        rounds += 1
    took = time.monotonic() - begun
    wrong = int(saved != 302) + int(served.filling)
    wrong += _tell(f"{language}, while it is being filled ({took:.0f} s, settings saved: {saved})", crawls)
    time.sleep(PAUSE)
    crawls = crawl_together(people, alike)
    wrong += _tell(f"{language}, afterwards", crawls)
    for line in served.written():
        print(f"  WRITTEN {line}")
    tracebacks = served.complaints().count("Traceback")
    print(f"  {len(served.written())} writes by reading, {tracebacks} tracebacks in the log", flush=True)
    if tracebacks:
        print(served.complaints()[-3000:])
    return wrong + len(served.written()) + tracebacks


def _tell(title: str, crawls: list[Crawl]) -> int:
    visits = [visit for crawl in crawls for visit in crawl.visits]
    statuses = Counter(visit.status for visit in visits)
    seconds = sorted(visit.seconds for visit in visits) or [0.0]
    broken = [visit for crawl in crawls for visit in crawl.broken]
    told = ", ".join(f"{count} x {status}" for status, count in sorted(statuses.items()))
    addresses = len({visit.address for visit in visits})
    kinds = len({visit.name for visit in visits})
    slow = f"median {1000 * seconds[len(seconds) // 2]:.0f} ms, slowest {seconds[-1]:.1f} s"
    print(f"{title}: {len(visits)} answers at {addresses} addresses of {kinds} kinds: {told}; {slow}", flush=True)
    for visit in broken:
        print(f"  FAILED {visit.status} {visit.address}")
    return len(broken)


if __name__ == "__main__":
    main()

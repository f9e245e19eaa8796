"""The demo load, computed once in the background, so that no page waits for the compiler."""

import threading
import tomllib
from concurrent.futures import Future
from dataclasses import dataclass
from importlib.resources import files

from django.utils.translation import get_language

from drystow.machine.ensemble import Spread, simulate_spread, with_middle_times
from drystow.machine.load import Load
from drystow.machine.loadfile import parse_load
from drystow.machine.result import LoadResult
from drystow.machine.run import simulate
from drystow.web.kit.drawing import Drawing, draw

MEMBERS = 200  # runs behind the ranges
LONGEST_WAIT = 180.0  # for the first compilation on a slow computer [s]
UNITS = ("us", "si")

_lock = threading.Lock()
_running: "list[Future[DemoLoad]]" = []


@dataclass(frozen=True)
class DemoLoad:
    """The demo load with everything that the page shows.

    load: food, dryer and program
    result: its course with the central numbers, its times the middle of the simulated runs
    spread: how sure the times are
    drawings: the charts, by unit system and language; `demo_drawings` adds the languages that are asked for
    """

    load: Load
    result: LoadResult
    spread: Spread
    drawings: dict[tuple[str, str], tuple[Drawing, ...]]


def demo_is_on() -> bool:
    """Return whether the settings ask for the demo; they are read here so that importing a view needs none."""
    from django.conf import settings

    return bool(settings.DEMO)


def demo_text() -> str:
    """Return the load file of the demo."""
    return files("drystow.web").joinpath("demo", "mixed-load.toml").read_text(encoding="utf-8")


def demo_load() -> "Future[DemoLoad]":
    """Return the demo load as a future; the first call starts the work in the background."""
    with _lock:
        if not _running:
            future: Future[DemoLoad] = Future()
            _running.append(future)
            threading.Thread(target=_work, args=(future,), name="demo-load", daemon=True).start()
        return _running[0]


def demo_ready(future: "Future[DemoLoad]") -> DemoLoad:
    """Return the finished demo load, waiting for it if need be.

    future: from `demo_load`
    """
    failure = future.exception(LONGEST_WAIT)
    if failure is not None:
        raise RuntimeError("the demo load cannot be computed") from failure
    return future.result()


def demo_drawings(demo: DemoLoad, units: str) -> tuple[Drawing, ...]:
    """Return the charts of the demo load in the language of the page."""
    key = (units, get_language() or "")
    if key not in demo.drawings:
        demo.drawings[key] = draw(demo.result, units)
    return demo.drawings[key]


def _work(future: "Future[DemoLoad]") -> None:
    try:
        load = parse_load(tomllib.loads(demo_text()))
        spread = simulate_spread(load, MEMBERS)
        result = with_middle_times(simulate(load), spread)
        demo = DemoLoad(load, result, spread, {})
        for units in UNITS:
            demo_drawings(demo, units)
        future.set_result(demo)
    except Exception as problem:
        future.set_exception(problem)

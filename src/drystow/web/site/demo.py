"""Done in the background after a start: the demo load, and all that the first click would have to wait for."""

import logging
import threading
import time
import tomllib
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from dataclasses import dataclass
from functools import partial
from importlib.resources import files
from pathlib import Path

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


PAUSE = 0.05
"""Between two steps, so that a page that is asked for meanwhile goes first [s]."""
WARM_MEMBERS = 4  # of the small ensemble

_log = logging.getLogger(__name__)


def warm_up_in_background() -> threading.Thread:
    """Start the work and return its thread, which ends with the program."""
    thread = threading.Thread(target=warm_up, name="warm-up", daemon=True)
    thread.start()
    return thread


def warm_up() -> None:
    """Do every step; one that fails is left to the page that needs it, which says what is wrong."""
    for step in (_pages, _catalogues, _engine, _charts):
        _try(step)
        time.sleep(PAUSE)
    for name in _templates():
        _try(partial(_template, name))
        time.sleep(PAUSE / 10)


def _try(step: Callable[[], None]) -> None:
    try:
        step()
    except Exception:
        _log.info("a step of the warm-up failed", exc_info=True)


def _pages() -> None:
    """Import every view."""
    from django.urls import get_resolver

    assert get_resolver().url_patterns


def _catalogues() -> None:
    """Read the words of every language."""
    from django.conf import settings
    from django.utils import translation

    for language, _name in settings.LANGUAGES:
        with translation.override(language):
            translation.gettext("Batches")


def _engine() -> None:
    """Read the foods and compile or load the solver."""
    from drystow.evidence.outage.advice import Outage
    from drystow.evidence.outage.simulate import survive
    from drystow.foods import table
    from drystow.machine.ensemble import simulate_spread
    from drystow.machine.loadfile import parse_load
    from drystow.machine.run import simulate
    from drystow.web.site.demo import demo_text

    table.find("strawberries")
    raw = tomllib.loads(demo_text())
    load = parse_load(raw | {"tray": raw["tray"][:1]})
    simulate(load)
    simulate_spread(load, WARM_MEMBERS)
    survive(load, Outage(8 * 3600.0, 600.0, False, load.rig.dryer.room), members=WARM_MEMBERS)


def _charts() -> None:
    """Draw one chart, for which large libraries are imported."""
    from datetime import date

    from drystow.reports.season_chart import stock_pictures
    from drystow.web.kit.drawing import drawing_of

    for picture in stock_pictures([(date(2026, 1, 1), 1, 1.0), (date(2026, 2, 1), 2, 2.0)])[:1]:
        drawing_of(picture)


def _templates() -> Iterator[str]:
    from django.apps import apps

    for app in apps.get_app_configs():
        folder = Path(app.path) / "templates"
        if app.name.startswith("drystow."):
            yield from sorted(str(path.relative_to(folder)) for path in folder.rglob("*.html"))


def _template(name: str) -> None:
    from django.template.loader import get_template

    get_template(name)

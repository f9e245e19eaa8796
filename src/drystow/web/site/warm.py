"""What a start has left for the first click, done in the background: pages, catalogues, foods, the engine, a chart."""

import logging
import threading
import time
import tomllib
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

PAUSE = 0.05
"""Between two steps, so that a page that is asked for meanwhile goes first [s]."""
MEMBERS = 4  # of the small ensemble

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
    simulate_spread(load, MEMBERS)
    survive(load, Outage(8 * 3600.0, 600.0, False, load.rig.dryer.room), members=MEMBERS)


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

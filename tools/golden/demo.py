"""A small demo kitchen whose clock stands still and whose dice are loaded: the same in every take."""

import io
import os
import random
import secrets
import threading
from datetime import UTC, datetime
from pathlib import Path

NOW = datetime(2026, 6, 14, 10, 30, tzinfo=UTC)
BATCHES = 11
"""At least one in every stage."""
SEED = 7

begun: list[str] = []
"""Names of the threads of the site that began since somebody emptied this list."""
_start = threading.Thread.start


def open_kitchen(folder: Path) -> None:
    """Set Django up in an empty folder, with accounts, and fill in the year; once in a process.

    The clock, the dice and the threads are changed before anything of the site is imported, so that it makes no
    difference how it imports them.
    """
    os.environ["DRYSTOW_DATA"] = str(folder)
    from django.utils import timezone

    timezone.now = lambda: NOW
    secrets.choice = random.Random(SEED).choice
    threading.Thread.start = _start_and_wait  # type: ignore[method-assign]
    from drystow.web.server import start_django

    start_django(demo=True, lan=True)
    from django.core.management import call_command

    call_command("fill_demo", batches=BATCHES, seed=SEED, stdout=io.StringIO())


def _start_and_wait(thread: threading.Thread) -> None:
    """Begin a thread; one that works something out for the pages is over before anything else goes on."""
    _start(thread)
    if (getattr(getattr(thread, "_target", None), "__module__", "") or "").startswith("drystow.web"):
        begun.append(thread.name)
        thread.join()

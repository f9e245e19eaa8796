"""Long work beside the requests: one thread for each kind of work, and how far it is."""

import logging
import threading
import time
from collections.abc import Callable

from django.db import connection

GLANCE = 0.01
"""Between two looks whether a row is done [s]."""

_log = logging.getLogger(__name__)


class Queue:
    """Rows that are to be worked out, each once however often it is asked for, in the order of asking."""

    def __init__(self, name: str, work: Callable[[int], object]) -> None:
        self.name, self.work = name, work
        self.waiting: dict[int, float] = {}  # which share is done, the first one at work
        self._lock = threading.Lock()

    def ask(self, pk: int) -> None:
        """Have a row worked out in the background."""
        with self._lock:
            idle = not self.waiting
            self.waiting.setdefault(pk, 0.0)
        if idle:
            self.start()

    def start(self) -> None:
        """Begin the background work."""
        threading.Thread(target=self.work_off, name=self.name, daemon=True).start()

    def tell(self, pk: int, share: float) -> None:
        """Note how far the work on a row is, 0 to 1; nothing when nobody asked for it."""
        with self._lock:
            if pk in self.waiting:
                self.waiting[pk] = share

    def percent(self, pk: int) -> int | None:
        """Return how far the work on a row is, 0 to 99; None when nobody works on it."""
        with self._lock:
            share = self.waiting.get(pk)
        return None if share is None else min(round(100 * share), 99)

    def wait(self, pk: int, at_most: float) -> None:
        """Wait until nobody works on a row any more, but not for long.

        at_most: so long [s]
        """
        end = time.monotonic() + at_most
        while self.percent(pk) is not None and time.monotonic() < end:
            time.sleep(GLANCE)

    def work_off(self) -> None:
        """Work until nothing waits; what fails is logged, and the next one goes on."""
        while True:
            with self._lock:
                pk = next(iter(self.waiting), None)
            if pk is None:
                return
            try:
                self.work(pk)
            except Exception:
                _log.exception("%s: number %s cannot be worked out", self.name, pk)
            finally:
                connection.close()
                with self._lock:
                    self.waiting.pop(pk, None)

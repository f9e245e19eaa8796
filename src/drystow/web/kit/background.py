"""Long work beside the requests: one queue of tasks, each once however often it is asked for.

A task is a name, a function, and the lane in which it waits; each lane is worked off in the order of asking, beside the
others. What stands behind the queue is a setting: threads of this process, or tasks kept in PostgreSQL for several.
"""

import logging
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Literal, Protocol

from django.conf import settings
from django.db import connection
from django.utils.module_loading import import_string

GLANCE = 0.01
"""Between two looks whether a task is done [s]."""

_log = logging.getLogger(__name__)

Lane = Literal["moments", "seconds", "minutes"]
"""How long a task may take: what is done at once never waits behind a search."""
LANES: tuple[Lane, ...] = ("moments", "seconds", "minutes")

Job = tuple[str, int]
"""Name of a task, and the number of the row that it is about."""


class Stopped(Exception):
    """Somebody does not want to wait any longer."""


class Queue(Protocol):
    """Where tasks wait."""

    def work(self) -> None:
        """Begin to work off what other processes ask for too; a queue of this process alone does so by itself."""

    def ask(self, job: Job) -> None:
        """Have a job done in the background, once."""

    def progress(self, job: Job) -> float | None:
        """Return how far a job is, as it told; None when nobody works on it and it does not wait."""

    def tell(self, job: Job, progress: float) -> None:
        """Note how far a job is; raises `Stopped` when it is to be broken off."""

    def stop(self, job: Job) -> None:
        """Break a job off that waits or is at work."""


@dataclass(frozen=True)
class BackgroundTask:
    """A kind of background work.

    name: of it, as it stands in the queue
    work: does it for the row with a number, here and now
    lane: in which it waits
    """

    name: str
    work: Callable[[int], object]
    lane: Lane

    def ask(self, pk: int) -> None:
        """Have it done for a row in the background."""
        queue().ask((self.name, pk))

    def progress(self, pk: int) -> float | None:
        """Return how far it is for a row, None when nobody works on that."""
        return queue().progress((self.name, pk))

    def tell(self, pk: int, progress: float) -> None:
        """Note how far it is for a row."""
        queue().tell((self.name, pk), progress)

    def stop(self, pk: int) -> None:
        """Break it off for a row."""
        queue().stop((self.name, pk))

    def percent(self, pk: int) -> int | None:
        """Return how far it is for a row, 0 to 99; None when nobody works on that."""
        share = self.progress(pk)
        return None if share is None else min(round(100 * share), 99)

    def wait(self, pk: int, at_most: float) -> None:
        """Wait until nobody works on a row any more, but not for long.

        at_most: so long [s]
        """
        end = time.monotonic() + at_most
        while self.progress(pk) is not None and time.monotonic() < end:
            time.sleep(GLANCE)


TASKS: dict[str, BackgroundTask] = {}
"""All of them, by name."""


def task(name: str, work: Callable[[int], object], lane: Lane = "moments") -> BackgroundTask:
    """Make a kind of background work known."""
    TASKS[name] = made = BackgroundTask(name, work, lane)
    return made


def do(job: Job) -> None:
    """Do a job here and now; what fails is logged."""
    name, pk = job
    try:
        TASKS[name].work(pk)
    except Exception:
        _log.exception("%s: number %s cannot be worked out", name, pk)


@cache
def queue() -> Queue:
    """Return the queue of this process."""
    made: Queue = import_string(settings.BACKGROUND)()
    return made


class Threads:
    """The queue of a single process: a thread for each lane, as long as something waits there."""

    def __init__(self) -> None:
        self.waiting: dict[Job, float] = {}  # how far each is, the first one of a lane at work
        self._stopped: set[Job] = set()
        self._at_work: set[Lane] = set()
        self._lock = threading.Lock()

    def work(self) -> None:
        """Nothing: a thread begins when something is asked for."""

    def ask(self, job: Job) -> None:
        """Have a job done in the background, once."""
        lane = TASKS[job[0]].lane
        with self._lock:
            idle = lane not in self._at_work
            self._at_work.add(lane)
            self.waiting.setdefault(job, 0.0)
            self._stopped.discard(job)
        if idle:
            self.start(lane)

    def start(self, lane: Lane) -> None:
        """Begin the background work of a lane."""
        threading.Thread(target=self.work_off, args=(lane,), name=lane, daemon=True).start()

    def tell(self, job: Job, progress: float) -> None:
        """Note how far a job is, nothing when nobody asked for it; raises `Stopped` when it is to be broken off."""
        with self._lock:
            if job in self.waiting:
                self.waiting[job] = progress
            if job in self._stopped:
                raise Stopped

    def progress(self, job: Job) -> float | None:
        """Return how far a job is; None when nobody works on it and it does not wait."""
        with self._lock:
            return self.waiting.get(job)

    def stop(self, job: Job) -> None:
        """Break a job off that waits or is at work."""
        with self._lock:
            if job in self.waiting:
                self._stopped.add(job)

    def work_off(self, lane: Lane) -> None:
        """Work until nothing waits in a lane."""
        while True:
            with self._lock:
                job = next((job for job in self.waiting if TASKS[job[0]].lane == lane), None)
                if job is None:
                    self._at_work.discard(lane)
                    return
            try:
                do(job)
            finally:
                connection.close()
                with self._lock:
                    self.waiting.pop(job, None)
                    self._stopped.discard(job)

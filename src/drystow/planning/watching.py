"""Tells how far work of a known length is while it goes on."""

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from concurrent.futures import TimeoutError as NotYet
from typing import TypeVar

LOOK = 0.5  # between two looks [s]
NEARLY = 0.99  # share that is told of work that takes longer than it should

Answer = TypeVar("Answer")

Tick = Callable[[float], None]
"""Is told the share of the work that is done [-]."""


def watched(work: Callable[[], Answer], seconds: float, tick: Tick) -> Answer:
    """Return what work in another thread gives, and tell meanwhile how far it is.

    work: that takes about a known time
    seconds: the time [s]
    tick: called in the thread of the caller
    """
    begin = time.monotonic()
    with ThreadPoolExecutor(1) as thread:
        answer = thread.submit(work)
        while True:
            try:
                return answer.result(timeout=LOOK)
            except NotYet:
                tick(min((time.monotonic() - begin) / seconds, NEARLY))

"""How tests wait: for a condition, as long as a computer takes that has much else to do; never for a span of time."""

import os
import time
from collections.abc import Callable

PATIENCE = 240.0
"""So long a test waits for what has to come [s]: only a fault lasts longer, even when others keep both cores busy."""


def pause() -> None:
    """Let others work for a moment."""
    time.sleep(0.05)


def until(true: Callable[[], object], otherwise: str = "waited too long", pause: Callable[[], object] = pause) -> None:
    """Wait until something is true, not for ever.

    otherwise: what is told when it never becomes true
    pause: what is done before it is asked again
    """
    end = time.monotonic() + PATIENCE
    while not true():
        assert time.monotonic() < end, otherwise
        pause()


def processor_seconds(process: int) -> float:
    """Return the processor time that a running process took so far [s], whatever else the computer has to do."""
    with open(f"/proc/{process}/stat", encoding="ascii", errors="replace") as file:
        user, system = file.read().rpartition(")")[2].split()[11:13]
    return (int(user) + int(system)) / os.sysconf("SC_CLK_TCK")

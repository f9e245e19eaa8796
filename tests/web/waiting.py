"""What waits in the queue of background work, which no test works off by itself."""

from drystow.web.kit import background
from drystow.web.kit.background import LANES, BackgroundTask, Threads


def waiting() -> Threads:
    """The queue of the test."""
    found = background.queue()
    assert isinstance(found, Threads)
    return found


def waits(task: BackgroundTask) -> list[int]:
    """Numbers of the rows that a kind of work waits for, in the order of asking."""
    return [pk for name, pk in waiting().waiting if name == task.name]


def clear() -> None:
    """Nobody waits any more, as after a restart."""
    waiting().waiting.clear()


def work_off() -> None:
    """Do what waits, here and now."""
    for lane in LANES:
        waiting().work_off(lane)

"""A process beside others that share a PostgreSQL database: `work FOLDER` works jobs off, `ask FOLDER NUMBER…` asks.

Each job leaves a file that names it and the process. Job 99 never ends in the process that began it first.
"""

import os
import signal
import sys
from pathlib import Path
from uuid import uuid4

from tests.patience import pause

HANGS = 99


def work_in(folder: Path, pk: int) -> None:
    """Leave a file; the one that hangs leaves one when it begins and goes on only where it was begun before."""
    if pk == HANGS:
        begun = list(folder.glob("begun *"))
        (folder / f"begun {os.getpid()}").touch()
        while not begun:
            pause()
    pause()
    (folder / f"done {pk} {os.getpid()} {uuid4()}").touch()


def main(what: str, folder: Path, numbers: list[int]) -> None:
    """Work jobs off until killed, or ask for some, each twice."""
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "drystow.web.settings"
    django.setup()
    from drystow.web.kit import background, postgres_queue

    postgres_queue.BEAT, postgres_queue.GONE, postgres_queue.AGAIN = 0.5, 2.0, 0.5
    task = background.task("test", lambda pk: work_in(folder, pk), "seconds")
    assert isinstance(background.queue(), postgres_queue.Tasks)
    if what == "work":
        background.queue().work()
        print("works", flush=True)
        signal.pause()
    for number in numbers:
        task.ask(number)
        task.ask(number)


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]), [int(number) for number in sys.argv[3:]])

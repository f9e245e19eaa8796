"""A process beside others that share a PostgreSQL database: `work FOLDER` works jobs off, `ask FOLDER NUMBER…` asks.

Each job leaves a file that names it and the process. Job 99 never ends in the process that began it first.
"""

import os
import sys
import time
from pathlib import Path

import django

os.environ["DJANGO_SETTINGS_MODULE"] = "drystow.web.settings"
django.setup()

from drystow.web.kit import background, postgres_queue  # noqa: E402

HANGS = 99
FOLDER = Path(sys.argv[2])
postgres_queue.BEAT, postgres_queue.GONE, postgres_queue.AGAIN = 0.5, 2.0, 0.5


def work(pk: int) -> None:
    """Leave a file; the one that hangs leaves one when it begins and goes on only where it was begun before."""
    if pk == HANGS:
        begun = list(FOLDER.glob("begun *"))
        (FOLDER / f"begun {os.getpid()}").touch()
        while not begun:
            time.sleep(0.1)
    time.sleep(0.1)
    (FOLDER / f"done {pk} {os.getpid()} {time.monotonic_ns()}").touch()


TASK = background.task("test", work, "seconds")
assert isinstance(background.queue(), postgres_queue.Tasks)
if sys.argv[1] == "work":
    background.queue().work()
    print("works", flush=True)
    while True:
        time.sleep(1.0)
for number in sys.argv[3:]:
    TASK.ask(int(number))
    TASK.ask(int(number))

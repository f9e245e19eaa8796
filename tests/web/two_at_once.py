"""Two people at the same moment: a database of its own on real connections, and threads that meet before they write."""

import os
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.db import connection, connections

from tests.patience import PATIENCE


@contextmanager
def real_database(folder: Path) -> Iterator[None]:
    """Within it, rows are committed, so that every connection sees them; afterwards they are gone.

    On SQLite it is a file, opened as the app opens it; on PostgreSQL the test database, emptied.
    """
    if os.environ.get("DATABASE_URL"):
        try:
            yield
        finally:
            call_command("flush", verbosity=0, interactive=False)
        return
    connection.ensure_connection()
    file = folder / "real.sqlite3"
    with sqlite3.connect(file) as copy:
        connection.connection.backup(copy)
    copy.close()
    usual, written = connections["default"], connections.databases["default"]
    connections.databases["default"] = written | {"NAME": str(file)}
    del connections["default"]
    try:
        yield
    finally:
        connections["default"].close()
        connections.databases["default"] = written
        connections["default"] = usual


def at_once(*writes: Callable[[Callable[[], Any]], Any]) -> list[Any]:
    """Run each in a thread with a connection of its own and return what each gave back, or the error that it raised.

    writes: each reads what it needs, calls what it is given to wait for the others, then writes
    """
    meeting = threading.Barrier(len(writes), timeout=PATIENCE)
    told: list[Any] = [None] * len(writes)

    def run(number: int) -> None:
        met: list[int] = []
        try:
            told[number] = writes[number](lambda: met.append(meeting.wait()))
        except Exception as problem:
            told[number] = problem
        finally:
            if not met:
                meeting.abort()  # nobody waits for one that failed on the way
            connections.close_all()

    threads = [threading.Thread(target=run, args=(number,)) for number in range(len(writes))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return told

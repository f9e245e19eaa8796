"""Notes what is written to the database while a request that only reads is being answered."""

import re
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any

READS = ("GET", "HEAD", "OPTIONS")
WRITES = re.compile(
    r"\s*(?:INSERT|UPDATE|DELETE|REPLACE|CREATE|DROP|ALTER|TRUNCATE|BEGIN IMMEDIATE|SAVEPOINT)\b", re.IGNORECASE
)
"""A transaction counts too: with SQLite it waits for whoever writes, as a write does."""
MAY = re.compile(r'\A\s*(?:DELETE FROM|UPDATE|INSERT INTO) "django_session"')
"""Signing in and out, and a session that ended, are rows of their own."""


class Watch:
    """What was written by whom.

    found: address and statement of each write
    tell: called with each of them
    """

    def __init__(self, tell: Callable[[str], object] = lambda line: None) -> None:
        self.found: list[tuple[str, str]] = []
        self.tell = tell
        self._here = threading.local()

    @contextmanager
    def reading(self, address: str) -> Iterator[None]:
        """Within it, this thread answers a request that only reads."""
        self._here.address = address
        try:
            yield
        finally:
            self._here.address = ""

    def __call__(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        """Note a statement, as an execute wrapper of Django, and run it."""
        address = getattr(self._here, "address", "")
        if address and WRITES.match(sql) and not MAY.match(sql):
            self.found.append((address, sql))
            self.tell(f"{address} {sql[:200]}")
        return execute(sql, params, many, context)

    def over(self, application: Callable[..., Iterable[bytes]]) -> Callable[..., Iterable[bytes]]:
        """Return a WSGI application that is watched."""

        def watched(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
            if environ["REQUEST_METHOD"] not in READS:
                return application(environ, start_response)
            with self.reading(f"{environ['PATH_INFO']}?{environ.get('QUERY_STRING', '')}"):
                answer = application(environ, start_response)
                try:
                    return [b"".join(answer)]
                finally:
                    if hasattr(answer, "close"):
                        answer.close()

        return watched

    def every_connection(self) -> None:
        """Watch each connection to the database of this process from now on."""
        from django.db.backends.signals import connection_created

        def watch(connection: Any, **_more: Any) -> None:
            if self not in connection.execute_wrappers:
                connection.execute_wrappers.append(self)

        connection_created.connect(watch, weak=False)

"""Notes what is written to the database, and which texts are read as quantities, while a request that only reads is
being answered."""

import re
import threading
import traceback
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from drystow import units

READS = ("GET", "HEAD", "OPTIONS")
WRITES = re.compile(
    r"\s*(?:INSERT|UPDATE|DELETE|REPLACE|CREATE|DROP|ALTER|TRUNCATE|BEGIN IMMEDIATE|SAVEPOINT)\b", re.IGNORECASE
)
"""A transaction counts too: with SQLite it waits for whoever writes, as a write does."""
MAY = re.compile(r'\A\s*(?:DELETE FROM|UPDATE|INSERT INTO) "django_session"')
"""Signing in and out, and a session that ended, are rows of their own."""


MAY_READ = ("web/kit/forms.py", "web/plans/fields.py")
"""What a reader types, or typed once and a form shows again; what rows hold are numbers."""


class Watch:
    """What was written by whom.

    found: address and statement of each write
    parsed: address and text of each quantity that was read, though a row should hold a number
    tell: called with each of them
    """

    def __init__(self, tell: Callable[[str], object] = lambda line: None) -> None:
        self.found: list[tuple[str, str]] = []
        self.parsed: list[tuple[str, object]] = []
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

    @contextmanager
    def over_the_parser(self) -> Iterator[None]:
        """Within it, the parser of quantities is watched too."""
        real = units._read

        def watched(text: object, *more: str) -> tuple[float, float]:
            address = getattr(self._here, "address", "")
            if address and not any(frame.filename.endswith(MAY_READ) for frame in traceback.extract_stack()):
                self.parsed.append((address, text))
            return real(text, *more)

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(units, "_read", watched)
            yield

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

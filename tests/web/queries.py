"""Count the questions to the database."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection
from django.test.utils import CaptureQueriesContext


@contextmanager
def queries(*, at_most: int) -> Iterator[None]:
    """Fail when more questions than this are asked inside."""
    with CaptureQueriesContext(connection) as asked:
        yield
    told = [question["sql"] for question in asked.captured_queries]
    assert len(told) <= at_most, f"{len(told)} questions:\n" + "\n".join(told)

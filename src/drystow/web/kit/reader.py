"""Who reads the answer to a request: the language of the moment and the reader's units."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from django.utils.translation import gettext, ngettext

from drystow.messages import Reader

_units: ContextVar[str] = ContextVar("units", default="si")


@contextmanager
def reading_in(units: str) -> Iterator[None]:
    """Write quantities in a system of units, ``us`` or ``si``, until the end of the block."""
    before = _units.set(units)
    try:
        yield
    finally:
        _units.reset(before)


def reader() -> Reader:
    """Return who reads now; outside of a request quantities are in SI, as in logs and files."""
    return Reader(gettext, _units.get(), ngettext)

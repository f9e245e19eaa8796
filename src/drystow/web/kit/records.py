"""The only way to write records: every change is checked against the version that was edited, and recorded.

Two people may edit one record at once. When they touched different fields, both changes are kept; when they touched the
same field, the later one is told what the other wrote and nothing is lost.
"""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar
from uuid import uuid4

from django.core.serializers.json import DjangoJSONEncoder
from django.db import transaction
from django.utils import timezone

from drystow.errors import DrystowError
from drystow.messages import msg
from drystow.web.kit.models import Change, Kitchen, Record
from drystow.web.kit.words import again, in_english, kept

# Context variables and not globals: requests run side by side in threads and in one event loop.
_kitchen: ContextVar[Kitchen | None] = ContextVar("kitchen", default=None)
_action: ContextVar[str] = ContextVar("action", default="")
_in_request: ContextVar[bool] = ContextVar("in_request", default=False)

Kind = TypeVar("Kind", bound=Record)
ONLY = 1
"""Number of the row of the kitchen, fixed so that two who write at once cannot make two."""
OWN_FIELDS = ("id", "version", "created_at", "changed_at")


class Conflict(DrystowError):
    """Two people changed the same field.

    record: as it is now
    fields: field -> (what the other wrote, what this person wants)
    """

    def __init__(self, record: Record, fields: dict[str, tuple[Any, Any]]) -> None:
        self.record = record
        self.fields = fields
        told = "; ".join(f"{name}: now '{theirs}', you wrote '{mine}'" for name, (theirs, mine) in fields.items())
        super().__init__(f"someone changed this meanwhile ({told}); check and save again")


class Gone(DrystowError):
    """The record was put in the bin meanwhile."""


def kind_of(record: Record | type[Record]) -> str:
    """Return the name of a record's kind, such as ``batches.batch``."""
    return record._meta.label_lower


def snapshot(record: Record) -> dict[str, Any]:
    """Return every field of a record as plain JSON data."""
    values = {field.attname: getattr(record, field.attname) for field in record._meta.concrete_fields}
    for name, value in values.items():
        if hasattr(value, "name") and hasattr(value, "storage"):  # a file: its name
            values[name] = value.name
    plain: dict[str, Any] = json.loads(json.dumps(values, cls=DjangoJSONEncoder))
    return plain


def create(record: Kind, *, who: str = "", words: str = "") -> Kind:
    """Save a new record and return it."""
    with transaction.atomic():
        record.full_clean()
        record.save(force_insert=True)
        _remember(record, "create", {}, who, words)
    return record


def locked(record: Kind) -> Kind:
    """Return a record as it is now, for one writer until the transaction ends; raise `Gone` when it is in the bin.

    Call it within a transaction: PostgreSQL locks the row, SQLite has one writer at a time anyway.
    """
    current = _row_of(record)
    if current.binned_at is not None:
        raise Gone(msg("Someone moved this to trash meanwhile. Restore it first."))
    return current


def change(record: Kind, changes: dict[str, Any], *, expected: int | None, who: str = "", words: str = "") -> Kind:
    """Apply changes to a record that was read at version `expected` and return it as saved.

    Raises `Conflict` when somebody else changed one of the same fields meanwhile, `Gone` when it is in the bin.

    expected: None where the changes were worked out from the record as it is now, `locked`
    """
    changes = dict(changes)
    with transaction.atomic():
        if isinstance(record, Kitchen) and record.pk is None:
            record.pk = _kitchen_row().pk
        current = locked(record)
        before = snapshot(current)
        if expected is not None and current.version != expected:
            _check_overlap(current, changes, before, expected)
        for name, value in changes.items():
            setattr(current, name, value)
        current.full_clean()
        if snapshot(current) == before:
            current.written = None
            return current
        _count_up(current)
        current.save()
        _remember(current, "change", before, who, words)
    return current


def put_in_bin(record: Kind, *, who: str = "", words: str = "") -> Kind:
    """Put a record in the bin and return it."""
    return _binned(record, True, who, words)


def take_back(record: Kind, *, who: str = "", words: str = "") -> Kind:
    """Take a record out of the bin and return it."""
    return _binned(record, False, who, words)


def undo(last: Change, *, who: str = "") -> Record:
    """Take back one change: its record gets the values from before; the undoing is itself recorded.

    A created record goes to the bin. Raises `Conflict` when a field was changed again since.
    """
    from django.apps import apps

    record: Record = apps.get_model(last.kind).objects.get(pk=last.object_id)
    words = msg("undone: {what}", what=comment(last))
    if last.action in ("create", "restore"):
        return put_in_bin(record, who=who, words=words)
    if last.action == "bin":
        return take_back(record, who=who, words=words)
    changed = {
        name: value for name, value in last.before.items() if name not in OWN_FIELDS and value != last.after.get(name)
    }
    fields = {field.attname: field for field in record._meta.concrete_fields}
    values = {name: fields[name].to_python(value) for name, value in changed.items()}
    return change(record, values, expected=last.version, who=who, words=words)


def comment(change: Change) -> str:
    """Return what was written beside a change, else what was done; to be told in the reader's language."""
    return again(change.said, change.words) or in_english(dict(Change.ACTIONS)[change.action])


def as_seen(record: Kind, version: int) -> Kind:
    """Return a record as it was at a version that somebody saw, as it is where the history has no such version."""
    log = None if version == record.version else history(record).filter(version=version).first()
    if log is None:
        return record
    fields = {field.attname: field for field in record._meta.concrete_fields}
    return type(record)(**{name: fields[name].to_python(value) for name, value in log.after.items() if name in fields})


def copy_of(record: Kind) -> Kind:
    """Return a new record, not saved yet, that says the same as another one."""
    values = {field.attname: getattr(record, field.attname) for field in record._meta.concrete_fields}
    return type(record)(**{name: value for name, value in values.items() if name not in (*OWN_FIELDS, "binned_at")})


def history(record: Record) -> Any:
    """Return the changes of a record, newest first."""
    return Change.objects.filter(kind=kind_of(record), object_id=record.pk)


def kitchen() -> Kitchen:
    """Return the settings of the kitchen, read once for each request.

    Before anybody has set anything they are the usual ones, without a row; `change` makes it: looking writes nothing.
    """
    kitchen = _kitchen.get()
    if kitchen is None:
        kitchen = Kitchen.objects.order_by("pk").first() or Kitchen()
        if _in_request.get():
            _kitchen.set(kitchen)
    return kitchen


@contextmanager
def one_action() -> Iterator[None]:
    """Within it, all changes are one action, which is undone as a whole."""
    before = _action.set(_action.get() or uuid4().hex)
    try:
        yield
    finally:
        _action.reset(before)


@contextmanager
def one_request() -> Iterator[None]:
    """Within it, the settings of the kitchen are read once."""
    inside, kitchen = _in_request.set(True), _kitchen.set(None)
    try:
        yield
    finally:
        _in_request.reset(inside)
        _kitchen.reset(kitchen)


def _kitchen_row() -> Kitchen:
    """Return the row of the settings of the kitchen, made with the usual ones when there is none; one, whoever asks."""
    return Kitchen.objects.order_by("pk").first() or create(Kitchen(pk=ONLY), words=msg("first start"))


def _check_overlap(current: Record, changes: dict[str, Any], now: dict[str, Any], expected: int) -> None:
    log = Change.objects.filter(kind=kind_of(current), object_id=current.pk, version=expected).first()
    seen = log.after if log is not None else {}
    fields = {field.name: field for field in current._meta.concrete_fields}
    trial = type(current)()
    overlap: dict[str, tuple[Any, Any]] = {}
    for name, value in changes.items():
        column = fields[name].attname if name in fields else name
        setattr(trial, name, value)
        wanted = snapshot(trial)[column]
        theirs, base = now.get(column), seen.get(column)
        if theirs != base and (column in current.added_up or wanted not in (theirs, base)):
            overlap[name] = (theirs, wanted)
    if overlap:
        raise Conflict(current, overlap)
    for name in list(changes):  # fields that this person did not touch keep what the other wrote
        column = fields[name].attname if name in fields else name
        if now.get(column) != seen.get(column):
            del changes[name]


def _row_of(record: Kind) -> Kind:
    """Return the row of a record, for one writer."""
    found: Any = type(record).objects.select_for_update().get(pk=record.pk)
    row: Kind = found
    return row


def _binned(record: Kind, into: bool, who: str, words: str) -> Kind:
    with transaction.atomic():
        current = _row_of(record)
        if (current.binned_at is not None) == into:
            current.written = None
            return current
        before = snapshot(current)
        current.binned_at = timezone.now() if into else None
        _count_up(current)
        current.save()
        _remember(current, "bin" if into else "restore", before, who, words)
    return current


def _count_up(record: Record) -> None:
    if isinstance(record, Kitchen):
        _kitchen.set(None)
    record.version += 1
    record.changed_at = timezone.now()


def _remember(record: Record, action: str, before: dict[str, Any], who: str, words: str) -> None:
    record.written = Change.objects.create(
        kind=kind_of(record),
        object_id=record.pk,
        version=record.version,
        action=action,
        who=who[:80],
        words=words[:200],
        said=kept(words),
        together=_action.get(),
        before=before,
        after=snapshot(record),
    )

"""Take back an action that wrote several records, as far as nobody changed them since."""

from dataclasses import dataclass

from django.apps import apps
from django.core.exceptions import ObjectDoesNotExist, ValidationError
from django.db import transaction

from drystow.web.kit import records
from drystow.web.kit.models import Change


@dataclass(frozen=True)
class Undone:
    """What became of taking back an action.

    last: one change that took something back, None when there was nothing to take back
    count: records that were taken back
    kept: (kind, change) of the records that somebody changed since; they stay as they are
    """

    last: Change | None
    count: int
    kept: tuple[Change, ...]


def parts_of(change: Change) -> list[Change]:
    """Return all changes of the action that a change belongs to, newest first; the change alone when it is the only."""
    return list(Change.objects.filter(together=change.together).order_by("-pk")) if change.together else [change]


def undo_all(parts: list[Change], *, who: str = "") -> Undone:
    """Take back the changes of one action; taking them back is one action too.

    parts: newest first
    """
    whole: dict[tuple[str, int], list[Change]] = {}
    for change in parts:
        whole.setdefault((change.kind, change.object_id), []).append(change)
    last, count, kept = None, 0, []
    with transaction.atomic(), records.one_action():
        for of_one in whole.values():
            try:
                with transaction.atomic():
                    done = _undo_one(of_one, who)
            except (records.Conflict, records.Gone, ObjectDoesNotExist, ValidationError):
                kept.append(of_one[0])
                continue
            if done:
                count += 1
                last = Change.objects.filter(kind=of_one[0].kind, object_id=of_one[0].object_id).first()
    return Undone(last, count, tuple(kept))


def _undo_one(changes: list[Change], who: str) -> bool:
    """Undo the changes of one record, newest first, and return whether there was anything to undo."""
    record = apps.get_model(changes[0].kind).objects.select_for_update().get(pk=changes[0].object_id)
    into_bin = any(change.action in ("create", "restore") for change in changes)
    if into_bin and record.binned_at is not None:
        return False  # it is gone already
    if into_bin and record.version != changes[0].version:
        raise records.Conflict(record, {})  # somebody worked with it since
    for change in changes:
        records.undo(change, who=who)
    return True

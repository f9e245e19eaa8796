"""Numbers that stood in a row as a file writes them stand there in SI; so do those that undoing a change brings back."""

from collections.abc import Iterator
from typing import Any

from django.db import migrations

from drystow.web.kit.si import COLUMNS, row_in_si

AT_ONCE = 1000
"""Rows that are written together."""


def write_in_si(apps: Any, schema_editor: Any) -> None:
    """Give every quantity as a number, and keep how those of a dryer were written for its form."""
    alias = schema_editor.connection.alias
    for kind, (column, _known) in COLUMNS.items():
        rows = apps.get_model(kind).objects.using(alias)
        for pk, before in list(rows.values_list("pk", column)):
            after = row_in_si(kind, {column: before})[column]
            if after != before:
                rows.filter(pk=pk).update(**{column: after})
                if column == "numbers":
                    _keep_typed(apps, alias, kind, pk, before)
    changes = apps.get_model("site", "Change").objects.using(alias)
    for chunk in _chunks(changes.filter(kind__in=COLUMNS).order_by("pk")):
        for row in chunk:
            row.before, row.after = (row_in_si(row.kind, values) for values in (row.before, row.after))
        changes.bulk_update(chunk, ("before", "after"))


def _keep_typed(apps: Any, alias: str, kind: str, pk: int, numbers: dict[str, Any]) -> None:
    texts = {name: text for name, text in numbers.items() if isinstance(text, str) and name != "words"}
    typed = apps.get_model("site", "Typed").objects.using(alias)
    row, _made = typed.get_or_create(kind=kind, object_id=pk)
    typed.filter(pk=row.pk).update(texts={**texts, **row.texts})


def _chunks(rows: Any) -> Iterator[list[Any]]:
    waiting: list[Any] = []
    for row in rows.iterator(AT_ONCE):
        waiting.append(row)
        if len(waiting) == AT_ONCE:
            yield waiting
            waiting = []
    yield waiting


class Migration(migrations.Migration):
    dependencies = [
        ("data", "0002_restore_mark"),
        ("site", "0009_kitchen"),
        ("dryers", "0004_trap_valve"),
        ("batches", "0010_struck_out"),
        ("plans", "0004_season_uncertain"),
    ]

    operations = [migrations.RunPython(write_in_si, migrations.RunPython.noop)]

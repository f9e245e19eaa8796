"""Undoing a change of a package brings no class of evidence of an earlier version back."""

from importlib import import_module
from typing import Any

from django.db import migrations

AT_ONCE = 1000
"""Rows that are written together."""


def say_that_it_is_older(apps: Any, schema_editor: Any) -> None:
    """Replace each known sentence of an earlier version in the history of packages."""
    basis = import_module("drystow.web.pantry.migrations.0011_evidence_by_limit").BASIS
    changes = apps.get_model("site", "Change").objects.using(schema_editor.connection.alias)
    waiting: list[Any] = []
    for row in changes.filter(kind="pantry.package").order_by("pk").iterator(AT_ONCE):
        found = False
        for values in (row.before, row.after):
            if values.get("basis") in basis:
                values["basis"], found = basis[values["basis"]], True
        if found:
            waiting.append(row)
        if len(waiting) == AT_ONCE:
            changes.bulk_update(waiting, ("before", "after"))
            waiting = []
    changes.bulk_update(waiting, ("before", "after"))


class Migration(migrations.Migration):
    dependencies = [("site", "0010_answer")]

    operations = [migrations.RunPython(say_that_it_is_older, migrations.RunPython.noop)]

"""The history tells what happened in the words of now, and undoing a change of a package brings no sentence of an
earlier version back."""

from importlib import import_module
from typing import Any

from django.db import migrations

HISTORY = {
    # sentence of an earlier version: the same of now
    "a stop to defrost is planned": "a defrost stop is planned",
    "batch to the bin": "batch moved to trash",
    "date worked out again": "date calculated again",
    "dried on": "drying continued",
    "forecasts as the profile says": "forecasts use the dryer’s own numbers",
    "goes in at {start}": "loaded at {start}",
    "goes in frozen at {start}": "loaded frozen at {start}",
    "into the plan: {dryer}": "added to the plan: {dryer}",
    "its photo is lost": "its photo is missing",
    "lots file": "plan file",
    "name of a channel": "sensor name",
    "new channel: {quantity}": "new sensor: {quantity}",
    "new readings came": "new readings",
    "numbers from a test of {day}": "numbers from the test on {day}",
    "on to packing, not known to be dry": "moved on to packing without knowing that it was dry",
    "out of the basket: {food}": "removed from basket: {food}",
    "out of the plan: {dryer}": "removed from the plan: {dryer}",
    "out of the plan: {food}": "removed from the plan: {food}",
    "out of the season: {food}": "removed from the season: {food}",
    "packed without being known to be dry": "packed without knowing that it was dry",
    "packing taken back": "packing undone",
    "plan to the bin": "plan moved to trash",
    "pressures put back": "pressures counted again",
    "pressures struck out": "pressures crossed out",
    "product temperature": "food temperature",
    "put right: its movements did not add up": "corrected: its movements did not add up",
    "sample put back": "sample counted again",
    "sample struck out": "sample crossed out",
    "season to the bin": "season moved to trash",
    "settings of the house": "kitchen settings",
    "the rest is not packed": "the rest won’t be packed",
    "weighing put back": "weighing counted again",
    "weighing struck out": "weighing crossed out",
    "what comes: {food}": "food coming in: {food}",
    "what grows: {food}": "crop: {food}",
}
AT_ONCE = 1000
"""Rows that are written together."""


def of_now(said: Any) -> Any:
    """Return a kept sentence with its pattern, and those of its values, in the words of now."""
    if isinstance(said, dict):
        pattern = said.get("pattern")
        told = said | {"pattern": HISTORY.get(pattern, pattern)} if isinstance(pattern, str) else said
        return {name: of_now(value) for name, value in told.items()}
    return [of_now(value) for value in said] if isinstance(said, list) else said


def say_it_in_the_words_of_now(apps: Any, schema_editor: Any) -> None:
    """Replace each known sentence of an earlier version."""
    # The history tells of packages too, whose sentences are those of that migration; its name is no Python name.
    package = import_module("drystow.web.pantry.migrations.0010_sentences_of_now")
    changes = apps.get_model("site", "Change").objects.using(schema_editor.connection.alias)
    waiting: list[Any] = []
    for row in changes.order_by("pk").iterator(AT_ONCE):
        before = (row.words, row.said, row.before, row.after)
        row.words, row.said = HISTORY.get(row.words, row.words), of_now(row.said)
        if row.kind == "pantry.package":
            row.before, row.after = (_package(values, package) for values in (row.before, row.after))
        if before != (row.words, row.said, row.before, row.after):
            waiting.append(row)
        if len(waiting) == AT_ONCE:
            changes.bulk_update(waiting, ("words", "said", "before", "after"))
            waiting = []
    changes.bulk_update(waiting, ("words", "said", "before", "after"))


def _package(values: dict[str, Any], known: Any) -> dict[str, Any]:
    tables = {"basis": known.BASIS, "limit": known.LIMITS}
    return {name: tables.get(name, {}).get(value, value) if name in tables else value for name, value in values.items()}


class Migration(migrations.Migration):
    dependencies = [("site", "0006_what_was_typed")]

    operations = [migrations.RunPython(say_it_in_the_words_of_now, migrations.RunPython.noop)]

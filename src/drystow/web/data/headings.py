"""Headings of the columns of tables: the names that pages use, each with the unit of its values."""

from django.db.models import Field, Model
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.web.batches.models import Seen
from drystow.web.kit.differences import field_words
from drystow.web.kit.display_names import FIELD_NAMES, column_words, unit_of
from drystow.web.kit.models import Record
from drystow.web.kit.words import in_words

SIGNS = {"m3": "m³", "c": "°C", "pa": "Pa", "kwh": "kWh", "days": "d"}
"""End of a column's name -> sign of its unit where that is written otherwise."""

UNITS = {
    "protein_g": "g", "energy_kcal": "kcal", "energy_kcal_day": "kcal", "protein_g_day": "g",
    "value_per_kg": "1/kg", "oil_hours_limit": "h", "at_ms": "ms",
    **dict.fromkeys(("target_moisture", "residual_moisture", "moisture_sd", "uncertain", "humidity", "chance"), "0–1"),
}  # fmt: skip
"""Unit of a column whose name does not end in it."""

NAMES = {
    "id": msg("Number"),
    "version": msg("Version"),
    "created_at": msg("Created"),
    "changed_at": msg("Changed"),
    "binned_at": msg("Moved to trash"),
    "object_id": msg("Number of the record"),
    "together": msg("Number of the action"),
    "action": msg("Action"),
    "words": msg("What was done"),
    "said": msg("Its sentence in parts"),
    "before": msg("Before"),
    "after": msg("After"),
    "channel": msg("Sensor"),
    "to": msg("Given to"),
    "at_ms": msg("Time since 1970"),
}
"""Columns that no page shows -> their names."""


def heading(model: type[Model], column: str) -> str:
    """Return the heading of a column in the language of the moment.

    column: as the database knows it, also through other tables
    """
    name, _bars, rest = column.partition("__")
    field = next(one for one in model._meta.concrete_fields if name in (one.name, one.attname))
    if rest and field.related_model is not None:
        return _words(model, field) if rest in ("name", "title") else heading(field.related_model, rest)
    words = _("Crossed out") if name == "binned_at" and issubclass(model, Seen) else _words(model, field)
    if field.related_model is not None:
        return _("{what} (number)").format(what=words)
    if name == "food":
        return _("{what} (reference)").format(what=words)
    unit = UNITS.get(name) or SIGNS.get(unit_of(name), unit_of(name))
    return f"{words} ({unit})" if unit else words


def _words(model: type[Model], field: "Field[object, object]") -> str:
    if field.name in NAMES:
        return in_words(NAMES[field.name])
    if issubclass(model, Record):
        return field_words(model, field.name)
    spaced = field.name.replace("_", " ").capitalize()
    return in_words(FIELD_NAMES[spaced]) if spaced in FIELD_NAMES else _(column_words(field.name))

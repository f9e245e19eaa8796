"""What a change did, field by field, in readable words."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from drystow.reports.text import mass_text
from drystow.web.kit.display_names import FIELD_NAMES, KIND_NAMES, column_words
from drystow.web.kit.kept_values import LONGEST, Teller, references
from drystow.web.kit.models import Change, Record
from drystow.web.kit.records import OWN_FIELDS, Conflict, Gone, comment, kind_of
from drystow.web.kit.words import in_words, problem_words

HIDDEN = (*OWN_FIELDS, "binned_at", "entered")
"""Columns that tell a reader nothing; what was typed for a food is told by what it is made of."""
CODES = ("profile",)
"""Columns whose choices have no words of their own."""


@dataclass(frozen=True)
class Difference:
    """One field before and after a change."""

    field: str
    before: str
    after: str


@dataclass(frozen=True)
class ToldChange:
    """A change with its differences in words."""

    change: Change
    words: str
    title: str
    kind: str
    differences: tuple[Difference, ...]


def record_kinds() -> dict[str, type[Record]]:
    """Return every kind of record by its name, such as ``batches.batch``."""
    return {kind_of(model): model for model in apps.get_models() if issubclass(model, Record)}


def kind_words(kind: str) -> str:
    """Return the name of a kind as people read it."""
    model = record_kinds().get(kind)
    if model is None:
        return kind
    return in_words(KIND_NAMES[kind]) if kind in KIND_NAMES else _(str(capfirst(model._meta.verbose_name)))


def title_of(
    values: dict[str, Any],
    number: int,
    model: type[Record] | None = None,
    names: dict[tuple[Any, Any], str] | None = None,
) -> str:
    """Return what a record is called, from its values; without a name of its own, after the records it belongs to."""
    for name in ("title", "name", "lot", "text"):
        if values.get(name):
            return str(values[name])[:LONGEST]
    if model is not None and values.get("kind"):
        return _words(_field(model, "kind"), values["kind"], {}, "us")
    related = (field for field in model._meta.concrete_fields if field.related_model is not None) if model else ()
    owners = ((field.related_model, values.get(field.attname)) for field in related)
    found = [(names or {})[owner] for owner in owners if owner in (names or {})]
    if found:
        return " · ".join(found)[:LONGEST]
    return _("number {number}").format(number=number)


def tell(changes: Iterable[Change], units: str = "us") -> list[ToldChange]:
    """Return changes with the differences of their fields; a few queries for any number of changes.

    units: of the reader
    """
    kinds = record_kinds()
    changes = list(changes)
    known = ((kinds[change.kind], change) for change in changes if change.kind in kinds)
    names = names_of((model, values) for model, change in known for values in (change.before, change.after))
    told = []
    fields_of = {kind: _fields(kinds.get(kind)) for kind in {change.kind for change in changes}}
    for change in changes:
        model, fields = kinds.get(change.kind), fields_of[change.kind]
        rows = tuple(
            Difference(
                fields[name][1] if name in fields else name,
                _words(fields.get(name, (None,))[0], change.before.get(name), names, units),
                _words(fields.get(name, (None,))[0], change.after.get(name), names, units),
            )
            for name in change.after
            if name not in HIDDEN and _differs(change, name)
        )
        title = title_of(change.after or change.before, change.object_id, model, names)
        words = in_words(comment(change)) if change.words else ""
        told.append(ToldChange(change, words, title, kind_words(change.kind), rows))
    return told


def _fields(model: type[Record] | None) -> dict[str, tuple[Any, str]]:
    """Return the fields of a kind by column, each with what people call it."""
    if model is None:
        return {}
    return {field.attname: (field, field_words(model, field.name)) for field in model._meta.concrete_fields}


def _field(model: type[Record], name: str) -> Any:
    """Return a field that a record itself has."""
    return next(field for field in model._meta.concrete_fields if field.name == name)


def field_words(model: type[Record], name: str) -> str:
    """Return what people call a field."""
    field = _field(model, name)
    words = str(capfirst(field.verbose_name))
    return in_words(FIELD_NAMES[words]) if words in FIELD_NAMES else _(column_words(field.name))


def value_words(model: type[Record], name: str, value: Any, units: str) -> str:
    """Return the value of a field, as a snapshot has it, in readable words."""
    field = _field(model, name)
    names = {}
    if field.related_model is not None and value is not None:
        found = field.related_model._default_manager.filter(pk=value).first()
        names = {(field.related_model, value): str(found)} if found is not None else {}
    return _words(field, value, names, units)


def refusal_words(problem: Conflict | Gone, units: str) -> str:
    """Return why a change was refused, each field that somebody else changed with both values as pages show them."""
    if isinstance(problem, Gone) or not problem.fields:
        return problem_words(problem)
    model = type(problem.record)
    apart = "; ".join(
        _("{field}: now “{theirs}”, you wrote “{mine}”").format(
            field=field_words(model, name),
            theirs=value_words(model, name, theirs, units),
            mine=value_words(model, name, mine, units),
        )
        for name, (theirs, mine) in problem.fields.items()
    )
    return _("Someone changed this meanwhile ({apart}); check and save again.").format(apart=apart)


def is_lines(value: Any) -> bool:
    """Return whether a value is a list of foods with their masses, such as the ingredients of a recipe."""
    return isinstance(value, list) and all(isinstance(one, dict) and {"name", "mass_kg"} <= one.keys() for one in value)


def lines_apart(theirs: list[dict[str, Any]], mine: list[dict[str, Any]], units: str) -> list[str]:
    """Return where two lists of foods with masses differ, one sentence for each food; a food may stand twice."""
    said = []
    for name in dict.fromkeys(line["name"] for line in (*theirs, *mine)):
        here, yours = (_masses(lines, name, units) for lines in (theirs, mine))
        values = {"food": name, "theirs": here, "mine": yours}
        if here and yours and here != yours:
            said.append(_("{food}: now {theirs}, yours says {mine}").format_map(values))
        elif here and not yours:
            said.append(_("{food}: now {theirs}, not in yours").format_map(values))
        elif yours and not here:
            said.append(_("{food}: now gone, yours says {mine}").format_map(values))
    return said or [_("the same foods in a different order")]


def _masses(lines: list[dict[str, Any]], name: str, units: str) -> str:
    return " + ".join(mass_text(line["mass_kg"], units) for line in lines if line["name"] == name)


def _differs(change: Change, name: str) -> bool:
    after = change.after.get(name)
    if change.action == "create":
        return after not in (None, "", [], {})
    return bool(change.before.get(name) != after)


def names_of(rows: Iterable[tuple[type[Record], Mapping[str, Any]]]) -> dict[tuple[Any, Any], str]:
    """Return what the records are called that rows belong to or name; one query for each kind of them.

    rows: kinds of record, each with the values of one
    """
    wanted: dict[Any, set[Any]] = defaultdict(set)
    for model, values in rows:
        for field in model._meta.concrete_fields:
            value = values.get(field.attname)
            if field.related_model is not None and value is not None:
                wanted[field.related_model].add(value)
            for other, number in references(field.name, value) if field.related_model is None else ():
                wanted[other].add(number)
    return {
        (model, number): str(record)
        for model, numbers in wanted.items()
        for number, record in model._default_manager.in_bulk(numbers).items()
    }


def _words(field: Any, value: Any, names: dict[tuple[Any, Any], str], units: str) -> str:
    if field is not None and field.related_model is not None and value is not None:
        return names.get((field.related_model, value)) or _("number {number}").format(number=value)
    if field is not None and field.choices and field.name not in CODES and value:
        return in_words(str(dict(field.flatchoices).get(value, value)))
    if is_lines(value) and value:
        return "; ".join(f"{line['name']} {mass_text(line['mass_kg'], units)}" for line in value)
    return Teller(units, names).told(field.name if field is not None else "", value)

"""What Babel does not know of our sources: its extraction methods for Python, records, templates and tables.

Each has the form that `babel.messages.extract` asks of a method.
"""

import ast
import io
import re
import tomllib
from collections.abc import Collection, Iterator, Mapping
from typing import IO, Any

from babel.messages.extract import extract_python
from django.utils.translation.template import templatize

from drystow.web.kit.display_names import FIELD_NAMES, KIND_NAMES, column_words

SPOKEN = "drystow.messages"
MODULES = {
    # module whose functions mark a text: their names
    "django.utils.translation": {"gettext", "gettext_lazy", "gettext_noop", "ngettext", "ngettext_lazy"},
    SPOKEN: {"msg", "msg_many"},
}
MARKERS = set().union(*MODULES.values())
KEYWORDS: dict[str, tuple[int, ...] | None] = {
    name: (1, 2) if name.startswith("n") or name.endswith("_many") else None for name in (*sorted(MARKERS), "_")
}
"""Which arguments of a marking function are texts, as Babel's keywords have it."""

FIELDS = {
    # table of the engine: the fields that pages show
    "packing/containers.toml": ("name",),
    "foods/classes.toml": ("note", "blanch"),
    "foods/relatives.toml": ("note", "blanch"),
    "serving/rehydration.toml": ("how",),
}
OURS = "tools.extraction"
METHODS = [
    ("**/migrations/**.py", "ignore"),
    ("**/models.py", f"{OURS}:records"),
    ("**.py", f"{OURS}:python"),
    ("**.html", f"{OURS}:template"),
    ("**.txt", f"{OURS}:template"),
    *((name, f"{OURS}:table") for name in FIELDS),
]
OPTIONS = {name: {"fields": " ".join(fields)} for name, fields in FIELDS.items()}

NAMED_KINDS = {kind.partition(".")[2] for kind in KIND_NAMES}
Keywords = Collection[str]
Options = Mapping[str, Any]
Found = tuple[int, str | None, str | tuple[str, ...], list[str]]
"""Line, marking function, its texts, remarks to translators: what a method of Babel yields."""


def python(source: IO[bytes], keywords: Keywords, tags: Collection[str], options: Options) -> Iterator[Found]:
    """Yield the texts of marking calls, by whatever name the function was imported and however deep the call stands.

    Babel's own method sees no call inside the second pair of brackets of another, and no choice between two texts.
    """
    tree = ast.parse(source.read())
    markers = {
        alias.asname or alias.name: alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module in MODULES
        for alias in node.names
        if alias.name in keywords
    }
    for call in ast.walk(tree):
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in markers and call.args:
            marker = markers[call.func.id]
            if KEYWORDS[marker]:
                texts = [text for argument in call.args[:2] for text in _written(argument)]
                if len(texts) == 2:
                    yield call.lineno, marker, tuple(texts), []
            else:
                for text in _written(call.args[0]):
                    yield call.lineno, marker, text, []


def _written(argument: ast.expr) -> list[str]:
    """Return the text of an argument, both texts when it chooses between two."""
    if isinstance(argument, ast.IfExp):
        return [*_written(argument.body), *_written(argument.orelse)]
    return [argument.value] if isinstance(argument, ast.Constant) and isinstance(argument.value, str) else []


def records(source: IO[bytes], keywords: Keywords, tags: Collection[str], options: Options) -> Iterator[Found]:
    """Yield what `python` does, and the names of records and of their fields, as the history shows them."""
    code = source.read()
    yield from python(io.BytesIO(code), keywords, tags, options)
    known = {"Record"}
    for model in (node for node in ast.parse(code).body if isinstance(node, ast.ClassDef)):
        if not known & {ast.unparse(base) for base in model.bases}:
            continue
        known.add(model.name)
        fields = [
            part.targets[0].id
            for part in model.body
            if isinstance(part, ast.Assign)
            and isinstance(part.targets[0], ast.Name)
            and isinstance(part.value, ast.Call)
            and ast.unparse(part.value.func).endswith(("Field", "ForeignKey"))
        ]
        if fields:
            kind = (
                [] if model.name.lower() in NAMED_KINDS else [re.sub(r"(?<=[a-z])(?=[A-Z])", " ", model.name).lower()]
            )
            named = {name: name[:1].upper() + name[1:].replace("_", " ") for name in (*kind, *fields)}
            for name, words in named.items():
                if words not in FIELD_NAMES:
                    yield model.lineno, None, column_words(name), []


def template(source: IO[bytes], keywords: Keywords, tags: Collection[str], options: Options) -> Iterator[Found]:
    """Yield the texts of the translate tags: Django turns the template into calls, Babel reads them as Python.

    Values stand in braces, as the `i18n` library of our templates looks them up.
    """
    calls = "\n".join(line.strip() for line in templatize(source.read().decode()).splitlines())
    for line, marker, texts, remarks in extract_python(io.BytesIO(calls.encode()), keywords, tags, options):  # type: ignore[arg-type, misc]
        yield line, marker, _braced(texts) if isinstance(texts, str) else tuple(map(_braced, texts[:2])), remarks


def _braced(text: str) -> str:
    """Return a text as Django writes it for the percent operator with its values in braces."""
    whole = text.replace("{", "{{").replace("}", "}}")
    return re.sub(r"%\((\w+)\)s", r"{\1}", whole).replace("%%", "%")


def table(source: IO[bytes], keywords: Keywords, tags: Collection[str], options: Options) -> Iterator[Found]:
    """Yield the texts of the fields, named in the option `fields`, anywhere in a table; a list there is no text."""
    rows = tomllib.loads(source.read().decode())
    for field in options["fields"].split():
        for text in _in_table(rows, field):
            yield 1, None, text, []


def _in_table(rows: object, field: str) -> list[str]:
    if isinstance(rows, list):
        return [text for row in rows for text in _in_table(row, field)]
    if not isinstance(rows, dict):
        return []
    own = [rows[field]] if isinstance(rows.get(field), str) and rows[field] else []
    return own + [text for row in rows.values() for text in _in_table(row, field)]

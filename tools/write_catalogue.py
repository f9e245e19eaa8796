"""Write the Spanish catalogue: every text that pages mark for translation, and every sentence that the engine says.

Keeps what is translated, adds what is new with an empty translation, drops what is gone, and compiles the catalogue.
``--check`` changes nothing and says what lacks a translation or is stale.
"""

import ast
import re
import struct
import sys
import tomllib
from pathlib import Path

from django.utils.translation.template import templatize

from drystow.days import CLOCK, STYLES, WITH_CLOCK
from drystow.foods.classify import ALLERGENS
from drystow.foods.kinds import relative_rows
from drystow.foods.model import FOOD_CLASSES, PART_WORDS, PARTS
from drystow.properties.suitability import VERDICTS
from drystow.said import EXAMPLE
from drystow.shown import DISPLAY, MEASURES, PATTERNS
from drystow.sources import MARKS, SHORT_MARKS
from drystow.web.site.columns import column_words
from drystow.web.site.display_names import FIELD_NAMES, KIND_NAMES

ENGINE = Path(__file__).parent.parent / "src" / "drystow"
WEB = ENGINE / "web"
TABLES = {
    # file of the engine: the fields that pages show
    "packing/containers.toml": ("name",),
    "foods/classes.toml": ("blanch",),
    "foods/relatives.toml": ("note", "blanch"),
    "serving/rehydration.toml": ("how",),
}
DAY_PATTERNS = {
    *(text for row in STYLES.values() for text in row.values()),
    *(text for _day, text in WITH_CLOCK.values()),
}
LABELS = {row[system][0] for row in DISPLAY.values() for system in ("us", "si")}
WORDS = (
    EXAMPLE,
    CLOCK,
    *sorted(DAY_PATTERNS),
    *PATTERNS,
    *MEASURES,
    *FOOD_CLASSES,
    *relative_rows(),
    *ALLERGENS,
    *(part for part in PARTS if part not in PART_WORDS),
    "sugars",
    "salt",
    *VERDICTS,
    *MARKS.values(),
    *SHORT_MARKS.values(),
)
"""Words of the engine that pages show or offer."""

CATALOGUE = WEB / "locale" / "es" / "LC_MESSAGES" / "django.po"
HEADER = (
    "Content-Type: text/plain; charset=UTF-8\\n",
    "Content-Transfer-Encoding: 8bit\\n",
    "Language: es\\n",
    "Plural-Forms: nplurals=2; plural=(n != 1);\\n",
)
SPOKEN = "drystow.said"
MARKERS = {"gettext", "gettext_lazy", "gettext_noop", "ngettext", "ngettext_lazy"}
STRING = r"""u?('(?:[^'\\]|\\.)*'|"(?:[^"\\]|\\.)*")"""
NAMED_KINDS = {kind.partition(".")[2] for kind in KIND_NAMES}
IN_TEMPLATE = re.compile(rf"\b(?:n?gettext|_)\(\s*{STRING}(?:\s*,\s*{STRING})?")
Message = tuple[str, str]
"""Text, and its plural or nothing."""


def marked() -> list[Message]:
    """Return every marked text, in the order of the files, after the words of the engine."""
    units = sorted(label for label in LABELS if label.isalpha() and len(label) > 3)
    found: dict[str, str] = dict.fromkeys((*WORDS, *units), "")
    for name, fields in TABLES.items():
        table = tomllib.loads((ENGINE / name).read_text(encoding="utf-8"))
        found |= dict.fromkeys((text for field in fields for text in in_table(table, field) if text), "")
    for path in sorted(ENGINE.rglob("*")):
        if path.suffix == ".py":
            pairs = in_code(path.read_text(encoding="utf-8"))
            if path.name == "models.py":
                pairs += model_names(path.read_text(encoding="utf-8"))
        elif path.suffix in (".html", ".txt"):
            pairs = in_template(path.read_text(encoding="utf-8"))
        else:
            continue
        for text, plural in pairs:
            found[text] = found.get(text) or plural
    return list(found.items())


def in_code(source: str) -> list[Message]:
    """Return the texts in calls of gettext and its kin and of say and say_many, by whatever name they were imported."""
    tree = ast.parse(source)
    names, sayers, counters = (
        {
            alias.asname or alias.name
            for node in ast.walk(tree)
            if isinstance(node, ast.ImportFrom) and node.module == module
            for alias in node.names
            if alias.name in markers
        }
        for module, markers in (("django.utils.translation", MARKERS), (SPOKEN, {"say"}), (SPOKEN, {"say_many"}))
    )
    found: list[Message] = []
    for call in ast.walk(tree):
        if not isinstance(call, ast.Call) or not isinstance(call.func, ast.Name) or not call.args:
            continue
        if call.func.id in names:
            texts = [text for argument in call.args[:2] for text in _written(argument)]
            if texts:
                found.append((texts[0], texts[1] if len(texts) > 1 else ""))
        elif call.func.id in sayers:
            found += [(text, "") for text in _written(call.args[0])]
        elif call.func.id in counters:
            found += [(text, "") for argument in call.args[:2] for text in _written(argument)]
    return found


def _written(argument: ast.expr) -> list[str]:
    """Return the text of an argument, both texts when it chooses between two."""
    if isinstance(argument, ast.IfExp):
        return [*_written(argument.body), *_written(argument.orelse)]
    return [argument.value] if isinstance(argument, ast.Constant) and isinstance(argument.value, str) else []


def in_table(table: object, field: str) -> list[str]:
    """Return the texts of a field anywhere in a table of the engine; lists under this name are no texts."""
    if isinstance(table, list):
        return [text for row in table for text in in_table(row, field)]
    if not isinstance(table, dict):
        return []
    own = [table[field]] if isinstance(table.get(field), str) else []
    return own + [text for row in table.values() for text in in_table(row, field)]


def model_names(source: str) -> list[Message]:
    """Return the names of records and their fields, as the history shows them."""
    found: list[Message] = []
    records = {"Record"}
    for model in (node for node in ast.parse(source).body if isinstance(node, ast.ClassDef)):
        if not records & {ast.unparse(base) for base in model.bases}:
            continue
        records.add(model.name)
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
            found += [(column_words(name), "") for name, words in named.items() if words not in FIELD_NAMES]
    return found


def in_template(source: str) -> list[Message]:
    """Return the texts of the translate tags."""
    return [
        (ast.literal_eval(one[1]), ast.literal_eval(one[2]) if one[2] else "")
        for one in IN_TEMPLATE.finditer(templatize(source))
    ]


def read(path: Path = CATALOGUE) -> dict[str, list[str]]:
    """Return the translations of a catalogue: text -> its translation, or its two with a plural."""
    known: dict[str, list[str]] = {}
    for block in path.read_text(encoding="utf-8").split("\n\n")[1:] if path.exists() else ():
        fields: dict[str, str] = {}
        for line in block.splitlines():
            key, _space, value = line.partition(" ")
            fields[key] = ast.literal_eval(value)
        if "msgid" in fields:
            known[fields["msgid"]] = [value for key, value in fields.items() if key.startswith("msgstr")]
    return known


def written(messages: list[Message], known: dict[str, list[str]]) -> str:
    """Return the catalogue as text."""
    blocks = ['msgid ""\nmsgstr ""\n' + "\n".join(f'"{line}"' for line in HEADER)]
    for text, plural in messages:
        lines = [f"msgid {_quoted(text)}"]
        if plural:
            one, many = known.get(text, ["", ""])
            lines += [f"msgid_plural {_quoted(plural)}", f"msgstr[0] {_quoted(one)}", f"msgstr[1] {_quoted(many)}"]
        else:
            lines.append(f"msgstr {_quoted(known.get(text, [''])[0])}")
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks) + "\n"


def compiled(messages: list[Message], known: dict[str, list[str]]) -> bytes:
    """Return the catalogue as the program reads it."""
    pairs = [("", "".join(HEADER).replace("\\n", "\n"))]
    for text, plural in messages:
        if all(known.get(text, [""])):
            pairs.append((f"{text}\0{plural}" if plural else text, "\0".join(known[text])))
    entries = sorted((key.encode(), value.encode()) for key, value in pairs)
    tables, place = [], 28 + 16 * len(entries)
    for column in (0, 1):
        for entry in entries:
            tables += [len(entry[column]), place]
            place += len(entry[column]) + 1
    head = struct.pack("<7I", 0x950412DE, 0, len(entries), 28, 28 + 8 * len(entries), 0, 0)
    texts = b"".join(entry[column] + b"\0" for column in (0, 1) for entry in entries)
    return head + struct.pack(f"<{len(tables)}I", *tables) + texts


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'


def main() -> None:
    """Write or check the catalogue."""
    messages, known = marked(), read()
    missing = [text for text, _plural in messages if not all(known.get(text, [""]))]
    text, binary = written(messages, known), compiled(messages, known)
    machine = CATALOGUE.with_suffix(".mo")
    if "--check" in sys.argv:
        if missing:
            sys.exit("without Spanish: " + "; ".join(missing))
        if CATALOGUE.read_text(encoding="utf-8") != text or machine.read_bytes() != binary:
            sys.exit("the Spanish catalogue is stale: run `python -m tools.write_catalogue` and commit it")
        return
    CATALOGUE.parent.mkdir(parents=True, exist_ok=True)
    CATALOGUE.write_text(text, encoding="utf-8")
    machine.write_bytes(binary)
    print(f"{len(messages)} texts, {len(missing)} without Spanish")


if __name__ == "__main__":
    main()

"""A noun behind a number has a singular too, in every text of the program."""

import ast
import re
from pathlib import Path

from tools.write_catalogue import marked_in

import drystow
from tests.web.reader_units import COUNTED

SOURCE = Path(drystow.__file__).parent
NUMBER = re.compile(rf"\x00 (?:{COUNTED})\b")
"""A place for a number with the plural of a noun behind it."""

NEVER_ONE = {
    "{count} weighings; no change in the last \x00 h": "one weighing has a sentence of its own",
    "{count} weighings; it gained": "one weighing has a sentence of its own",
    "{count} weighings; it lost": "one weighing has a sentence of its own",
    "{hours:g} hours": "more than two, halves too",
    "{count} items are more than": "more than a load may have",
    "more than {most} lines": "a fixed limit",
    "more than {most} packages": "a fixed limit",
    "1 to {most} foods": "a fixed limit",
    "up to {limit} characters": "a fixed limit",
    "can have at most %(count)d characters": "a fixed limit",
    "up to {most} tables": "a fixed limit",
    "printable ASCII characters": "a fixed limit",
    "{count} labels can't be printed at once": "more than a fixed limit",
    "Fewer than {count} readings": "a fixed number",
    "at least {count} pressures": "a fixed number",
    "1 in {count} trays": "a fixed number",
    "1 in %(passes)s trays": "a fixed number",
    "the food covers {covered:.1f} trays": "more than the dryer has",
    "not {written:.1f} days": "more than a day, with a decimal",
    "{low:g} to {high:g} years": "the end of a range",
    "{slow:.1f} to {fast:.1f} times": "the end of a range",
    "{times:.1f} times": "a ratio with a decimal",
    "%(ratio)s times": "a ratio with decimals",
    "{minutes:.0f} minutes": "resting times of the food codes; they are 3 minutes",
    "pay for itself after {years:.1f} years": "with a decimal",
    "'{f}' has {f} characters": "more than a fixed limit",
    "{f} batches, {f} packages, {f} readings": "of ten years",
    "At most %(count)s lines": "a fixed limit",
    "1 to %(most)s dryers": "a fixed limit",
    "up to %(most)s dryers": "a fixed limit",
    "up to %(most)s crops": "a fixed limit",
    "%(members)s runs": "the members of an ensemble, at least 20",
    "after {count} batches": "drawn from the second batch on",
    "%(most_lines)s sensors": "a fixed limit",
}
"""Parts of texts whose number is never one, and why."""


def texts() -> list[tuple[Path, str]]:
    """Return every text with a place for a number that has no singular beside it: of Python and of templates."""
    found = []
    for path in sorted(SOURCE.rglob("*")):
        if path.suffix == ".html":
            found += [
                (path, one) for one, plural in marked_in("template", path.read_text(encoding="utf-8")) if not plural
            ]
        elif path.suffix == ".py":
            tree = ast.parse(path.read_text(encoding="utf-8"))
            paired = {
                id(part)
                for call in ast.walk(tree)
                if isinstance(call, ast.Call)
                and isinstance(call.func, ast.Name)
                and call.func.id in ("msg_many", "ngettext", "ngettext_lazy")
                for part in ast.walk(call)
            }
            docs = {
                id(node.body[0].value)
                for node in ast.walk(tree)
                if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
                and node.body
                and isinstance(node.body[0], ast.Expr)
            }
            for node in ast.walk(tree):
                if id(node) in paired or id(node) in docs:
                    continue
                if isinstance(node, ast.JoinedStr):
                    parts = (one.value if isinstance(one, ast.Constant) else "{f}" for one in node.values)
                    found.append((path, "".join(map(str, parts))))
                elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                    found.append((path, node.value))
    return found


def blank(text: str) -> str:
    """Return a text with every place for a value as one sign."""
    return re.sub(r"\{[a-z_.]*(?::[^{}]*)?\}|%\(\w+\)[sd]", "\x00", text)


def test_a_noun_behind_a_number_has_its_singular() -> None:
    allowed = [blank(text) for text in NEVER_ONE]
    found = []
    for path, text in texts():
        rest = blank(text)
        if not NUMBER.search(rest):
            continue
        for one in allowed:
            rest = rest.replace(one, "")
        if NUMBER.search(rest):
            found.append(f"{path.relative_to(SOURCE)}: {text}")
    assert not found, "use say_many or ngettext:\n" + "\n".join(dict.fromkeys(found))


def test_what_is_never_one_still_stands_somewhere() -> None:
    all_texts = [blank(text) for _path, text in texts()]
    gone = [one for one in NEVER_ONE if not any(blank(one) in text for text in all_texts)]
    assert not gone


def test_a_bare_plural_is_seen() -> None:
    assert NUMBER.search(blank("{count} trays"))
    assert NUMBER.search(blank("%(n)s labels"))
    assert not NUMBER.search(blank("{count} is less"))

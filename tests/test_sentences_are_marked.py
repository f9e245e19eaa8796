"""Every sentence of the engine and the command line is said, so that it has a translation and keeps the voice."""

import ast
import re
from collections.abc import Iterator

from tools.write_catalogue import ENGINE, WEB, marked

HELP = {"Option", "Argument", "Typer", "compile"}
"""Calls whose texts nobody reads on a page: help of the command line, patterns, faults of the program itself."""
FEWEST = 4  # words
FIELD = re.compile(r"\{[^{}]*\}|%\(\w+\)s")
PLAIN = re.compile(r"<\w|\b(SELECT|FROM|WHERE|VALUES)\b|://|[\\^$]|-//")
"""Texts of machines: markup, queries, addresses, patterns."""


def _text(node: ast.AST) -> str | None:
    """Return a literal, the values in it as empty braces."""
    if isinstance(node, ast.JoinedStr):
        return "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values)
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else None


def _called(node: ast.Call) -> str:
    return node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")


def sentences(source: str) -> Iterator[tuple[int, str]]:
    """Yield line and text of each literal that reads as a sentence: four words, and a full stop or a value in it."""
    waiting: list[ast.AST] = [ast.parse(source)]
    while waiting:
        node = waiting.pop()
        text = _text(node)
        if text is not None:
            words = re.findall(r"[A-Za-z']{2,}", FIELD.sub(" ", text))
            whole = text.rstrip().endswith((".", "?", "!")) or FIELD.search(text) or "; " in text
            if len(words) >= FEWEST and whole and not PLAIN.search(text):
                yield node.lineno, text  # type: ignore[attr-defined]
            continue
        if isinstance(node, ast.Assert) or (isinstance(node, ast.Call) and _called(node) in HELP):
            continue
        waiting += [
            part
            for part in ast.iter_child_nodes(node)
            if not (isinstance(part, ast.Expr) and _text(part.value) is not None)  # a docstring
        ]


def test_the_scan_finds_a_sentence_that_was_not_said_wherever_it_stands() -> None:
    told = [
        'raise InputError("mass", "is not a weight at all; write 3 kg")',
        'out.print(f"The run ends {time} later than planned.")',
        'lines.append("Most of it is lost in summer.")',
        'WORDS = {"a": "It is not counted here."}',
        'msg(words if many else other); words = "It takes {time} in hot water."',
    ]
    assert [len(list(sentences(source))) for source in told] == [1] * len(told)
    silent = ['"""What it does, in one sentence."""', 'typer.Option(help="How many of them there are.")', 'x = "a b c"']
    assert [list(sentences(source)) for source in silent] == [[]] * len(silent)


def test_every_sentence_of_the_engine_and_the_command_line_is_said() -> None:
    known = {text for pair in marked() for text in pair}
    found = [
        f"{path.relative_to(ENGINE)}:{line}: {text}"
        for path in sorted(ENGINE.rglob("*.py"))
        if WEB not in path.parents
        for line, text in sentences(path.read_text(encoding="utf-8"))
        if text not in known
    ]
    assert found == []

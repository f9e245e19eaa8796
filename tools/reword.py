"""Change texts that people read, everywhere at once: in code, templates, tables, the catalogue and the tests.

``python -m tools.reword TABLE.tsv`` takes a table with the present text and the better one on each line, as
translators see them (placeholders and all). Code is changed where its syntax tree holds the text (in migrations the
names of choices), templates where Django's own lexer finds it, the catalogue under its key, so that no other word is
touched. In tests a literal is changed when it is the text, or the text with its placeholders filled in. What it
cannot decide is listed.
"""

import ast
import re
import sys
from collections.abc import Iterator
from pathlib import Path

from django.template.base import DebugLexer, Token, TokenType

from tools.extraction import FIELDS, MARKERS
from tools.write_catalogue import ENGINE, Message, catalogue, catalogues, marked, written

ROOT = Path(__file__).parent.parent
WIDTH = 88
PLACEHOLDER = re.compile(r"%\(\w+\)[sd]|\{\w*[^{}]*\}|%%")
TELLING = 12  # letters that a text needs outside its placeholders to be recognised inside a longer literal

Edit = tuple[int, int, str]
"""Begin, end and new text of a place in a file."""


def table(path: Path) -> dict[str, str]:
    """Return present text -> better text."""
    rows = [line.split("\t") for line in path.read_text(encoding="utf-8").splitlines() if line.strip()]
    return {row[0]: row[1] for row in rows}


def literal(text: str, column: int) -> str:
    """Return a text as Python source that begins in a column, broken between words where it is long."""
    quoted = lambda part: '"' + part.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'  # noqa: E731
    if len(text) <= WIDTH:
        return quoted(text)
    parts, rest = [], text
    while len(rest) > WIDTH:
        cut = rest.rfind(" ", 0, WIDTH) + 1 or len(rest)
        parts.append(rest[:cut])
        rest = rest[cut:]
    return f"\n{' ' * column}".join(quoted(part) for part in [*parts, rest] if part)


class _Source:
    """A Python file and the places of its nodes."""

    def __init__(self, path: Path) -> None:
        self.text = path.read_text(encoding="utf-8")
        self.data = self.text.encode()
        self.tree = ast.parse(self.text)
        self.starts = [0]
        for line in self.data.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line))

    def place(self, node: ast.expr) -> tuple[int, int]:
        assert node.end_lineno is not None
        assert node.end_col_offset is not None
        return self.starts[node.lineno - 1] + node.col_offset, self.starts[node.end_lineno - 1] + node.end_col_offset

    def changed(self, edits: list[Edit]) -> str:
        data = self.data
        for begin, end, text in sorted(set(edits), reverse=True):
            data = data[:begin] + text.encode() + data[end:]
        return data.decode()


def in_code(path: Path, better: dict[str, str]) -> str | None:
    """Return the file with the texts of its marking calls changed, nothing where none is."""
    source = _Source(path)
    names = {
        alias.asname or alias.name
        for node in ast.walk(source.tree)
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
        if alias.name in MARKERS
    }
    edits = [
        (*source.place(node), literal(better[node.value], node.col_offset))
        for call in ast.walk(source.tree)
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in names
        for argument in call.args[:2]
        for node in _strings(argument)
        if node.value in better
    ]
    return source.changed(edits) if edits else None


def _strings(argument: ast.expr) -> Iterator[ast.Constant]:
    if isinstance(argument, ast.IfExp):
        yield from _strings(argument.body)
        yield from _strings(argument.orelse)
    elif isinstance(argument, ast.Constant) and isinstance(argument.value, str):
        yield argument


def in_migration(path: Path, better: dict[str, str]) -> str | None:
    """Return the migration with the names of choices changed, which are not in the database, nothing where none is."""
    source = _Source(path)
    edits = [
        (*source.place(pair.elts[1]), literal(better[pair.elts[1].value]))
        for keyword in ast.walk(source.tree)
        if isinstance(keyword, ast.keyword) and keyword.arg == "choices"
        for pair in ast.walk(keyword.value)
        if isinstance(pair, ast.Tuple)
        and isinstance(pair.elts[1], ast.Constant)
        and isinstance(pair.elts[1].value, str)
        and pair.elts[1].value in better
    ]
    return source.changed(edits) if edits else None


def in_template(path: Path, better: dict[str, str]) -> str | None:
    """Return the template with the texts of its translate tags changed, nothing where none is."""
    text = path.read_text(encoding="utf-8")
    edits: list[Edit] = []
    tokens = DebugLexer(text).tokenize()
    number = 0
    while number < len(tokens):
        token = tokens[number]
        if token.token_type in (TokenType.BLOCK, TokenType.VAR):
            if token.token_type == TokenType.BLOCK and re.match(r"blocktrans(late)?\b", token.contents):
                last = next(at for at in range(number, len(tokens)) if tokens[at].contents.startswith("endblocktrans"))
                edits += _block(tokens[number + 1 : last], better, "trimmed" in token.contents.split())
                number = last
            edits += _tag(text, token, better)
        number += 1
    for begin, end, words in sorted(edits, reverse=True):
        text = text[:begin] + words + text[end:]
    return text if edits else None


def _tag(text: str, token: Token, better: dict[str, str]) -> Iterator[Edit]:
    assert token.position is not None
    begin, end = token.position
    for found in re.finditer(r"""(?:translate|trans|_\()\s*("(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*')""", text[begin:end]):
        words = found[1][1:-1]
        if words in better:
            quote = found[1][0]
            new = better[words]
            if quote in new:
                quote = "'" if quote == '"' else '"'
            yield begin + found.start(1), begin + found.end(1), quote + new + quote


def _block(tokens: list[Token], better: dict[str, str], trimmed: bool) -> Iterator[Edit]:
    parts: list[list[Token]] = [[]]
    for token in tokens:
        if token.token_type == TokenType.BLOCK and token.contents.strip() == "plural":
            parts.append([])
        else:
            parts[-1].append(token)
    for part in (part for part in parts if part):
        words = "".join(
            token.contents if token.token_type == TokenType.TEXT else f"{{{token.contents}}}" for token in part
        )
        if trimmed:
            words = " ".join(words.split())
        if words in better:
            assert part[0].position is not None
            assert part[-1].position is not None
            new = re.sub(r"\{(\w+)\}", r"{{ \1 }}", better[words])
            yield part[0].position[0], part[-1].position[1], new


def in_table(path: Path, fields: tuple[str, ...], better: dict[str, str]) -> str | None:
    """Return the table with the texts of some fields changed."""
    text = new = path.read_text(encoding="utf-8")
    for field in fields:
        for old, words in better.items():
            new = new.replace(f'{field} = "{old}"', f'{field} = "{words}"')
    return new if new != text else None


def in_layout(path: Path, better: dict[str, str]) -> str | None:
    """Return the Typst layout with the texts that it looks up changed."""
    text = path.read_text(encoding="utf-8")
    new = re.sub(r'"([^"]*)"', lambda found: f'"{better.get(found[1], found[1])}"', text)
    return new if new != text else None


def in_tests(path: Path, better: dict[str, str], patterns: list[tuple[re.Pattern[str], str]]) -> str | None:
    """Return the test with literals changed that are a text, or hold one with its placeholders filled in."""
    source = _Source(path)
    formatted = {id(part) for node in ast.walk(source.tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    edits: list[Edit] = []
    for node in ast.walk(source.tree):
        if not isinstance(node, ast.Constant) or not isinstance(node.value, str) or id(node) in formatted:
            continue
        old = node.value
        # a word or two in small letters may be a key as well as a text
        new = better.get(old, old) if old.count(" ") > 1 or old[:1].isupper() else old
        if new == old:
            for pattern, words in patterns:
                new = pattern.sub(words, new)
                if new != old:
                    break
        if new != old:
            words = literal(new, node.col_offset)
            edits.append((*source.place(node), f"({words})" if "\n" in words else words))
    return source.changed(edits) if edits else None


def filled_patterns(better: dict[str, str]) -> list[tuple[re.Pattern[str], str]]:
    """Return, longest first, what finds each text with its placeholders filled in, and what to put there."""
    found = []
    for old, new in sorted(better.items(), key=lambda pair: -len(pair[0])):
        names = [_name(mark) for mark in PLACEHOLDER.findall(old) if mark != "%%"]
        if len(PLACEHOLDER.sub("", old)) < TELLING or " " not in old or len(set(names)) != len(names) or "" in names:
            continue
        pieces = PLACEHOLDER.split(old)
        marks = PLACEHOLDER.findall(old)
        pattern = re.escape(pieces[0])
        for mark, piece in zip(marks, pieces[1:], strict=True):
            pattern += ("%" if mark == "%%" else rf"(?P<{_name(mark)}>[^\n]{{1,60}}?)") + re.escape(piece)
        words = re.sub(r"\\", r"\\\\", new)
        words = PLACEHOLDER.sub(lambda mark: "%" if mark[0] == "%%" else rf"\g<{_name(mark[0])}>", words)
        if pieces[-1] == "" and marks and marks[-1] != "%%":
            pattern = pattern.replace("{1,60}?)", "{1,60})", 1) if len(marks) == 1 else pattern
            pattern += r"(?=$|[\n.;,])" if len(marks) > 1 else ""
        if pieces[0] == "" and marks:
            pattern = r"(?<![^\n])" + pattern
        found.append((re.compile(pattern), words))
    return found


def _name(mark: str) -> str:
    inside = re.match(r"%\((\w+)\)|\{(\w*)", mark)
    return (inside[1] or inside[2] or "") if inside else ""


def in_catalogues(better: dict[str, str], messages: list[Message]) -> None:
    """Give every translation its new text; `tools.write_catalogue` then puts the catalogues in order."""
    for language, path in catalogues().items():
        texts = catalogue(language, messages, path)
        for text, plural in messages:
            new, message = better.get(text, text), texts[text]
            if new != text or plural in better:
                string = message.string
                texts.delete(text)
                if new == text or texts.get(new) is None:
                    texts.add((new, better.get(plural, plural)) if plural else new, string)
        path.write_bytes(written(texts))


def main() -> None:
    """Change the texts of a table."""
    better = table(Path(sys.argv[1]))
    before = marked()
    texts = {text for pair in before for text in pair if text}
    gone = [text for text in better if text not in texts]
    patterns = filled_patterns(better)
    places = [(path, in_code(path, better)) for path in sorted(ENGINE.rglob("*.py"))]
    places += [(path, in_template(path, better)) for kind in ("*.html", "*.txt") for path in sorted(ENGINE.rglob(kind))]
    places += [(path, in_migration(path, better)) for path in sorted(ENGINE.rglob("migrations/0*.py"))]
    places += [(path, in_layout(path, better)) for path in sorted(ENGINE.rglob("*.typ"))]
    places += [(ENGINE / name, in_table(ENGINE / name, fields, better)) for name, fields in FIELDS.items()]
    places += [(path, in_tests(path, better, patterns)) for path in sorted((ROOT / "tests").rglob("*.py"))]
    for path, text in places:
        if text is not None:
            path.write_text(text, encoding="utf-8")
    in_catalogues(better, before)
    marked.cache_clear()
    left = {text for pair in marked() for text in pair if text}
    print(f"{sum(text is not None for _path, text in places)} files changed")
    for text in gone:
        print("not in the program:", text)
    for text in better:
        if text in left and text not in better.values():
            print("still there:", text)


if __name__ == "__main__":
    main()

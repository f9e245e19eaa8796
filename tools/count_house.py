"""Count what the structure of ``src`` can be judged by, before and after it is rebuilt.

``python -m tools.count_house [FOLDER]``: FOLDER holds the package ``drystow``, by default ``src`` of this tree. Every
figure is printed with what was counted. Migrations are left out everywhere. Nothing is imported or run: files are read.
"""

import ast
import re
import sys
import tokenize
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parents[1]
SHORT, LONG, WIDE, LONGEST = 40, 500, 120, 10
UNIT = re.compile(r" [A-Za-z°µ%][\w/^²³·°]*")
NO_CODE = {
    *(tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT),
    *(tokenize.ENCODING, tokenize.ENDMARKER),
}
Edges = dict[str, set[str]]


@dataclass
class Module:
    """A file of Python.

    path: relative to the folder that holds the package
    name: dotted
    text: as it stands
    tree: as it is parsed
    """

    path: Path
    name: str
    text: str
    tree: ast.Module = field(repr=False)

    @property
    def lines(self) -> int:
        """Return how many lines it has."""
        return len(self.text.splitlines())


def read(folder: Path) -> list[Module]:
    """Return the modules below a folder, migrations left out."""
    found = []
    for path in sorted(folder.rglob("*.py")):
        here = path.relative_to(folder)
        if "migrations" not in here.parts:
            name = ".".join(here.with_suffix("").parts).removesuffix(".__init__")
            text = path.read_text(encoding="utf-8")
            found.append(Module(here, name, text, ast.parse(text)))
    return found


def imported(module: Module, *, everywhere: bool) -> Iterator[str]:
    """Yield the dotted names that a module imports.

    everywhere: also inside functions and under TYPE_CHECKING, else only what is imported when the module is
    """
    package = module.name if module.path.name == "__init__.py" else module.name.rpartition(".")[0]
    for node in ast.walk(module.tree) if everywhere else module.tree.body:
        if isinstance(node, ast.Import):
            yield from (one.name for one in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package.split(".")[: len(package.split(".")) - node.level + 1] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            yield from (f"{base}.{one.name}" for one in node.names)


def edges_between(modules: Iterable[Module], above: str, *, everywhere: bool) -> Edges:
    """Return which package below `above` imports which other one."""
    modules = list(modules)
    depth = above.count(".") + 2
    packages = {one.name for one in modules if one.path.name == "__init__.py" and one.name.count(".") == depth - 1}
    packages = {name for name in packages if name.startswith(f"{above}.")}
    found: Edges = {name: set() for name in sorted(packages)}
    for module in modules:
        here = ".".join(module.name.split(".")[:depth])
        if here in packages:
            there = {".".join(name.split(".")[:depth]) for name in imported(module, everywhere=everywhere)}
            found[here] |= (there & packages) - {here}
    return found


def circles(edges: Edges) -> list[list[str]]:
    """Return the strongly connected components of more than one name, the largest first."""
    reach = {start: _reached(edges, start) for start in edges}
    left, found = set(edges), []
    while left:
        start = min(left)
        together = {start} | {other for other in reach[start] if start in reach[other]}
        left -= together
        if len(together) > 1:
            found.append(sorted(together))
    return sorted(found, key=lambda one: (-len(one), one))


def _reached(edges: Edges, start: str) -> set[str]:
    found: set[str] = set()
    waiting = [start]
    while waiting:
        for other in edges.get(waiting.pop(), set()) - found:
            found.add(other)
            waiting.append(other)
    return found


def both_ways(edges: Edges) -> list[tuple[str, str]]:
    """Return the pairs that import each other."""
    return sorted((one, other) for one in edges for other in edges[one] if one < other and one in edges[other])


def code_lines(module: Module) -> int:
    """Return how many lines hold code: no blank line, no comment, no string that stands alone such as a docstring."""
    said: set[int] = set()
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str):
            said |= set(range(node.lineno, (node.end_lineno or node.lineno) + 1))
    lines: set[int] = set()
    for token in tokenize.generate_tokens(iter(module.text.splitlines(keepends=True)).__next__):
        if token.type not in NO_CODE:
            lines |= set(range(token.start[0], token.end[0] + 1))
    return len(lines - said)


def classes_by_name(modules: Iterable[Module]) -> dict[str, list[str]]:
    """Return the class names at the top of more than one module, with the modules."""
    found = defaultdict(list)
    for module in modules:
        for node in module.tree.body:
            if isinstance(node, ast.ClassDef):
                found[node.name].append(module.name)
    return {name: where for name, where in sorted(found.items()) if len(where) > 1}


def written_again(module: Module) -> list[int]:
    """Return the lines where a number is written with a unit into data, for the parser of quantities to read again.

    That is an f-string with ``{x!r} kg``, or ``{x:.9g} kg`` as a value in a table.
    """
    into_data = {
        id(part)
        for node in ast.walk(module.tree)
        for value in _values(node)
        for part in ast.walk(value)
        if isinstance(part, ast.JoinedStr)
    }
    return sorted(
        before.lineno
        for node in ast.walk(module.tree)
        if isinstance(node, ast.JoinedStr)
        for before, after in zip(node.values, node.values[1:], strict=False)
        if isinstance(before, ast.FormattedValue) and isinstance(after, ast.Constant)
        if _with_unit(before, str(after.value), id(node) in into_data)
    )


def _with_unit(number: ast.FormattedValue, behind: str, in_data: bool) -> bool:
    exact = number.conversion == ord("r")
    if in_data:
        return (exact or number.format_spec is not None) and UNIT.match(behind) is not None
    return exact and UNIT.fullmatch(behind.removesuffix(" for ")) is not None


def _values(node: ast.AST) -> list[ast.expr]:
    if isinstance(node, ast.Dict):
        return node.values
    if isinstance(node, ast.DictComp):
        return [node.value]
    if isinstance(node, ast.Assign) and any(isinstance(one, ast.Subscript) for one in node.targets):
        return [node.value]
    return []


def subclasses(modules: Iterable[Module], base: str) -> list[str]:
    """Return the classes that stand below a base class, by its name, as module and name."""
    known, found = {base}, {}
    trees = [(module, node) for module in modules for node in ast.walk(module.tree) if isinstance(node, ast.ClassDef)]
    while True:
        more = {
            f"{module.name}.{node.name}": node.name
            for module, node in trees
            if any(_based_on(one) in known for one in node.bases)
        }
        if more == found:
            return sorted(found)
        found = more
        known |= set(found.values())


def _based_on(base: ast.expr) -> str:
    """Return the name of a base class, with or without the types that it is for."""
    named = base.value if isinstance(base, ast.Subscript) else base
    return named.id if isinstance(named, ast.Name) else getattr(named, "attr", "")


def codecs(modules: Iterable[Module]) -> list[str]:
    """Return the functions of the site that make plain data of an answer or an answer of plain data, by their names."""
    return [
        f"{module.name}.{node.name}"
        for module in modules
        for node in ast.walk(module.tree)
        if isinstance(node, ast.FunctionDef) and re.search(r"(^|_)json$|_again$|^from_(json|plain|kept)", node.name)
    ]


def calls(modules: Iterable[Module], name: str) -> list[str]:
    """Return where something is called by this name at the top of a module."""
    return [
        module.name
        for module in modules
        for node in module.tree.body
        for part in ast.walk(node)
        if isinstance(part, ast.Call) and isinstance(part.func, ast.Name) and part.func.id == name
    ]


def between_rows_and_forms(modules: Iterable[Module]) -> list[str]:
    """Return the functions that make by hand what a form shows of a row, or columns of a row of what a form holds."""
    return [
        f"{module.name}.{node.name}"
        for module in modules
        for node in ast.walk(module.tree)
        if isinstance(node, ast.FunctionDef) and re.search(r"_initial$|^_initial$|_values$|^values(_of)?$", node.name)
    ]


def second_sentences(modules: Iterable[Module]) -> list[str]:
    """Return where a record was written and what a person is told is another sentence than that of the history."""
    return [
        f"{module.name}:{node.lineno}"
        for module in modules
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call) and _called(node) == "saved" and len(node.args) > 2
        if not isinstance(node.args[1], ast.Constant)
        if not ((words := ast.unparse(node.args[2])) in ("told", "form.said") or words.isupper())
    ]


def choices_of_post(modules: Iterable[Module]) -> list[str]:
    """Return where a view chooses between what was sent and nothing, to make a form of it."""
    return [
        f"{module.name}:{node.lineno}"
        for module in modules
        for node in ast.walk(module.tree)
        if (isinstance(node, ast.IfExp) and ast.unparse(node.body).startswith("request.POST"))
        or (isinstance(node, ast.BoolOp) and ast.unparse(node) == "request.POST or None")
    ]


def views_to_the_bin(modules: Iterable[Module]) -> list[str]:
    """Return the functions of views that put a record in the bin themselves."""
    return [
        f"{module.name}.{node.name}"
        for module in modules
        if ".views" in module.name
        for node in ast.walk(module.tree)
        if isinstance(node, ast.FunctionDef)
        if any(isinstance(part, ast.Call) and _called(part) == "put_in_bin" for part in ast.walk(node))
    ]


def _called(call: ast.Call) -> str:
    return call.func.id if isinstance(call.func, ast.Name) else getattr(call.func, "attr", "")


def functions(modules: Iterable[Module]) -> list[tuple[int, str]]:
    """Return all functions with their lines, the longest first."""
    found = [
        ((node.end_lineno or node.lineno) - node.lineno + 1, f"{module.name}.{node.name}")
        for module in modules
        for node in ast.walk(module.tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    ]
    return sorted(found, key=lambda one: (-one[0], one[1]))


def wide_lines(folder: Path) -> Counter[str]:
    """Return how many lines of each template are too wide."""
    found: Counter[str] = Counter()
    for path in sorted(folder.rglob("templates/**/*.html")):
        count = sum(len(line) > WIDE for line in path.read_text(encoding="utf-8").splitlines())
        if count:
            found[str(path.relative_to(folder))] = count
    return found


def report(folder: Path) -> Iterator[str]:
    """Yield the lines to print."""
    modules = read(folder)
    site = [one for one in modules if one.name.startswith("drystow.web")]
    for title, everywhere in (("anywhere in a file", True), ("at the top of a file", False)):
        edges = edges_between(modules, "drystow.web", everywhere=everywhere)
        rings, pairs = circles(edges), both_ways(edges)
        yield f"Packages directly in drystow.web, an arrow for each that imports another, {title}:"
        yield f"  {len(edges)} packages, {sum(map(len, edges.values()))} arrows"
        yield f"  circles (strongly connected components of two and more): {len(rings)}"
        yield from (f"    {len(ring)}: {', '.join(_last(name) for name in ring)}" for ring in rings)
        yield f"  pairs that import each other: {len(pairs)}"
        yield from (f"    {_last(one)} - {_last(other)}" for one, other in pairs)
    twice = classes_by_name(modules)
    yield f"Class names at the top of more than one module: {len(twice)}"
    yield from (f"  {name}: {', '.join(where)}" for name, where in twice.items())
    yield f"Files of Python: {len(modules)}"
    yield f"Lines: {sum(one.lines for one in modules)}; of code only (no blank line, comment, docstring): " + str(
        sum(map(code_lines, modules))
    )
    short = [one for one in modules if one.lines < SHORT]
    empty = sum(one.path.name == "__init__.py" for one in short)
    yield f"Files under {SHORT} lines: {len(short)}, {empty} of them __init__.py"
    yield f"Files over {LONG} lines: {sum(one.lines > LONG for one in modules)}; longest: " + ", ".join(
        f"{one.path} {one.lines}" for one in sorted(modules, key=lambda one: -one.lines)[:3]
    )
    wide = wide_lines(folder)
    yield f"Lines of templates over {WIDE} characters: {sum(wide.values())} in {len(wide)} templates"
    again = {one.name: found for one in modules if (found := written_again(one))}
    yield f"Numbers written with a unit, to be parsed again: {sum(map(len, again.values()))} in {len(again)} files"
    yield from (f"  {name}: lines {', '.join(map(str, lines))}" for name, lines in again.items())
    shapes, kinds, tasks = subclasses(site, "Shape"), calls(site, "Kind"), calls(site, "task")
    yield f"Kinds of answers in the one table of answers (calls of Kind): {len(kinds)}: {', '.join(kinds)}"
    yield f"Other kinds of work in the one queue (calls of task): {len(tasks)}: {', '.join(tasks)}"
    yield f"Shapes of kept answers (classes below Shape): {len(shapes)}"
    yield f"Functions to and from plain data (named ..._json, ..._again, from_...): {len(codecs(site))}"
    yield f"Forms of records (below RecordForm): {len(subclasses(site, 'RecordForm'))}"
    for title, places in (
        ("Functions by hand between rows and forms (named ..._initial, ..._values)", between_rows_and_forms(site)),
        ("Records written with two sentences, one in the history and one told", second_sentences(site)),
        ("Choices between request.POST and nothing", choices_of_post(site)),
        ("Views that put something in the bin themselves", views_to_the_bin(site)),
    ):
        yield f"{title}: {len(places)}"
        yield from (f"  {place}" for place in places)
    yield f"Longest functions, of {len(functions(modules))}:"
    yield from (f"  {lines} {name}" for lines, name in functions(modules)[:LONGEST])


def _last(name: str) -> str:
    return name.rpartition(".")[2]


if __name__ == "__main__":
    sys.stdout.writelines(f"{line}\n" for line in report(Path(sys.argv[1]) if sys.argv[1:] else ROOT / "src"))

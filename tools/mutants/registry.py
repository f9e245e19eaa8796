"""Every number of the engine that may be wrong: constants of modules, coefficients of formulas, rows of tables.

Found by reading the files, so that a new one is in the registry without anybody writing it down: a number of a module
that says its unit or its source, a number with two digits or more in a formula, and every number of a table whose rows
say their source. Numbers that steer a solver or a drawing say neither and are not here.
"""

import ast
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

SOURCE = Path(__file__).parents[2] / "src" / "drystow"
ROOMS = (
    "constants.py", "foods", "properties", "freezing", "drying", "machine", "evidence", "packing", "keeping", "serving",
    "costs",
)  # fmt: skip
"""Where physics stands; the rooms after these draw, plan and ask."""

FORMULAS = ("foods", "properties", "freezing", "drying", "machine", "packing", "keeping", "serving")
"""Rooms whose functions are formulas of a source; those of evidence weigh chances."""

WORD_TABLES = ("classify.toml", "names.toml")
"""Tables that read names, not numbers."""

DATA = "# Written by tools/"
"""What a table begins with that a command makes from the food table: data of hundreds of foods, no numbers of ours."""

UNIT = re.compile(r"\[([^\]]*)\]")
TRANSPORT_UNIT = re.compile(r"W/\(m|W/K|kg/\(s Pa|^1/s$|^m/s$|m2/s|Pa m3/s|m3/s|m3/\(m2 s")
TRANSPORT_NAME = re.compile(
    r"permeability|surface|vacuum|\bgas\b|half|\brate\b|oxygen|vapour|vapor$|contact_|^above$|conductance|conductivity|leak|"
    r"pump_speed|freezer_air|freezer_base|covering|diffusivity"
)
WARM_NAME = re.compile(r"temperature|glass|melting|collapse|onset")
WARM_TEXT = re.compile(r"deg[CF]")
SPREAD = re.compile(
    r"spread|error|standard deviation|\bchance\b|\bsd\b|_sd\b|correlation|jitter|repeatability", re.IGNORECASE
)
WRITTEN = re.compile(r"^\s*([-+]?\d[\d.]*(?:e[-+]?\d+)?)(\s*[^\d\s].*)$")
NOT_FORMULA = (
    "check_range",
    "msg",
    "msg_many",
    "InputError",
    "unknown",
    "quantity",
    "between",
    "round",
    "range",
    "say",
)


@dataclass(frozen=True)
class Constant:
    """A number that may be wrong.

    key: what it is called in the page; stays the same when lines move
    file: below src/drystow
    place: keys of a table, or first and last line and column of an expression
    written: as it stands there
    kind: temperature, transport or other; says by how much it is changed
    sort: constant, formula or row
    source: key of the bibliography, or empty
    mark: how the value got here, where its row says so
    spread: whether it says how uncertain another number is
    """

    key: str
    file: str
    place: tuple[Any, ...]
    written: str
    kind: str
    sort: str
    source: str = ""
    mark: str = ""
    spread: bool = False


def registry(root: Path = SOURCE) -> list[Constant]:
    """Return every number that may be wrong, in the order of the rooms; keys are unique.

    root: folder of the engine
    """
    found: list[Constant] = []
    for room in ROOMS:
        place = root / room
        files = sorted(place.rglob("*.py")) + sorted(place.rglob("*.toml")) if place.is_dir() else [place]
        for path in files:
            if path.name in WORD_TABLES or path.read_text(encoding="utf-8").startswith(DATA):
                continue
            found += of_table(path, root) if path.suffix == ".toml" else of_module(path, root)
    seen: dict[str, int] = {}
    for index, constant in enumerate(found):
        seen[constant.key] = seen.get(constant.key, 0) + 1
        if seen[constant.key] > 1:
            found[index] = replace(constant, key=f"{constant.key} ({seen[constant.key]})")
    return found


# ---- modules ---------------------------------------------------------------------------------------------------------
def of_module(path: Path, root: Path) -> Iterator[Constant]:
    """Yield the constants and coefficients of a module.

    path: of the module
    root: folder of the engine
    """
    file, text = path.relative_to(root).as_posix(), path.read_text(encoding="utf-8")
    tree, lines = ast.parse(text), text.splitlines()
    for index, node in enumerate(tree.body):
        if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None:
            said = _said(tree.body, index, lines)
            if UNIT.search(said) or "Source:" in said:
                target = node.targets[0] if isinstance(node, ast.Assign) else node.target
                yield from _assigned(file, target, node.value, said)
    if file.split("/")[0] in FORMULAS:
        functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
        for function in functions:
            said = ast.get_docstring(function) or ""
            if "Source:" in said or function.name.startswith("_") or _is_compiled(function):
                yield from _coefficients(
                    file, function, said if "Source:" in said else _said_by_callers(function, functions)
                )


def _said_by_callers(function: ast.FunctionDef, functions: list[ast.FunctionDef]) -> str:
    """Return what the first function that names its source and uses this one says."""
    for caller in functions:
        said = ast.get_docstring(caller) or ""
        if "Source:" in said and any(
            isinstance(node, ast.Name) and node.id == function.name for node in ast.walk(caller)
        ):
            return said
    return ""


def _said(body: list[ast.stmt], index: int, lines: list[str]) -> str:
    """Return what is said of an assignment: the text below it and the comments in it."""
    node, following = body[index], body[index + 1] if index + 1 < len(body) else None
    below = ""
    if isinstance(following, ast.Expr) and isinstance(following.value, ast.Constant):
        below = following.value.value if isinstance(following.value.value, str) else ""
    comments = [line.split("#", 1)[1] for line in lines[node.lineno - 1 : node.end_lineno] if "#" in line]
    return " ".join([below, *comments]).replace("\n", " ")


def _source_of(said: str) -> str:
    """Return the key of the source that a text names: after "Source:", or at the end of a comment."""
    if "Source:" in said:
        return re.split(r"[\s,;.()]", said.split("Source:", 1)[1].strip(), maxsplit=1)[0]
    last = said.split(";")[-1].strip().split(",")[0]
    return last if re.fullmatch(r"[a-z0-9]+(?:[- ][a-z0-9]+)*", last) else ""


def _assigned(file: str, target: ast.expr, value: ast.expr, said: str) -> Iterator[Constant]:
    units = UNIT.findall(said)
    leaves = list(_leaves(ast.unparse(target), target, value))
    for index, (name, node) in enumerate(leaves):
        unit = units[index] if len(units) == len(leaves) else (units[0] if units else "")
        yield _of_code(file, name, node, unit, _source_of(said), bool(SPREAD.search(f"{name} {said}")), "constant")


NAMELESS = ast.Name("_")


def _leaves(name: str, target: ast.expr, value: ast.expr) -> Iterator[tuple[str, ast.expr]]:
    """Yield the numbers of an assigned value with their names."""
    if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
        for part, its in zip(target.elts, value.elts, strict=True):
            yield from _leaves(ast.unparse(part), part, its)
    elif isinstance(value, ast.Dict):
        for key, its in zip(value.keys, value.values, strict=True):
            yield from _leaves(f"{name} {_label(key)}", NAMELESS, its)
    elif isinstance(value, ast.Tuple | ast.List):
        for index, its in enumerate(value.elts):
            label = _label(its.args[0]) if isinstance(its, ast.Call) and its.args else str(index + 1)
            yield from _leaves(f"{name} {label}", NAMELESS, its)
    elif isinstance(value, ast.Call):
        for its in (*value.args, *(keyword.value for keyword in value.keywords)):
            yield from _leaves(name, NAMELESS, its)
    elif _is_number(value):
        yield name, value


def _label(node: ast.expr | None) -> str:
    if isinstance(node, ast.Call) and node.args:
        return _label(node.args[0])
    return str(node.value) if isinstance(node, ast.Constant) else ast.unparse(node) if node else ""


def _is_number(node: ast.expr) -> bool:
    """Return whether an expression is arithmetic with a number in it, not nought."""
    parts = list(ast.walk(node))
    allowed = (ast.Constant, ast.UnaryOp, ast.BinOp, ast.Name, ast.operator, ast.unaryop, ast.expr_context)
    if not all(isinstance(part, allowed) for part in parts):
        return False
    numbers = [part.value for part in parts if isinstance(part, ast.Constant)]
    return any(
        isinstance(number, int | float) and not isinstance(number, bool) and number != 0 for number in numbers
    ) and all(isinstance(number, int | float) and not isinstance(number, bool) for number in numbers)


def _coefficients(file: str, function: ast.FunctionDef, said: str) -> Iterator[Constant]:
    """Yield the numbers with two digits or more in a formula."""
    skipped: set[int] = set()
    for node in ast.walk(function):
        plain = isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] in NOT_FORMULA
        if plain or isinstance(node, ast.JoinedStr | ast.Raise):
            skipped.update(id(part) for part in ast.walk(node))
    for statement in function.body:
        for node in ast.walk(statement):
            number = isinstance(node, ast.Constant) and isinstance(node.value, float) and id(node) not in skipped
            if number and len(f"{node.value:.15g}".split("e")[0].replace(".", "").strip("-0")) > 1:
                name = f"{function.name}: {ast.unparse(node)}"
                yield _of_code(file, name, node, "", _source_of(said), False, "formula")


def _is_compiled(function: ast.FunctionDef) -> bool:
    return any(ast.unparse(decorator) in ("compiled", "inlined", "spliced") for decorator in function.decorator_list)


def _of_code(file: str, name: str, node: ast.expr, unit: str, source: str, spread: bool, sort: str) -> Constant:
    place = (node.lineno, node.col_offset, node.end_lineno, node.end_col_offset)
    if unit.startswith(("K]", "°C")) or unit == "K":
        kind = "temperature"
    else:
        kind = "transport" if TRANSPORT_UNIT.search(unit) else "other"
    return Constant(
        f"{file} {name}",
        file,
        place,
        ast.unparse(node),
        kind,
        sort,
        source,
        "",
        spread,
    )


# ---- tables ----------------------------------------------------------------------------------------------------------
def of_table(path: Path, root: Path) -> Iterator[Constant]:
    """Yield the numbers of a table, a list of them as one; one that is nought says that there is none.

    path: of the table
    root: folder of the engine
    """
    file = path.relative_to(root).as_posix()
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    for keys, value, row in _numbers(table, (), {}):
        name = ".".join(str(key) for key in keys)
        last = str(keys[-1])
        if WARM_NAME.search(last) or WARM_TEXT.search(str(value)):
            kind = "temperature"
        else:
            kind = "transport" if TRANSPORT_NAME.search(last) else "other"
        yield Constant(
            f"{file} {name}", file, keys, str(value), kind, "row", str(row.get("source", "")), str(row.get("mark", "")),
            bool(SPREAD.search(last)),
        )  # fmt: skip


def _numbers(
    value: Any, keys: tuple[Any, ...], row: dict[str, Any]
) -> Iterator[tuple[tuple[Any, ...], Any, dict[str, Any]]]:
    """Yield every number below a value with its keys and the nearest row that says a source."""
    if isinstance(value, dict):
        row = value if "source" in value or not row else {**row, **value}
        for key, its in value.items():
            yield from _numbers(its, (*keys, key), row)
    elif isinstance(value, list) and value and all(isinstance(its, dict) for its in value):
        for index, its in enumerate(value):
            yield from _numbers(its, (*keys, index), row)
    elif is_numbers(value) and any(value if isinstance(value, list) else [value]):
        yield keys, value, row


def is_numbers(value: Any) -> bool:
    """Return whether a value of a table is a number, a written quantity or a list of numbers.

    value: as read from the table
    """
    if isinstance(value, list):
        return bool(value) and all(is_numbers(its) and not isinstance(its, str) for its in value)
    if isinstance(value, str):
        found = WRITTEN.match(value)
        return bool(found) and float(found[1]) != 0 and len(found[2].strip()) < 20 and "," not in value
    return isinstance(value, int | float) and not isinstance(value, bool)

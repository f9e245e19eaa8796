"""Changing one number inside, before the engine is imported: in the text of a module or in a table as it is read."""

import ast
import importlib.machinery
import sys
import tomllib
import types
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from tools.mutants.registry import SOURCE, WRITTEN, Constant

FACTORS = {"other": 1.3, "transport": 2.0, "temperature": 10.0}
"""By how much a number is changed, up and down: 30%, twice, or so many kelvin."""

READ = tomllib.loads
COMPILED = importlib.machinery.SourceFileLoader.get_code
OURS = ("drystow", "tests")
Change = tuple[Constant, float]
"""A number and how far it goes: 1 up, -1 down, 0 not at all, anything between so much of the way."""


def forget_ours() -> None:
    """Forget every module of the engine and its tests, so that the next import reads them anew."""
    for name in [name for name in sys.modules if name.split(".")[0] in OURS]:
        del sys.modules[name]


def put_in(changes: Iterable[Change]) -> None:
    """Have the engine that is imported after this with these numbers changed and no others; for a process of its own.

    changes: what and how far
    """
    tomllib.loads = READ
    importlib.machinery.SourceFileLoader.get_code = COMPILED  # type: ignore[method-assign]
    modules: dict[str, list[Change]] = {}
    tables: dict[str, list[Change]] = {}
    for constant, way in changes:
        place = tables if constant.file.endswith(".toml") else modules
        place.setdefault(str(SOURCE / constant.file), []).append((constant, way))
    if modules:
        _change_modules(modules)
    if tables:
        _change_tables({Path(file).read_text(encoding="utf-8"): rows for file, rows in tables.items()})


def moved(value: float, kind: str, way: float) -> float:
    """Return a number changed by what its kind says.

    value: before
    kind: temperature, transport or other
    way: 1 up, -1 down, 0 not at all

    >>> moved(10.0, "other", 1.0), moved(10.0, "transport", -1.0), moved(10.0, "temperature", -1.0)
    (13.0, 5.0, 0.0)
    """
    return value + FACTORS[kind] * way if kind == "temperature" else value * FACTORS[kind] ** way


def _whole(before: int, after: float) -> int:
    """Return a changed whole number; a small one goes one step at least."""
    step = 0 if after == before else 1 if after > before else -1
    return round(after) if round(after) != before else before + step


# ---- tables ----------------------------------------------------------------------------------------------------------
def _change_tables(tables: dict[str, list[Change]]) -> None:
    read = READ

    def loads(text: str, **how: Any) -> dict[str, Any]:
        table = read(text, **how)
        for constant, way in tables.get(text, ()):
            place: Any = table
            for key in constant.place[:-1]:
                place = place[key]
            place[constant.place[-1]] = moved_value(place[constant.place[-1]], constant.kind, way)
        return table

    tomllib.loads = loads


def moved_value(value: Any, kind: str, way: float) -> Any:
    """Return a value of a table changed: a number, a written quantity, or every number of a list.

    value: as read from the table
    kind: temperature, transport or other
    way: 1 up, -1 down, 0 not at all

    >>> moved_value("2 inch", "other", 1.0), moved_value([10, 20], "other", 1.0)
    ('2.6 inch', [13, 26])
    >>> moved_value("20 degF", "temperature", 1.0)
    '38 degF'
    """
    if isinstance(value, list):
        return [moved_value(its, kind, way) for its in value]
    if isinstance(value, str):
        found = WRITTEN.match(value)
        if found is None:
            raise ValueError(f"no number in {value!r}")
        degree = 1.8 if kind == "temperature" and "degF" in value else 1.0
        return f"{moved(float(found[1]), kind, way * degree):.9g}{found[2]}"
    return _whole(value, moved(value, kind, way)) if isinstance(value, int) else moved(value, kind, way)


# ---- modules ---------------------------------------------------------------------------------------------------------
def _change_modules(modules: dict[str, list[Change]]) -> None:
    compile_one = COMPILED

    def get_code(loader: importlib.machinery.SourceFileLoader, fullname: str) -> types.CodeType | None:
        path = str(Path(loader.path).resolve())
        if path not in modules:
            return compile_one(loader, fullname)
        tree = _Mover(modules[path]).visit(ast.parse(Path(path).read_text(encoding="utf-8")))
        return compile(ast.fix_missing_locations(tree), loader.path, "exec")

    importlib.machinery.SourceFileLoader.get_code = get_code  # type: ignore[method-assign]


class _Mover(ast.NodeTransformer):
    """Changes the expressions at some places of a module."""

    def __init__(self, changes: list[Change]) -> None:
        self.changes = {constant.place: (constant.kind, way) for constant, way in changes}

    def visit(self, node: ast.AST) -> Any:
        place = tuple(getattr(node, name, None) for name in ("lineno", "col_offset", "end_lineno", "end_col_offset"))
        if place not in self.changes or not isinstance(node, ast.expr):
            return super().visit(node)
        kind, way = self.changes[place]
        if isinstance(node, ast.Constant):
            whole = isinstance(node.value, int)
            after = moved(float(node.value), kind, way)  # type: ignore[arg-type]
            return ast.copy_location(ast.Constant(_whole(node.value, after) if whole else after), node)  # type: ignore[arg-type]
        sign, by = (ast.Add(), FACTORS[kind] * way) if kind == "temperature" else (ast.Mult(), FACTORS[kind] ** way)
        return ast.copy_location(ast.BinOp(node, sign, ast.Constant(by)), node)

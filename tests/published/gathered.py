"""The generators of this folder, found by their names.

`compare_…` holds what Drystow computes against a number from outside the project. `in_step_…` holds a number that the
program carries to the text it was taken from, or two ways through one equation to each other: that keeps what is typed
twice in step, and says nothing about the world.
"""

import importlib
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.published.check import Check


def generators(prefix: str) -> dict[str, Callable[[], Iterator[Check]]]:
    """Return the generators of this folder by module and name.

    prefix: of their names, compare_ or in_step_
    """
    modules = [
        importlib.import_module(f"tests.published.{path.stem}")
        for path in sorted(Path(__file__).parent.glob("check_*.py"))
    ]
    return {
        f"{module.__name__.rpartition('.')[2]}.{name}": function
        for module in modules
        for name, function in sorted(vars(module).items())
        if name.startswith(prefix)
    }


def all_checks() -> Iterator[Check]:
    """Yield every comparison with the outside."""
    for function in generators("compare_").values():
        yield from function()


def definitions() -> Iterator[Check]:
    """Yield every definition that is kept in step."""
    for function in generators("in_step_").values():
        yield from function()

"""Compiled functions, kept on disk between runs.

Numba notices a change in the file of a cached function, but not in the functions and constants that it calls. The cache
therefore lies in a folder named after the content of every file that compiled code is made of: after any change a new
folder is used and old code can never run.
"""

import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import numba
from platformdirs import user_cache_path

PACKAGE = Path(__file__).parent.parent
SOURCES = ("constants.py", "numerics", "properties/water.py", "properties/sorption.py", "freezing", "machine")

Function = TypeVar("Function", bound=Callable[..., Any])


def _fingerprint() -> str:
    digest = hashlib.sha256()
    for name in SOURCES:
        place = PACKAGE / name
        for path in sorted(place.glob("*.py")) if place.is_dir() else [place]:
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def cache_folder() -> Path:
    """Return the folder of compiled code; ``NUMBA_CACHE_DIR`` replaces the user's cache folder."""
    base = os.environ.get("NUMBA_CACHE_DIR")
    return (Path(base) if base else user_cache_path("drystow")) / f"compiled-{_fingerprint()}"


numba.config.CACHE_DIR = str(cache_folder())  # type: ignore[attr-defined]


def compiled(function: Function) -> Function:
    """Return the function compiled on first use; dividing by zero gives infinity, as in NumPy."""
    return numba.njit(cache=True, error_model="numpy")(function)  # type: ignore[return-value]


def inlined(function: Callable[..., Any]) -> Any:
    """Return a plain formula compiled as part of the functions that call it."""
    return numba.njit(error_model="numpy")(function)


def spliced(function: Function) -> Function:
    """Return the function for compiled ones that copy its body: a part of a loop that runs too often to be called.

    Handing arrays to a call costs about as much as a line of arithmetic.
    """
    return numba.njit(error_model="numpy", inline="always")(function)  # type: ignore[return-value]

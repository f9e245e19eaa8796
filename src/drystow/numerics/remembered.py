"""Results that cost seconds, remembered while they are asked for, and worked out once however many threads ask."""

from collections.abc import Callable, Hashable
from threading import Condition
from typing import Any, ParamSpec, TypeVar

from cachetools import LRUCache, cached
from cachetools.keys import hashkey

Arguments = ParamSpec("Arguments")
Result = TypeVar("Result")


def remembered(
    most: int, key: Callable[..., Hashable] = hashkey
) -> Callable[[Callable[Arguments, Result]], Callable[Arguments, Result]]:
    """Return a decorator that keeps the results which a function gave last; the least used one goes first.

    Whoever asks for what another thread works out already waits for it, as `functools.lru_cache` does not: two pages of
    one batch would simulate the same load twice. A function must not ask itself for the same thing.

    most: results that are kept
    key: all that a result rests on; the arguments themselves where they can be hashed
    """
    decorator: Any = cached(LRUCache(most), key=key, condition=Condition())
    kept: Callable[[Callable[Arguments, Result]], Callable[Arguments, Result]] = decorator
    return kept


def by_value(*arguments: Any, **options: Any) -> str:
    """Return a key for arguments that cannot be hashed: everything in them, written out."""
    return repr((arguments, sorted(options.items())))

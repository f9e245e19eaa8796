"""Results that cost seconds, remembered while they are asked for."""

import threading
from collections import OrderedDict
from typing import Generic, TypeVar

Result = TypeVar("Result")


class Memory(Generic[Result]):
    """The results that were used last, each under a text of all that it rests on."""

    def __init__(self, most: int) -> None:
        self.most = most
        self._results: OrderedDict[str, Result] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: str) -> Result | None:
        """Return a result, None when it is not remembered."""
        with self._lock:
            return self._results.get(key)

    def keep(self, key: str, result: Result) -> Result:
        """Remember a result as the last one used, forget the oldest of too many, and return it."""
        with self._lock:
            self._results[key] = result
            self._results.move_to_end(key)
            while len(self._results) > self.most:
                self._results.popitem(last=False)
        return result

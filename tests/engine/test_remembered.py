"""What costs seconds is worked out once, whoever asks, and forgotten when nobody asks for it any more."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from drystow.numerics.remembered import by_value, remembered
from tests.patience import PATIENCE


def test_threads_that_ask_for_the_same_thing_at_once_wait_for_one_of_them() -> None:
    asked, begun, go_on = [], threading.Event(), threading.Event()

    @remembered(4)
    def slow(number: int) -> int:
        asked.append(number)
        begun.set()
        assert go_on.wait(PATIENCE)
        return number * number

    with ThreadPoolExecutor(4) as threads:
        first = threads.submit(slow, 7)
        assert begun.wait(PATIENCE)
        others = [threads.submit(slow, 7) for _ in range(3)]
        go_on.set()
        assert [one.result(PATIENCE) for one in (first, *others)] == [49] * 4
    assert asked == [7]


def test_other_things_do_not_wait() -> None:
    begun, go_on = threading.Event(), threading.Event()

    @remembered(4)
    def slow(number: int) -> int:
        if number == 1:
            begun.set()
            assert go_on.wait(PATIENCE)
        return number

    with ThreadPoolExecutor(2) as threads:
        first = threads.submit(slow, 1)
        assert begun.wait(PATIENCE)
        assert threads.submit(slow, 2).result(PATIENCE) == 2
        go_on.set()
        assert first.result(PATIENCE) == 1


def test_what_failed_is_asked_again() -> None:
    asked = []

    @remembered(4)
    def fails_once(number: int) -> int:
        asked.append(number)
        if len(asked) == 1:
            raise ValueError("not yet")
        return number

    with pytest.raises(ValueError, match="not yet"):
        fails_once(3)
    assert fails_once(3) == 3
    assert asked == [3, 3]


def test_the_least_used_goes_first_and_what_cannot_be_hashed_counts_by_its_value() -> None:
    asked = []

    @remembered(2, by_value)
    def total(numbers: list[int], *, twice: bool = False) -> int:
        asked.append(list(numbers))
        return sum(numbers) * (2 if twice else 1)

    assert (total([1, 2]), total([3]), total([1, 2])) == (3, 3, 3)
    assert total([4], twice=True) == 8  # pushes [3] out
    assert (total([1, 2]), total([3])) == (3, 3)
    assert asked == [[1, 2], [3], [4], [3]]

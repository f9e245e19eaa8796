"""Running checks with some numbers changed, each time in a process of its own that imports the engine anew."""

import doctest
import importlib
import multiprocessing
import os
import pickle
import pkgutil
import select
import signal
import sys
import time
import warnings
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from tools.mutants.change import Change, forget_ours, put_in
from tools.mutants.registry import ROOMS

OUTSIDE, STEPS, EXAMPLES = "compare_", "in_step_", "example "
"""What the names of checks from outside, of definitions in step and of examples in docstrings begin with."""

AT_ONCE = min(2, multiprocessing.cpu_count())
PATIENCE = 600.0
"""Processes side by side, and how long one may take before it counts as hanging [s]."""

ENGINE = "engine"
"""Stands for a function where the engine itself does not even come up."""

REFUSED = ("InputError", "InputErrors")
"""Errors by which the engine itself turns a number down."""


@dataclass(frozen=True)
class Got:
    """What came out of one check.

    name: of the check
    value: what the engine computes
    expected: what it is held against
    room: share of what is allowed that the difference takes up; above 1 it does not hold
    """

    name: str
    value: float
    expected: str
    room: float


@dataclass(frozen=True)
class Outcome:
    """What came out of the checks of some functions.

    got: by function, in the order they ran; a sentence where it failed
    frozen: numbers that compiled functions have built in, by function
    seconds: that each function took
    """

    got: dict[str, list[Got] | str] = field(default_factory=dict)
    frozen: dict[str, Any] = field(default_factory=dict)
    seconds: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Trial:
    """Something to be run.

    changes: to the engine
    functions: to be run, in this order; none: all
    good: names of the checks that hold unchanged; the first outside check of these that fails ends the trial
    frozen: numbers that compiled functions have built in unchanged; where others are found, all is compiled anew
    """

    changes: tuple[Change, ...]
    functions: tuple[str, ...] | None = None
    good: frozenset[str] = frozenset()
    frozen: dict[str, Any] = field(default_factory=dict)


Named = tuple[Any, Trial]
"""A trial with a name of the caller's."""


def run(following: Callable[[], list[Named]], done: Callable[[Any, Outcome], None]) -> None:
    """Run trials, some side by side, until none follows and none runs.

    following: gives the next trials for one process, none when there are none at the moment
    done: told what came out of each; may make others follow
    """
    running: dict[int, tuple[list[Named], int, float, bytearray]] = {}
    while True:
        while len(running) < AT_ONCE and (drawn := following()):
            reader, process = _begin([trial for _name, trial in drawn])
            running[reader] = (drawn, process, time.monotonic(), bytearray())
        if not running:
            return
        for reader in select.select(list(running), [], [], 1.0)[0]:
            part = os.read(reader, 1 << 20)
            running[reader][3].extend(part)
            if not part:
                drawn, process, _begun, answer = running.pop(reader)
                _end(reader, process)
                outcomes = pickle.loads(bytes(answer)) if answer else [Outcome({ENGINE: "ended early"})] * len(drawn)
                for (name, _trial), outcome in zip(drawn, outcomes, strict=True):
                    done(name, outcome)
        for reader, (drawn, process, begun, _answer) in list(running.items()):
            if time.monotonic() - begun > PATIENCE * len(drawn):
                os.kill(process, signal.SIGKILL)
                del running[reader]
                _end(reader, process)
                for name, _trial in drawn:
                    done(name, Outcome({ENGINE: f"no answer in {PATIENCE:.0f} s"}))


def _begin(trials: list[Trial]) -> tuple[int, int]:
    reader, writer = os.pipe()
    process = os.fork()
    if process:
        os.close(writer)
        return reader, process
    os.close(reader)
    with os.fdopen(writer, "wb") as pipe:
        pipe.write(pickle.dumps([_safely(trial) for trial in trials]))
    os._exit(0)


def _safely(trial: Trial) -> Outcome:
    try:
        return outcome_of(trial)
    except BaseException as problem:
        return Outcome({ENGINE: _told(problem)})


def _end(reader: int, process: int) -> None:
    os.close(reader)
    os.waitpid(process, 0)


def _told(problem: BaseException) -> str:
    return f"{type(problem).__name__}: {' '.join(str(problem).split())[:120]}"


def outcome_of(trial: Trial) -> Outcome:
    """Return what comes out of a trial; changes this process for good.

    trial: to be run
    """
    warnings.simplefilter("ignore")
    put_in(trial.changes)
    outcome = Outcome()
    if in_tables(trial):
        forget_what_was_read()
        functions = gathered()
    else:
        forget_ours()
        functions = gathered()
        outcome.frozen.update(built_in())
        if outcome.frozen != trial.frozen:
            compile_anew(trial.frozen)
    for name in trial.functions if trial.functions is not None else functions:
        begun = time.process_time()
        try:
            outcome.got[name] = list(functions[name]())
        except Exception as problem:
            outcome.got[name] = _told(problem)
        outcome.seconds[name] = time.process_time() - begun
        if trial.good and failed(outcome.got[name], trial.good) and is_outside(name):
            break
    return outcome


def unchanged(functions: tuple[str, ...] | None = None) -> Outcome:
    """Return what comes out with nothing changed, in this process, whose children then need not begin from nothing.

    functions: to be run; none: all
    """
    outcome = outcome_of(Trial((), functions))
    outcome.frozen.update(built_in())
    return outcome


def failed(got: list[Got] | str, good: frozenset[str]) -> str:
    """Return which check no longer holds, or what went wrong instead, empty where all hold.

    got: what came out of a function
    good: names of the checks that hold unchanged
    """
    if isinstance(got, str):
        return got
    return next((row.name for row in got if row.name in good and not row.room <= 1.0), "")


def is_outside(name: str) -> bool:
    """Return whether a function compares with the outside.

    name: of the function, with its module
    """
    return name.rpartition(".")[2].startswith(OUTSIDE)


def gathered() -> dict[str, Callable[[], Iterable[Got]]]:
    """Return everything that can be run: checks from outside, definitions in step, examples in docstrings."""
    gathering = importlib.import_module("tests.published.gathered")
    found = {**gathering.generators(OUTSIDE), **gathering.generators(STEPS)}
    checks = {name: lambda function=function: (_got(check) for check in function()) for name, function in found.items()}
    examples = {f"{EXAMPLES}{module.__name__}": lambda module=module: _examples(module) for module in _modules()}
    return {**checks, **examples}


def _got(check: Any) -> Got:
    if isinstance(check.expected, tuple):
        low, high = check.expected
        middle, half = (low + high) / 2, (high - low) / 2
        room = abs(check.got - middle) / half if half < 1e300 else float(not check.holds) * 2
        return Got(check.name, float(check.got), f"{low:.4g} to {high:.4g}", room if check.holds else max(room, 1.001))
    room = check.error / check.tolerance if check.tolerance else float(not check.holds) * 2
    return Got(check.name, float(check.got), f"{check.expected:.5g}", room if check.holds else max(room, 1.001))


def _modules() -> Iterator[Any]:
    for room in ROOMS:
        module = importlib.import_module(f"drystow.{room.removesuffix('.py')}")
        yield module
        for info in pkgutil.walk_packages(getattr(module, "__path__", []), f"{module.__name__}."):
            yield importlib.import_module(info.name)


class _Silent(doctest.DocTestRunner):
    """Counts failures and prints nothing."""

    def report_failure(self, *_: Any) -> None: ...
    def report_unexpected_exception(self, *_: Any) -> None: ...


def _examples(module: Any) -> Iterator[Got]:
    flags = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
    for test in doctest.DocTestFinder(exclude_empty=True).find(module, module.__name__):
        if test.examples:
            bad = _Silent(optionflags=flags, verbose=False).run(test, out=lambda _text: None).failed
            yield Got(f"example of {test.name}", float(bad), "0", 2.0 * bad)


# ---- compiled functions ----------------------------------------------------------------------------------------------
def _dispatchers() -> Iterator[tuple[str, Any]]:
    from numba.core.dispatcher import Dispatcher

    for name, module in sorted(sys.modules.items()):
        if name.split(".")[0] == "drystow":
            for label, member in sorted(vars(module).items()):
                if isinstance(member, Dispatcher):
                    yield f"{name}.{label}", member


def built_in() -> dict[str, Any]:
    """Return the code of every compiled function with the numbers that it takes from its module, as text."""
    found = {}
    for name, dispatcher in _dispatchers():
        function = dispatcher.py_func
        known = {label: function.__globals__.get(label) for label in function.__code__.co_names}
        numbers = {
            label: repr(value)
            for label, value in known.items()
            if not callable(value) and not isinstance(value, type(sys))
        }
        found[name] = (function.__code__.co_code, repr(function.__code__.co_consts), numbers)
    return found


def in_tables(trial: Trial) -> bool:
    """Return whether a trial changes tables only, so that nothing has to be imported anew.

    trial: to be run
    """
    return all(constant.sort == "row" for constant, _way in trial.changes)


def forget_what_was_read() -> None:
    """Empty every memory of the engine, so that tables are read anew; what is compiled stays."""
    for name, module in list(sys.modules.items()):
        if name.split(".")[0] == "drystow":
            for member in list(vars(module).values()):
                if callable(forget := getattr(member, "cache_clear", None)):
                    forget()


def compile_anew(before: dict[str, Any]) -> None:
    """Have the compiled functions that have another number built in compiled anew, and all that call them.

    before: numbers that they have built in unchanged
    """
    from numba.core.caching import NullCache

    now = built_in()
    functions = dict(_dispatchers())
    calls = {name: _called(function.py_func) for name, function in functions.items()}
    stale = {functions[name].py_func for name in functions if now[name] != before.get(name)}
    while True:
        further = {functions[name].py_func for name in functions if calls[name] & stale} - stale
        if not further:
            break
        stale |= further
    for function in functions.values():
        if function.py_func in stale:
            function._cache = NullCache()


def _called(function: Any) -> set[Any]:
    """Return the functions that a compiled one calls, as they are before compiling."""
    known = (function.__globals__.get(label) for label in function.__code__.co_names)
    return {member.py_func for member in known if hasattr(member, "py_func")}


def changed(before: dict[str, list[Got] | str], after: dict[str, list[Got] | str]) -> tuple[str, ...]:
    """Return the functions of which something else came out.

    before: what came out unchanged
    after: what came out with changes
    """
    return tuple(name for name, got in after.items() if name not in before or _differs(before[name], got))


def _differs(was: Sequence[Got] | str, now: Sequence[Got] | str) -> bool:
    if isinstance(was, str) or isinstance(now, str) or len(was) != len(now):
        return was != now
    return any(
        a.name != b.name or not _close(a.value, b.value) or not _close(a.room, b.room)
        for a, b in zip(was, now, strict=True)
    )


def _close(a: float, b: float) -> bool:
    return a == b or abs(a - b) <= 1e-9 * max(abs(a), abs(b)) or (a != a and b != b)

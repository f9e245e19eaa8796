"""Trying every constant: which checks depend on it, and does one of them notice?

First all numbers of a file are moved a little at once: where nothing else comes out of any check, none of them reaches
one. Else each is changed alone, and the quick checks that the file reaches are run. What those do not notice goes on to
the slow ones, which are first looked for by moving half of what is left, half of that half, and so on.
"""

import hashlib
import json
import random
import sys
import time
from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from tools.mutants.registry import SOURCE, Constant
from tools.mutants.trial import (
    ENGINE,
    REFUSED,
    Got,
    Named,
    Outcome,
    Trial,
    changed,
    failed,
    in_tables,
    is_outside,
    run,
    unchanged,
)

HERE = Path(__file__).parents[2]
JOURNALS = HERE / "out" / "mutants"
WAYS = {1.0: "up", -1.0: "down"}
SEED = 20_260
SLOW = 0.15
"""Functions that take longer are slow [s]."""

TOGETHER = 25
"""Quick trials that one process runs after another."""


@dataclass(frozen=True)
class Verdict:
    """What was found of a constant.

    key: of the constant
    written: value that was changed
    verdict: outside, own or untested
    way: up or down, whichever was noticed
    by: the check that noticed, or how near the nearest one came
    """

    key: str
    written: str
    verdict: str
    way: str
    by: str


@dataclass(frozen=True)
class _Unchanged:
    """What comes out with nothing changed."""

    got: dict[str, list[Got] | str]
    frozen: dict[str, object]
    order: tuple[str, ...]
    slow: frozenset[str]
    good: frozenset[str]


@dataclass
class _Tried:
    """What is known of a constant so far."""

    constant: Constant
    own: str = ""
    near: tuple[float, str] = (0.0, "")


@dataclass
class _File:
    """A file under trial: the slow checks that it reaches, and what the quick ones did not notice."""

    slow: tuple[str, ...]
    waits: int
    left: list[_Tried] = field(default_factory=list)


class Campaign:
    """Tries constants and keeps a journal, so that it can be ended and taken up again at any time."""

    def __init__(self, constants: Sequence[Constant], journal: Path | None) -> None:
        self.constants = list(constants)
        self.journal = journal
        self.verdicts: dict[str, Verdict] = {}
        self.waiting: deque[Named] = deque()
        self.files: dict[str, _File] = {}
        self.begun, self.work, self.trials = time.monotonic(), 0.0, 0
        if journal is not None and journal.exists():
            rows = (json.loads(line) for line in journal.read_text(encoding="utf-8").splitlines())
            written = {constant.key: constant.written for constant in constants}
            self.verdicts = {row["key"]: Verdict(**row) for row in rows if written.get(row["key"]) == row["written"]}

    def run(self) -> dict[str, Verdict]:
        """Return the verdict on every constant."""
        before = unchanged()
        broken = [f"{name}: {got}" for name, got in before.got.items() if isinstance(got, str)]
        if broken:
            sys.exit("\n".join(["without any change these checks fail:", *broken]))
        order = sorted(before.got, key=lambda name: (not is_outside(name), before.seconds[name]))
        slow = frozenset(name for name, seconds in before.seconds.items() if seconds > SLOW)
        rows = [row for got in before.got.values() for row in got if isinstance(row, Got)]
        good = frozenset(row.name for row in rows if row.room <= 1.0)
        self.before = _Unchanged(before.got, before.frozen, tuple(order), slow, good)
        left = [constant for constant in self.constants if constant.key not in self.verdicts]
        self._say(f"{len(rows)} checks in {sum(before.seconds.values()):.1f} s; {len(left)} numbers to try")
        files = dict.fromkeys(constant.file for constant in left)
        for file in sorted(files, key=lambda file: not file.endswith(".toml")):  # tables are quick
            self._look([_Tried(constant) for constant in left if constant.file == file], self.before.order, "file")
        run(self._following, self._done)
        return self.verdicts

    def _following(self) -> list[Named]:
        """Return the next trials for one process: quick ones in tables go together."""
        drawn: list[Named] = []
        while self.waiting and len(drawn) < TOGETHER:
            name, trial = self.waiting[0]
            alone = name[0] != "try" or not in_tables(trial) or any(one in self.before.slow for one in name[3])
            if drawn and alone:
                break
            drawn.append(self.waiting.popleft())
            if alone:
                break
        return drawn

    def _done(self, name: tuple[Any, ...], outcome: Outcome) -> None:
        self.work += sum(outcome.seconds.values())
        self.trials += 1
        if self.trials % 200 == 0:
            self._say(f"{self.trials} trials, {len(self.waiting)} waiting, {len(self.verdicts)} numbers through")
        {"file": self._file_done, "part": self._part_done, "try": self._try_done}[name[0]](outcome, *name[1:])

    # ---- which checks depend on it -----------------------------------------------------------------------------------
    def _look(self, tried: list[_Tried], functions: tuple[str, ...], what: str) -> None:
        chance = random.Random(SEED)
        changes = tuple((one.constant, chance.uniform(0.03, 0.10)) for one in tried)
        trial = Trial(changes, functions, frozenset(), self.before.frozen)
        following = ((what, tried, functions), trial)
        self.waiting.append(following) if what == "file" else self.waiting.appendleft(following)

    def _reached(self, outcome: Outcome, functions: tuple[str, ...]) -> tuple[str, ...]:
        return functions if ENGINE in outcome.got else changed(self.before.got, outcome.got)

    def _file_done(self, outcome: Outcome, tried: list[_Tried], functions: tuple[str, ...]) -> None:
        reached = self._reached(outcome, functions)
        quick = tuple(name for name in self.before.order if name in reached and name not in self.before.slow)
        file = tried[0].constant.file
        self.files[file] = _File(tuple(name for name in reached if name in self.before.slow), len(tried))
        for one in reversed(tried):
            if quick:
                self._try(one, 1.0, quick)
            else:
                self._quick_done(one)

    def _quick_done(self, one: _Tried | None, file: str = "") -> None:
        """Note that the quick checks are through with a constant; after the last of a file the slow ones begin."""
        entry = self.files[one.constant.file if one else file]
        entry.waits -= 1
        if one:
            entry.left.append(one)
        if entry.waits == 0 and entry.left:
            if entry.slow:
                self._look(entry.left, entry.slow, "part")
            else:
                self._give_up(entry.left)

    def _part_done(self, outcome: Outcome, tried: list[_Tried], functions: tuple[str, ...]) -> None:
        reached = self._reached(outcome, functions)
        if not reached:
            self._give_up(tried)
        elif len(tried) == 1:
            self._try(tried[0], 1.0, reached)
        else:
            self._look(tried[len(tried) // 2 :], reached, "part")
            self._look(tried[: len(tried) // 2], reached, "part")

    # ---- does one of them notice -------------------------------------------------------------------------------------
    def _try(self, one: _Tried, way: float, functions: tuple[str, ...]) -> None:
        trial = Trial(((one.constant, way),), functions, self.before.good, self.before.frozen)
        self.waiting.appendleft((("try", one, way, functions), trial))

    def _try_done(self, outcome: Outcome, one: _Tried, way: float, functions: tuple[str, ...]) -> None:
        noticed = {name: told for name, got in outcome.got.items() if (told := failed(got, self.before.good))}
        slow = any(name in self.before.slow for name in functions)
        for name, told in noticed.items():
            if is_outside(name) and not told.startswith(REFUSED):
                self._keep(Verdict(one.constant.key, one.constant.written, "outside", WAYS[way], told))
                if not slow:
                    self._quick_done(None, one.constant.file)
                return
            one.own = one.own or told
        one.near = max(one.near, nearest(self.before.got, outcome.got))
        moved = changed(self.before.got, outcome.got)
        if way > 0 and (ENGINE in outcome.got or any(map(is_outside, moved))):
            self._try(one, -way, functions if ENGINE in outcome.got else moved)
        elif slow:
            self._give_up([one])
        else:
            self._quick_done(one)

    def _give_up(self, tried: list[_Tried]) -> None:
        for one in tried:
            verdict = "own" if one.own else "untested"
            near = one.own or one.near[1] or "no check depends on it"
            self._keep(Verdict(one.constant.key, one.constant.written, verdict, "", near))

    def _keep(self, verdict: Verdict) -> None:
        self.verdicts[verdict.key] = verdict
        if self.journal is not None:
            self.journal.parent.mkdir(parents=True, exist_ok=True)
            with self.journal.open("a", encoding="utf-8") as journal:
                journal.write(json.dumps(asdict(verdict), ensure_ascii=False) + "\n")
        done = len(self.verdicts)
        if done % 100 == 0 or done == len(self.constants):
            outside = sum(verdict.verdict == "outside" for verdict in self.verdicts.values())
            self._say(f"{done} of {len(self.constants)}, {outside} noticed from outside")

    def _say(self, words: str) -> None:
        print(f"{time.monotonic() - self.begun:6.0f} s  {words}", file=sys.stderr, flush=True)


def nearest(before: Mapping[str, list[Got] | str], after: Mapping[str, list[Got] | str]) -> tuple[float, str]:
    """Return by how much of what it allows a check from outside moved at most, and which, in words.

    before: what came out unchanged
    after: what came out with a change
    """
    best, words = 0.0, ""
    for name, got in after.items():
        was = before.get(name)
        if not is_outside(name) or isinstance(got, str) or was is None or isinstance(was, str):
            continue
        for a, b in zip(was, got, strict=False):
            if abs(b.room - a.room) > best:
                best = abs(b.room - a.room)
                words = f"nearest: {b.name}, from {a.value:.4g} to {b.value:.4g}, allowed {b.expected}"
    return best, words


TELLING = ("page.py", "standing.py", "reasons.toml", "__main__.py")
"""What only tells what was found."""


def digest() -> str:
    """Return a name for the state of the engine, the checks and what changes them."""
    sha = hashlib.sha256()
    for folder in (SOURCE, HERE / "tests" / "published", HERE / "tools" / "mutants"):
        for path in sorted(folder.rglob("*")):
            apart = {"web", "cli", "reports", "planning", "node_modules", "__pycache__", *TELLING} & set(path.parts)
            if path.suffix in (".py", ".toml", ".gz") and not apart:
                sha.update(path.read_bytes())
    return sha.hexdigest()[:16]

"""Searches for one batch, worked out beside the requests when a person asks for them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from typing_extensions import TypedDict

from drystow.planning.load.best_load import plan_load
from drystow.planning.program.best_program import ProgramWishes, find_program
from drystow.units import kelvin
from drystow.web.batches.models import Batch
from drystow.web.kit.answers import AnswerRecipe, KeptAnswer, Kind, Tell
from drystow.web.plans.batch_adapters import LoadQuestion, ProgramQuestion, basket_of, load_question, program_question
from drystow.web.plans.found import FoundLoad, FoundProgram, found_load, found_program

Found = TypeVar("Found", FoundLoad, FoundProgram)


class FoodWish(TypedDict):
    """What is wished of one food."""

    must: bool
    cut_m: list[float] | None
    value: float


class LoadAsked(TypedDict):
    """What is wished of a load; the foods by the numbers of their items."""

    time_h: float
    share: int
    apart: list[str]
    foods: dict[str, FoodWish]


class ProgramAsked(TypedDict):
    """What is wished of a program."""

    confidence: float
    steps: int
    highest_c: float | None


@dataclass(frozen=True)
class SearchState(Generic[Found]):
    """What is known of a search now.

    row: as last asked for, None when it never was
    current: it was found for the batch as it is
    working: it is being searched, or waits for another search
    tried: simulations so far
    """

    row: KeptAnswer[Found] | None = None
    current: bool = False
    working: bool = False
    tried: int = 0

    @property
    def found(self) -> bool:
        """There is an answer."""
        return self.row is not None and self.row.at is not None

    @property
    def result(self) -> Found | None:
        """What was found, None where the engine refused."""
        return None if self.row is None else self.row.result

    @property
    def broken_off(self) -> bool:
        """It was asked for, and nobody works on it any more."""
        return self.row is not None and self.row.at is None and not self.working


def answer_state(kind: Kind[Found], row: KeptAnswer[Found] | None, fingerprint: str) -> SearchState[Found]:
    """Return what is known of a search.

    row: as it is kept
    fingerprint: of what it would rest on now, empty when the engine refuses that
    """
    if row is None:
        return SearchState()
    tried = kind.task.progress(row.subject)
    current = row.at is not None and row.fingerprint == fingerprint
    return SearchState(row, current, tried is not None, int(tried or 0))


def _batch(pk: int) -> Batch | None:
    """Return a batch for which something can be searched: its run has not begun."""
    rows = Batch.objects.kept().filter(started_at=None).select_related("dryer")
    return rows.filter(pk=pk).first()


def _counted(tell: Tell) -> Callable[[int], None]:
    """Return what the engine tells its simulations to."""
    tried = 0

    def tick(count: int) -> None:
        nonlocal tried
        tried += count
        tell(tried)

    return tick


def _asked_load(pk: int, asked: Mapping[str, Any]) -> LoadQuestion | None:
    batch = _batch(pk)
    return None if batch is None else load_question(batch, asked, basket_of(batch))


def _find_load(question: LoadQuestion, _before: KeptAnswer[FoundLoad] | None, tell: Tell) -> FoundLoad:
    return found_load(question, plan_load(question.counter, known=question.known, tick=_counted(tell)))


def _asked_program(pk: int, asked: Mapping[str, Any]) -> ProgramQuestion | None:
    batch = _batch(pk)
    return None if batch is None else program_question(batch, asked)


def _find_program(question: ProgramQuestion, _before: KeptAnswer[FoundProgram] | None, tell: Tell) -> FoundProgram:
    asked = question.asked
    found = find_program(
        question.load,
        ProgramWishes(
            confidence=asked["confidence"],
            most_steps=asked["steps"],
            highest=None if asked["highest_c"] is None else kelvin(asked["highest_c"]),
        ),
        known=question.known,
        tick=_counted(tell),
    )
    return found_program(question, found)


ROUNDS = 5
BEST_LOAD = Kind("best load", FoundLoad, "minutes", wishes=LoadAsked, tells_refusal=True, rounds=ROUNDS)
"""How to cut what is in the basket of a batch, and what of it goes on which tray."""
BEST_LOAD.worked_out_by(AnswerRecipe(_asked_load, lambda question: question.fingerprint, _find_load))

BEST_PROGRAM = Kind("best program", FoundProgram, "minutes", wishes=ProgramAsked, tells_refusal=True, rounds=ROUNDS)
"""The fastest shelf program of a batch that keeps the limits."""
BEST_PROGRAM.worked_out_by(AnswerRecipe(_asked_program, lambda question: question.fingerprint, _find_program))

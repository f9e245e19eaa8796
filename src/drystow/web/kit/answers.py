"""Answers that are worked out beside the requests and kept until something better is.

A kind of answer is a name, a type of result, and the lane in which its work waits. Whoever works it out says with a
`AnswerRecipe` what it rests on and how it follows from that; everything else is here: asking, keeping, reading again.
What cannot be read, or has another form than results have now, is as if there were none, and is asked for anew.
"""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import UTC, datetime
from typing import Any, Generic, TypeVar

from django.db import transaction
from django.db.models import Model
from django.utils import timezone

from drystow.errors import DrystowError, InputError
from drystow.web.kit.background import Lane, Stopped, task
from drystow.web.kit.codec import Sentence, codec
from drystow.web.kit.models import Answer

Result = TypeVar("Result")
Basis = TypeVar("Basis")
Tell = Callable[[float], None]
"""Notes how far the work is, a share from 0 to 1 or a count; raises `Stopped` when nobody wants it any more."""


@dataclass(frozen=True)
class Problem:
    """Why the engine refused.

    words: what it said
    field: of the file that it speaks of
    page: name of the page on which it is mended, empty: nowhere
    name: of the record that it is about
    pk: number of that record
    """

    words: Sentence
    field: str = ""
    page: str = ""
    name: str = ""
    pk: int | None = None


def problem_of(error: DrystowError) -> Problem:
    """Return a problem as it is kept."""
    return Problem(error.message, error.field) if isinstance(error, InputError) else Problem(str(error))


@dataclass(frozen=True)
class KeptAnswer(Generic[Result]):
    """What is kept of an answer.

    subject: number of the row that it is about
    asked: what a person wished for it, None for kinds without wishes
    fingerprint: hash of all that it rests on
    at: when the work on it began, None: not yet
    result: the answer, None when there is none
    problems: why there is none, or nothing newer
    """

    subject: int
    asked: Any = None
    fingerprint: str = ""
    at: datetime | None = None
    result: Result | None = None
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class AnswerRecipe(Generic[Basis, Result]):
    """How answers of a kind are worked out.

    rests_on: all that an answer about a row rests on, by the row's number and the wishes; None: there is nothing to ask
    mark: hash of that
    work: the answer, from that and what was kept before
    problem: an error of the engine as it is kept, with what it is about
    """

    rests_on: Callable[[int, Any], Basis | None]
    mark: Callable[[Basis], str]
    work: Callable[[Basis, KeptAnswer[Result] | None, Tell], Result]
    problem: Callable[[DrystowError, Basis | None], Problem] = lambda error, _basis: problem_of(error)


class Kind(Generic[Result]):
    """A kind of answer.

    name: as it stands in the database
    result: type of an answer
    lane: how long the work may take
    wishes: type of what a person wishes for it, None for nothing
    tells_refusal: an error in what it rests on is kept too, as a person asked for the answer
    keeps_last: the answer before stays where the engine refuses
    rounds: how often it is worked out again when what it rests on changes meanwhile
    """

    def __init__(
        self,
        name: str,
        result: type[Result],
        lane: Lane,
        *,
        wishes: Any = None,
        tells_refusal: bool = False,
        keeps_last: bool = False,
        rounds: int = 1,
    ) -> None:
        self.name, self.wishes = name, wishes
        self.result: Any = result
        self.tells_refusal, self.keeps_last, self.rounds = tells_refusal, keeps_last, rounds
        self.task = task(name, self.work_out, lane)
        self.recipe: AnswerRecipe[Any, Result] | None = None
        KINDS[name] = self

    def worked_out_by(self, recipe: AnswerRecipe[Any, Result]) -> None:
        """Note how its answers are worked out."""
        self.recipe = recipe

    def kept(self, subject: int, *, lock: bool = False) -> KeptAnswer[Result] | None:
        """Return what is kept about a row, None when nothing is.

        lock: others wait with writing it until the transaction is over
        """
        return self.kept_about([subject], lock=lock).get(subject)

    def kept_about(self, subjects: Iterable[int], *, lock: bool = False) -> dict[int, KeptAnswer[Result]]:
        """Return what is kept about each of several rows."""
        rows = Answer.objects.filter(kind=self.name, subject__in=set(subjects))
        found = {}
        for row in rows.select_for_update() if lock else rows:
            kept, readable = self._read(row)
            if not readable:
                self.task.ask(row.subject)
            if kept is not None:
                found[row.subject] = kept
        return found

    def ask(self, subject: int, asked: Any = None) -> None:
        """Have an answer worked out in the background.

        asked: the wishes, None for those of the last time
        """
        if asked is not None:
            self.wish(subject, asked)
        self.task.ask(subject)

    def wish(self, subject: int, asked: Any) -> None:
        """Write wishes down for an answer; what was found before is gone."""
        self._write(subject, asked=codec(self.wishes).write(asked), fingerprint="", at=None, result="", problems="")

    def keep(self, kept: KeptAnswer[Result]) -> None:
        """Keep an answer in place of what was kept about its row."""
        result = "" if kept.result is None else codec(self.result).write(kept.result)
        problems = codec(tuple[Problem, ...]).write(kept.problems) if kept.problems else ""
        asked = {} if kept.asked is None else {"asked": codec(self.wishes).write(kept.asked)}
        form = self._form(result, problems)
        self._write(
            kept.subject, at=kept.at, fingerprint=kept.fingerprint, form=form, result=result, problems=problems, **asked
        )

    def forget(self) -> None:
        """Take away all that is kept of this kind."""
        Answer.objects.filter(kind=self.name).delete()

    def work_out(self, subject: int) -> KeptAnswer[Result] | None:
        """Work an answer out, now and here, and keep it; None when there is nothing to work out.

        What changes meanwhile counts too: then it is worked out once more, as often as the kind allows.
        """
        done = None
        for _round in range(self.rounds):
            again = self._worked_out(subject, done)
            if again is None or again is done:
                return done
            done = again if again.at is not None else None
        return done

    def _worked_out(self, subject: int, done: KeptAnswer[Result] | None) -> KeptAnswer[Result] | None:
        """Return an answer that was worked out; `done` when nothing changed since, one without a moment when the wishes
        changed meanwhile.
        """
        recipe = self.recipe
        assert recipe is not None
        row = Answer.objects.filter(kind=self.name, subject=subject).first()
        before = None if row is None else self._read(row)[0]
        asked = None if before is None else before.asked
        if self.wishes is not None and asked is None:
            return None
        basis, new = None, KeptAnswer[Result](subject, asked, at=timezone.now())
        try:
            basis = recipe.rests_on(subject, asked)
            if basis is None:
                return None
            new = replace(new, fingerprint=recipe.mark(basis))
            if done is not None and done.fingerprint == new.fingerprint:
                return done
            result = recipe.work(basis, before, lambda progress: self.task.tell(subject, progress))
            new = replace(new, result=result)
        except Stopped:
            return None
        except DrystowError as error:
            if basis is None and not self.tells_refusal:  # as its page tells
                return None
            last = before.result if before is not None and self.keeps_last else None
            problems = tuple(recipe.problem(one, basis) for one in error.problems)
            new = replace(new, result=last, problems=problems)
        with transaction.atomic():
            now = Answer.objects.select_for_update().filter(kind=self.name, subject=subject).first()
            if self.wishes is not None and (now is None or row is None or now.asked != row.asked):
                return replace(new, at=None) if now is not None else None
            self.keep(new)
        return new

    def _write(self, subject: int, **values: Any) -> None:
        Answer.objects.update_or_create(kind=self.name, subject=subject, defaults=values)

    def _read(self, row: Answer) -> tuple[KeptAnswer[Result] | None, bool]:
        """Return what a row keeps, and whether that can be read."""
        nothing = KeptAnswer[Result](row.subject)
        if self.wishes is not None:
            try:
                nothing = replace(nothing, asked=codec(self.wishes).read(row.asked))
            except ValueError:
                return None, True
        if row.at is None:
            return (None if self.wishes is None else nothing), True
        if row.form != self._form(row.result, row.problems):
            return (None if self.wishes is None else nothing), False
        result = codec(self.result).read(row.result) if row.result else None
        problems = codec(tuple[Problem, ...]).read(row.problems) if row.problems else ()
        return replace(nothing, fingerprint=row.fingerprint, at=row.at, result=result, problems=problems), True

    def _form(self, result: str, problems: str) -> str:
        """Return a hash of what results look like, and of what is kept: whatever else stands there is not read."""
        whole = "\n".join((codec(self.result).form, codec(tuple[Problem, ...]).form, result, problems))
        return hashlib.sha256(whole.encode()).hexdigest()


KINDS: dict[str, Kind[Any]] = {}
"""All of them, by name."""


NO_MATTER: dict[str, frozenset[str]] = {
    # how a row is kept, not what it says
    "": frozenset({"version", "created_at", "changed_at"}),
    # what people call it and write about it; where it stands on its way to the package; what it cost and what it gave
    "batches.batch": frozenset(
        {"title", "lot", "notes", "stage", "opened_at", "done_at"}
        | {"energy_kwh", "packaging_cost", "servings", "servings_each"}
    ),
    # what it cost, how it was prepared, and what was weighed for packing
    "batches.item": frozenset({"price", "shop_price", "prepared", "dried_kg", "aside_kg"}),
    # who noted it, and in which words
    "batches.weighing": frozenset({"note", "who", "step_written"}),
    "batches.sample": frozenset({"note", "who"}),
    "batches.pressurerise": frozenset({"note", "who"}),
    "batches.happening": frozenset({"text", "photo"}),
    # its name stands beside what was worked out; its oil; which tests and signals it offers; whether forecasts use what
    # its batches taught, which counts as what is known of it
    "dryers.dryer": frozenset({"name", "notes", "oil_hours_limit", "trap_valve", "use_taught"}),
    # who lives there, and how they read and print
    "site.kitchen": frozenset(
        {"name", "units", "language", "people", "energy_kcal_day", "protein_g_day", "currency", "own_sheet"}
        | {"label_sheet", "paper", "guide_done"}
    ),
    "plans.plan": frozenset({"title", "notes"}),
    "plans.season": frozenset({"title"}),
}
"""Kind of row -> its columns that change no answer."""


def fingerprint(*parts: object) -> str:
    """Return a hash of rows and of other values.

    parts: rows, also in lists or as values of a dictionary, and values whose `repr` says all of them
    """
    return hashlib.sha256("\n".join(_told(part) for part in parts).encode()).hexdigest()


def columns_of(row: Model) -> Iterator[tuple[str, Any]]:
    """Yield the columns of a row that count, with their values."""
    out = NO_MATTER[""] | NO_MATTER.get(row._meta.label_lower, frozenset())
    for field in row._meta.concrete_fields:
        if field.attname not in out:
            yield field.attname, field.to_python(field.value_from_object(row))


def _told(part: object) -> str:
    if isinstance(part, Model):
        return f"{part._meta.label_lower} {_told(dict(columns_of(part)))}"
    if isinstance(part, Mapping):
        return repr(sorted((repr(name), _told(value)) for name, value in part.items()))
    if is_dataclass(part):
        return repr([_told(getattr(part, field.name)) for field in fields(part)])
    if isinstance(part, list | tuple):
        return repr([_told(one) for one in part])
    return part.astimezone(UTC).isoformat() if isinstance(part, datetime) else repr(part)

"""Errors a person can act on: what is wrong, which value, what is allowed, what to try."""

from collections.abc import Iterable
from typing import Any

from drystow.messages import Late, Message, msg

CELSIUS_HINT = msg("is it in °C?")
"""What to try when a temperature in K is far out."""


MOST_SHOWN = 80
"""Signs of an unknown word that its error repeats."""


class DrystowError(Exception):
    """Base of every error that Drystow raises on purpose."""

    @property
    def problems(self) -> "tuple[DrystowError, ...]":
        """Return the single problems: the error itself, unless it gathers several."""
        return (self,)


class InputError(DrystowError):
    """One problem with one field of the input, in one sentence.

    field: dotted name of the field, as the person wrote it (``tray[2].size``)
    message: the whole sentence without the field name
    """

    def __init__(self, field: str, message: str) -> None:
        self.field = _one_line(field)
        self.message = _one_line(message)
        super().__init__(f"{self.field}: {self.message}" if field else self.message)

    @property
    def problems(self) -> "tuple[InputError, ...]":
        """Return the error itself."""
        return (self,)

    def under(self, prefix: str) -> "InputError":
        """Return the same error with its field placed under `prefix`."""
        return InputError(f"{prefix}.{self.field}" if self.field else prefix, self.message)


def _one_line(text: str) -> str:
    """Return a text without line ends and control characters, which a written file can smuggle into a sentence."""
    if isinstance(text, Message):
        values = {name: _one_line(value) if isinstance(value, str) else value for name, value in text.values.items()}
        return text.again(values)
    if isinstance(text, Late):
        return text  # a quantity, which each reader gets in the units of their own
    return "".join(sign if sign.isprintable() else " " for sign in text)


class InputErrors(DrystowError):
    """Several problems found in one input, each an `InputError`."""

    def __init__(self, problems: Iterable[InputError]) -> None:
        self._problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self._problems))

    @property
    def problems(self) -> tuple[InputError, ...]:
        """Return every problem that was found."""
        return self._problems


def check_range(
    name: str, value: Any, low: float, high: float, unit: str, hint: str = "", *, above: bool = False
) -> None:
    """Raise `InputError` when a value (number or array) is not a number between `low` and `high`.

    unit: symbol of the unit, empty for a plain number; or a kind of `drystow.shown`, which comes in the reader's unit
    hint: what to try, a sentence that was said
    above: the low bound itself is not allowed
    """
    if isinstance(value, float | int) and (low < value if above else low <= value) and value <= high:
        return  # the many good numbers, in a tenth of the time
    import numpy as np

    array = np.asarray(value, dtype=float)
    inside = (array > low if above else array >= low) & (array <= high)
    if bool(np.all(inside)):
        return
    worst = float(array.ravel()[int(np.argmin(inside.ravel()))])
    problem = _outside(worst, low, high, unit, above)
    raise InputError(name, msg("{problem}; {hint}", problem=problem, hint=hint) if hint else problem)


def _outside(value: float, low: float, high: float, unit: str, above: bool) -> Message:
    from drystow.shown import DISPLAY, between, quantity  # which reads units, whose errors are here

    if unit in DISPLAY:
        found = quantity(value, unit, short=True)
        if above:
            return msg(
                "{value} is out of range; enter more than {low} and up to {high}",
                value=found,
                low=quantity(low, unit, short=True),
                high=quantity(high, unit, short=True),
            )
        return msg("{value} is out of range; enter {allowed}", value=found, allowed=between(low, high, unit))
    if not unit:
        if above:
            return msg(
                "{value:g} is out of range; use more than {low:g} and at most {high:g}", value=value, low=low, high=high
            )
        return msg("{value:g} is out of range; use {low:g} to {high:g}", value=value, low=low, high=high)
    if above:
        return msg(
            "{value:g} {unit} is out of range; use more than {low:g} and at most {high:g} {unit}",
            value=value,
            low=low,
            high=high,
            unit=unit,
        )
    return msg(
        "{value:g} {unit} is out of range; use {low:g} to {high:g} {unit}", value=value, low=low, high=high, unit=unit
    )


def nearest(word: str, known: Iterable[str], count: int = 3) -> list[str]:
    """Return the known words most like `word`, best first."""
    import difflib

    return difflib.get_close_matches(word, list(known), n=count, cutoff=0.0)


def unknown(field: str, word: str, known: Iterable[str], what: str) -> InputError:
    """Return the error for an unknown name, with the three nearest known ones.

    what: word for the kind of name, one that was said
    """
    word = word if len(word) <= MOST_SHOWN else f"{word[:MOST_SHOWN]}…"
    near = ", ".join(f"'{name}'" for name in nearest(word, known))
    return InputError(
        field, msg("there is no {what} called '{word}'; closest: {near}", what=what, word=word, near=near)
    )

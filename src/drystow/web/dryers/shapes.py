"""What is kept of what the batches of a dryer taught, for answers that cannot be read."""

from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from drystow.errors import InputError
from drystow.evidence.learning.learned import from_json
from drystow.web.kit.answers import Hours, Shape

Three = Annotated[list[float], Field(min_length=3, max_length=3)]


def _joint(data: Any) -> Any:
    try:
        learned = from_json(data)
        spreads = [learned.number(*key)[1] for key in learned.keys]
    except (AttributeError, IndexError, InputError, KeyError, TypeError, ValueError) as problem:
        raise ValueError("not a joint distribution") from problem
    if any(not spread >= 0.0 for spread in spreads) or len(learned.calibrated) != len(learned.keys):
        raise ValueError("not a joint distribution")
    return data


State = Annotated[dict[str, Any], BeforeValidator(_joint)]
"""The joint distribution, as the engine writes it."""
Factor = Annotated[list[float], Field(max_length=0)] | Three


class KeptSuspect(Shape):
    """What may be behind a batch out of line."""

    tray: int
    ratio: float
    words: str
    check: str


class KeptStep(Shape):
    """What one batch taught."""

    print: str
    batch: int
    lot: str
    expected_h: list[Hours]
    took_h: Hours | None
    out_of_line: bool
    contact: Three
    suspects: list[KeptSuspect]


Steps = list[KeptStep]

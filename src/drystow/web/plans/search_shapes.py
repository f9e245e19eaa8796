"""What is kept of the searches for one batch, for answers that cannot be read."""

from typing import Annotated, Any

from pydantic import Field

from drystow.web.kit.answers import Hours, Sentence, Shape
from drystow.web.plans.shapes import KeptSentence, Span


class KeptProblems(Shape):
    """Why the engine refused."""

    problems: Annotated[list[Sentence], Field(min_length=1)]


class FoodWish(Shape):
    """What is wished of one food."""

    must: bool
    cut_m: Annotated[list[float], Field(min_length=2, max_length=2)] | None
    value: float


class LoadAsked(Shape):
    """What is wished of a load."""

    time_h: Hours
    share: int
    apart: list[str]
    foods: dict[str, FoodWish]


class ProgramAsked(Shape):
    """What is wished of a program."""

    confidence: float
    steps: int
    highest_c: float | None


class Ends(Shape):
    """When runs are over."""

    p50: Hours | None
    p80: Hours | None
    p90: Hours | None


class PartFound(Shape):
    """A food on a tray."""

    tray: int
    item: int
    size_m: float
    mass_kg: float
    area_m2: float | None
    p80_h: Hours | None
    too_warm: bool


class LeftFound(KeptSentence):
    """Food that stays in the basket."""

    item: int
    mass_kg: float


class KeptRefusal(Shape):
    """Why a load is not as wished."""

    words: Sentence
    instead: Sentence


class LoadFound(Shape):
    """A load that was found."""

    refusal: KeptRefusal | None
    parts: list[PartFound]
    left: list[LeftFound]
    end_h: Ends
    mass_kg: float
    water_kg: float
    capacity_kg: Annotated[float, Field(gt=0.0)]
    energy_kwh: float
    costs: list[Sentence]
    cautions: list[Sentence]
    notes: list[Sentence]
    runs: int
    members: int


class KeptProgramStep(Shape):
    """A step of a program."""

    shelf_c: float
    hours: Hours | None = None


class WayFound(Shape):
    """A program and what was seen of it."""

    program: list[KeptProgramStep]
    time_h: Hours | None
    end_h: Ends
    energy_kwh: float | None
    kept: float


class Lines(Shape):
    """How far the ice is over its limit."""

    found: list[Span]
    own: list[Span]


class ProgramFound(Shape):
    """A program that was found."""

    safe: bool
    own_safe: bool
    same: bool
    confidence: float
    margin_k: float
    found: WayFound
    own: WayFound
    lines: Lines
    stops: list[Sentence]
    notes: list[Sentence]
    runs: int
    members: int


ASKED: dict[str, Any] = {"load": LoadAsked, "program": ProgramAsked}
FOUND: dict[str, Any] = {"load": LoadFound | KeptProblems, "program": ProgramFound | KeptProblems}
"""By the kind of a search."""

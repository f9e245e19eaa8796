"""What is kept of a plan, for answers that cannot be read."""

from typing import Annotated, Any

from pydantic import Field, model_validator

from drystow.web.kit.answers import Moment, Sentence, Shape, tellable


class KeptSentence(Shape):
    """A sentence with more beside it."""

    text: str

    @model_validator(mode="before")
    @classmethod
    def _tellable(cls, data: Any) -> Any:
        return tellable(data)


class KeptProblem(KeptSentence):
    """Why the engine refused, with the page on which it is mended."""

    page: str = ""
    name: str = ""
    pk: int | None = None


class LotInside(Shape):
    """Food in a batch of a plan."""

    pk: int
    lot: str
    food: str
    trays: int
    mass_kg: float
    frozen: bool
    verdict: str


class BatchMade(Shape):
    """A batch of a plan."""

    row: int
    dryer: str
    start: Moment
    dry: Moment
    end: Moment
    trays: int
    places: int
    electricity_cost: float
    begun: bool
    batch: int | None
    lots: list[LotInside]


class KeptLeftOut(Shape):
    """What is left out of a plan."""

    pk: int
    lot: str
    trays: int
    mass_kg: float
    reason: Sentence
    wished: bool


class KeptLimits(Shape):
    """Until when a lot may be loaded."""

    fridge: Moment
    freezer: Moment | None
    verdict: str


class Named(Shape):
    """A dryer or a lot that a plan rests on."""

    name: str
    what: str
    known: str = ""


class KeptBatchNow(Shape):
    """A batch that a plan rests on."""

    lot: str
    dryer: str
    state: str = ""
    start: Moment
    end: Moment
    filled: dict[str, float] = Field(default_factory=dict)


class Rests(Shape):
    """What a plan rests on."""

    hours: str
    dryers: dict[str, Named]
    lots: dict[str, Named]
    batches: dict[str, KeptBatchNow]
    others: dict[str, KeptBatchNow]


class KeptStop(Shape):
    """When a dryer is not to be had."""

    row: int
    lot: str
    begin: Moment = Field(alias="from")
    to: Moment


class ClockChange(Shape):
    """A day on which clocks are changed."""

    day: Moment
    hours: float


class Bought(Shape):
    """What is to be bought."""

    name: Sentence
    count: int


class KeptChange(Shape):
    """How a plan differs from the one before."""

    moved: int
    added: int
    gone: int
    mass_kg: float


Span = Annotated[list[float], Field(min_length=2, max_length=2)]


class KeptPlan(Shape):
    """A plan that was worked out; without its food where the engine refused from the first time on."""

    form: int
    rests_on: Rests
    problems: list[KeptProblem] = Field(default_factory=list)


class Worked(KeptPlan):
    """A plan with its batches."""

    begin: Moment
    end: Moment
    batches: list[BatchMade]
    left_out: list[KeptLeftOut]
    saved_kg: float
    saved_worth: float
    total_kg: float
    saved_value: float
    total_value: float
    bound: float
    valued: bool
    compared: dict[str, float]
    wishes_met: bool
    home: Annotated[list[list[Span]], Field(min_length=7, max_length=7)]
    stops: list[KeptStop]
    came_frozen: list[int]
    arrivals: dict[str, Moment]
    limits: dict[Annotated[str, Field(pattern=r"^\d+$")], KeptLimits]
    shopping: list[Bought]
    cautions: list[Sentence]
    notes: list[Sentence]
    clock_changes: list[ClockChange]
    change: KeptChange | Annotated[dict[str, Any], Field(max_length=0)] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _whole(self) -> "Worked":
        named = {str(lot.pk) for batch in self.batches for lot in batch.lots}
        if not named <= self.limits.keys() & self.arrivals.keys():
            raise ValueError("food of which nothing is told")
        return self


def made_shape(result: object) -> Any:
    """Return the shape that a plan should have: with its batches, or only why there are none."""
    return KeptPlan if isinstance(result, dict) and "saved_kg" not in result else Worked

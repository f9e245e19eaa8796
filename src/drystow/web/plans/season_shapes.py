"""What is kept of a season tried out, for answers that cannot be read."""

from typing import Annotated

from pydantic import Field

from drystow.web.kit.answers import Moment, Sentence, Shape
from drystow.web.plans.shapes import Problem


class Range(Shape):
    """Over the seasons; what never ends is None."""

    p10: float
    p50: float
    p90: float
    mean: float


class OpenRange(Shape):
    """The same where it may have no end."""

    p10: float | None
    p50: float | None
    p90: float | None
    mean: float | None


class Week(Shape):
    """A week of a choice."""

    begin: Moment
    came_kg: Range
    dried_kg: Range
    lost_kg: Range
    seasons_with_losses: float


class Crop(Shape):
    """A crop of a choice."""

    name: str
    lost_kg: Range


class Pay(Shape):
    """A choice against the first one."""

    more_kg: Range
    more_cost: Range
    price_per_more_kg: float | None
    prices_per_more_kg: OpenRange | None
    value_per_more_kg: float | None
    years_until_paid_back: float | None
    pays: bool


class Choice(Shape):
    """What one choice of dryers comes to."""

    name: str
    dryers: list[str]
    price: float
    years: float
    enough_seasons: int
    dried_kg: Range
    lost_kg: Range
    lost_value: Range
    lost_share: Range
    batches: Range
    running_h: Range
    electricity_kwh: Range
    electricity_cost: Range
    freezer_share: Range
    freezer_full_days: Range
    weeks_with_losses: Range
    cost_per_kg: float | None
    weeks: list[Week]
    crops: list[Crop]
    pay: Pay | None


class Refused(Shape):
    """Why a season cannot be tried."""

    form: int
    problems: Annotated[list[Problem], Field(min_length=1)]


class Tried(Shape):
    """The answer of a season."""

    form: int
    seasons: int
    came_kg: Range
    choices: list[Choice]
    notes: list[Sentence]
    cautions: list[Sentence]
    problems: list[Problem] = Field(default_factory=list)

"""What is kept of a season tried out, for answers that cannot be read."""

from typing import Annotated

from pydantic import Field

from drystow.web.kit.answers import Moment, Sentence, Shape
from drystow.web.plans.shapes import KeptProblem


class KeptRange(Shape):
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


class KeptWeek(Shape):
    """A week of a choice."""

    begin: Moment
    came_kg: KeptRange
    dried_kg: KeptRange
    lost_kg: KeptRange
    seasons_with_losses: float


class KeptCrop(Shape):
    """A crop of a choice."""

    name: str
    lost_kg: KeptRange


class KeptPay(Shape):
    """A choice against the first one."""

    more_kg: KeptRange
    more_cost: KeptRange
    price_per_more_kg: float | None
    prices_per_more_kg: OpenRange | None
    value_per_more_kg: float | None
    years_until_paid_back: float | None
    pays: bool


class KeptChoice(Shape):
    """What one choice of dryers comes to."""

    name: str
    dryers: list[str]
    price: float
    years: float
    enough_seasons: int
    dried_kg: KeptRange
    lost_kg: KeptRange
    lost_value: KeptRange
    lost_share: KeptRange
    batches: KeptRange
    running_h: KeptRange
    electricity_kwh: KeptRange
    electricity_cost: KeptRange
    freezer_share: KeptRange
    freezer_full_days: KeptRange
    weeks_with_losses: KeptRange
    cost_per_kg: float | None
    weeks: list[KeptWeek]
    crops: list[KeptCrop]
    pay: KeptPay | None


class Refused(Shape):
    """Why a season cannot be tried."""

    form: int
    problems: Annotated[list[KeptProblem], Field(min_length=1)]


class KeptTried(Shape):
    """The answer of a season."""

    form: int
    seasons: int
    came_kg: KeptRange
    choices: list[KeptChoice]
    notes: list[Sentence]
    cautions: list[Sentence]
    problems: list[KeptProblem] = Field(default_factory=list)

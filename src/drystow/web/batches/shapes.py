"""What is kept of how dry a batch is and of its forecast, for answers that cannot be read."""

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from drystow.web.kit.answers import Hours, Moment, Sentence, Shape, tellable

Three = Annotated[list[float], Field(min_length=3, max_length=3)]


class KeptEvidence(Shape):
    """One piece of it."""

    kind: str
    pull: float
    text: str

    @model_validator(mode="before")
    @classmethod
    def _tellable(cls, data: Any) -> Any:
        return tellable(data)


class KeptTray(Shape):
    """How dry a tray is."""

    tray: int
    name: Sentence
    verdict: Literal["dry", "nearly", "not_dry", "not_enough_evidence", "contradiction"]
    words: Sentence
    probability_dry: float
    residual_moisture: Three
    water_activity: Three
    wettest_activity: Three | Annotated[list[float], Field(max_length=0)] = Field(default_factory=list)
    wet_piece: Sentence | Annotated[dict[str, Any], Field(max_length=0)] = Field(default_factory=dict)
    target_moisture: float
    more_h: Annotated[list[Hours | None], Field(min_length=2, max_length=2)]
    next_weighing_h: Hours | None
    evidence: list[KeptEvidence]
    notes: list[Sentence]
    moistures: list[float]


class KeptJudged(Shape):
    """How dry a batch is, or why that cannot be told."""

    began_at: Moment | None = None
    unheard: int = 0
    finish_h: Annotated[list[Hours | None], Field(max_length=3)] = Field(default_factory=list)
    trays: list[KeptTray] = Field(default_factory=list)
    problems: list[Sentence] = Field(default_factory=list)

    @model_validator(mode="before")
    @classmethod
    def _something(cls, data: Any) -> Any:
        if not isinstance(data, dict) or not {"trays", "finish_h", "problems"} & data.keys():
            raise ValueError("nothing is told")
        return data


class KeptTotal(Shape):
    """When a run was forecast to be over."""

    p10: Hours | None = None
    p50: Hours | None = None
    p90: Hours | None = None


class ForecastTray(Shape):
    """When a food on a tray was forecast to be dry."""

    tray: int | None = None
    item: int | None = None
    name: str = ""
    dry_end_h: Hours | None = None
    p10: Hours | None = None
    p90: Hours | None = None
    dry_kg: float = 0.0
    solids_kg: float = 0.0


class Forecast(Shape):
    """What was forecast when a run began; nothing before."""

    total_h: KeptTotal | None = None
    energy_kwh: float | None = None
    drying_start_h: Hours | None = None
    trays: list[ForecastTray] = Field(default_factory=list)

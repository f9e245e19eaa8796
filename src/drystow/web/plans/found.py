"""What was found for a batch, as a page reads it from its row."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from drystow.web.kit.words import sentence_again
from drystow.web.plans.models import Search

HOUR = 3600.0


@dataclass(frozen=True)
class Part:
    """A food on a tray.

    tray: number from 1
    item: number of the food in the basket
    size: thickness, diameter or edge [m]
    mass: of it [kg]
    area: of the tray that it covers, None for all that is free [m2]
    sure: by when it is dry in 8 of 10 runs, None when never [s]
    too_warm: its ice gets warmer than its limit in the middle run
    """

    tray: int
    item: int
    size: float
    mass: float
    area: float | None
    sure: float | None
    too_warm: bool


@dataclass(frozen=True)
class Left:
    """Food that stays in the basket.

    item: number of the food
    mass: of it [kg]
    words: why
    """

    item: int
    mass: float
    words: str


@dataclass(frozen=True)
class FoundLoad:
    """A load that was found.

    refusal: why it is not as wished, and what it does instead; empty when it is
    parts: what lies on the trays, from top to bottom
    left: what stays in the basket
    likely: half of the runs are over by then, None when that never is [s]
    sure: 8 of 10 are, None when that never is [s]
    late: 9 of 10 are [s]
    mass: of the food [kg]
    water: in it [kg]
    capacity: ice that the trap takes [kg]
    energy: electricity [J]
    costs: what other choices would cost or save
    cautions: what to mind
    notes: on limits and assumptions
    runs: loads that were tried
    members: runs behind the times
    """

    refusal: tuple[str, ...]
    parts: tuple[Part, ...]
    left: tuple[Left, ...]
    likely: float | None
    sure: float | None
    late: float | None
    mass: float
    water: float
    capacity: float
    energy: float
    costs: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    runs: int
    members: int

    @property
    def share(self) -> int:
        """Ice of what the trap takes, in percent."""
        return round(100 * self.water / self.capacity)


@dataclass(frozen=True)
class ProgramWay:
    """A program and what was seen of it.

    program: steps as a batch keeps them
    time: in the middle run, None when never dry [s]
    sure: 8 of 10 runs are over by then, None when that never is [s]
    energy: electricity of the middle run, None when never dry [J]
    kept: runs of 100 that keep every limit
    line: how far the warmest ice front is over its limit [h, K]
    """

    program: list[dict[str, float | None]]
    time: float | None
    sure: float | None
    energy: float | None
    kept: int
    line: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class FoundProgram:
    """A program that was found, beside the batch's own.

    safe: it keeps the limits as surely as asked for
    own_safe: the batch's own program does
    same: it is the batch's own
    usable: it may take the place of the batch's own: it is safe, or nowhere warmer and better
    asked: runs of 100 that should keep the limits
    margin: distance from the limits [K]
    found: the program
    own: the batch's own
    saved: earlier end, negative for later, None when one of them has none [s]
    stops: why it is not faster
    notes: what to know
    runs: simulations of the search
    members: runs behind the shares
    """

    safe: bool
    own_safe: bool
    same: bool
    usable: bool
    asked: int
    margin: float
    found: ProgramWay
    own: ProgramWay
    saved: float | None
    stops: tuple[str, ...]
    notes: tuple[str, ...]
    runs: int
    members: int


def problems_of(row: Search) -> tuple[str, ...]:
    """Return why the engine refused."""
    return _sentences(row.result.get("problems", ()))


def found_load(row: Search) -> FoundLoad:
    """Return the load that was found."""
    data = row.result
    refusal, end = data["refusal"], data["end_h"]
    return FoundLoad(
        refusal=() if refusal is None else _sentences((refusal["words"], refusal["instead"])),
        parts=tuple(
            Part(
                tray=one["tray"],
                item=one["item"],
                size=one["size_m"],
                mass=one["mass_kg"],
                area=one["area_m2"],
                sure=_seconds(one["p80_h"]),
                too_warm=one["too_warm"],
            )
            for one in data["parts"]
        ),
        left=tuple(Left(one["item"], one["mass_kg"], sentence_again(one)) for one in data["left"]),
        likely=_seconds(end["p50"]),
        sure=_seconds(end["p80"]),
        late=_seconds(end["p90"]),
        mass=data["mass_kg"],
        water=data["water_kg"],
        capacity=data["capacity_kg"],
        energy=data["energy_kwh"] * 3.6e6,
        costs=_sentences(data["costs"]),
        cautions=_sentences(data["cautions"]),
        notes=_sentences(data["notes"]),
        runs=data["runs"],
        members=data["members"],
    )


def found_program(row: Search) -> FoundProgram:
    """Return the program that was found."""
    data = row.result
    found, own = (_way(data[name], data["lines"][name]) for name in ("found", "own"))
    return FoundProgram(
        safe=data["safe"],
        own_safe=data["own_safe"],
        same=data["same"],
        usable=data.get("usable", data["safe"]),
        asked=round(100 * data["confidence"]),
        margin=data["margin_k"],
        found=found,
        own=own,
        saved=None if found.time is None or own.time is None else own.time - found.time,
        stops=_sentences(data["stops"]),
        notes=_sentences(data["notes"]),
        runs=data["runs"],
        members=data["members"],
    )


def _way(data: Mapping[str, Any], line: Iterable[list[float]]) -> ProgramWay:
    return ProgramWay(
        program=data["program"],
        time=_seconds(data["time_h"]),
        sure=_seconds(data["end_h"]["p80"]),
        energy=None if data["energy_kwh"] is None else data["energy_kwh"] * 3.6e6,
        kept=round(100 * data["kept"]),
        line=tuple((at, value) for at, value in line),
    )


def _seconds(hours: float | None) -> float | None:
    return None if hours is None else hours * HOUR


def _sentences(rows: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
    return tuple(sentence_again(row) for row in rows)

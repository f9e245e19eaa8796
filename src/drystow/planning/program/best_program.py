"""The fastest shelf program that keeps the ice cool enough on every tray, in numbers that a household machine takes."""

import math
from dataclasses import dataclass, replace

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError, check_range
from drystow.machine.load import Load
from drystow.machine.profile import Dryer
from drystow.machine.sampling import UNCALIBRATED, Calibration
from drystow.messages import msg
from drystow.planning.program.search import ROUND_TEMPERATURE, Bench, Tick, fill, rounded
from drystow.planning.program.verifying import (
    CONFIDENCES,
    StepLimit,
    Verified,
    Verifier,
    best_of,
    nearest_of,
    notes_of,
    stops_of,
    worst_of,
)

MOST_STEPS = 3
"""Steps that a program has at most unless asked otherwise. Source: drystow-default."""

CONFIDENCE = 0.9
"""Share of the members in which every ice front stays below its limit. Source: drystow-default."""

MARGIN = 1.0
"""Distance that the ice fronts keep from their limits [K]. Source: drystow-default."""

MEMBERS = 100
"""Members of the ensemble that a program is verified with. Source: drystow-default."""


@dataclass(frozen=True)
class ShelfProgram:
    """The program found, beside the one that the load had.

    load: with the program found
    found: that program; where none is safe the load's own, or one at no time warmer that keeps the limits more often
    plain: the one that the load had
    safe: the program found keeps all limits as sure as asked for
    plain_safe: the load's own program does
    confidence: asked for [-]
    margin: asked for [K]
    stops: why it is not faster, of a safe one
    notes: sentences
    runs: simulations of the search
    members: of each ensemble
    """

    load: Load
    found: Verified
    plain: Verified
    safe: bool
    plain_safe: bool
    confidence: float
    margin: float
    stops: tuple[StepLimit, ...]
    notes: tuple[str, ...]
    runs: int
    members: int

    @property
    def worst(self) -> int:
        """Return the number (from 0) of the food whose limit is passed, or that never dries, most often."""
        return worst_of(self.found)

    @property
    def usable(self) -> bool:
        """Return whether the program found may take the place of the load's own: it is another one, and either safe or
        at no time warmer and better.
        """
        return self.found.program != self.plain.program

    @property
    def time_saved(self) -> float:
        """Earlier end of the load than with its own program, negative when later [s]."""
        return self.plain.time - self.found.time

    @property
    def energy_saved(self) -> float:
        """Electricity saved beside the load's own program, negative when it takes more [J]."""
        return self.plain.energy - self.found.energy


@dataclass(frozen=True)
class ProgramWishes:
    """What a program has to keep to.

    confidence: share of the members that has to keep every limit, one of `CONFIDENCES` [-]
    margin: distance that the ice fronts keep from their limits, 0 to 10 [K]
    most_steps: that the program may have, 1 to 4
    highest: warmest set-point; the dryer's own when None [K]
    """

    confidence: float = CONFIDENCE
    margin: float = MARGIN
    most_steps: int = MOST_STEPS
    highest: float | None = None

    def top_for(self, dryer: Dryer) -> int:
        """Return the warmest set-point in steps of `ROUND_TEMPERATURE`; raise `InputError` on an impossible wish."""
        if self.confidence not in CONFIDENCES:
            levels = ", ".join(f"{level:g}" for level in CONFIDENCES)
            words = msg("{value:g} is not possible; choose one of {levels}", value=self.confidence, levels=levels)
            raise InputError("confidence", words)
        check_range("margin", self.margin, 0.0, 10.0, "temperature difference")
        check_range("most_steps", self.most_steps, 1, 4, "")
        warmest = dryer.shelf_highest if self.highest is None else min(self.highest, dryer.shelf_highest)
        check_range("highest", warmest, ZERO_CELSIUS - 20.0, ZERO_CELSIUS + 150.0, "temperature")
        return math.floor((warmest - ZERO_CELSIUS) / ROUND_TEMPERATURE + 1e-6)


def find_program(
    load: Load,
    wishes: ProgramWishes = ProgramWishes(),
    *,
    known: Calibration = UNCALIBRATED,
    members: int = MEMBERS,
    seed: int = 1,
    tick: Tick = lambda _runs: None,
) -> ShelfProgram:
    """Return the fastest shelf program that keeps all limits, beside the load's own program.

    Where none keeps them, nothing warmer than the load's own program is offered.

    A pattern search on the simulation with safety factors gathers the fastest programs for every warmest ice front.
    From the fastest on, each is verified with an ensemble, until one keeps the limits in as many members as asked for;
    that one is made warmer and longer as far as the ensemble allows. What passes a stricter confidence counts too, so
    that a stricter one is never faster.

    load: food, dryer and its own program
    wishes: what the program has to keep to
    known: what earlier batches of the dryer taught
    members: of the ensemble, 20 to 2000
    seed: of the draws; the same seed gives the same program
    tick: called with the number of simulations done, for a progress bar
    """
    top = wishes.top_for(load.rig.dryer)
    check_range("members", members, 20, 2000, "")
    confidence, margin, most_steps = wishes.confidence, wishes.margin, wishes.most_steps
    bench, verifier = Bench(load, known), Verifier(load, margin, members, seed, tick, known)
    own = bench.outcome(load.rig.program)
    begin = rounded(load.rig.program, top)
    fill(bench, begin, most_steps, top, tick)
    plain = verifier.verified(load.rig.program, own)
    plain_safe = verifier.passes(load.rig.program, own, confidence)
    strict = [level for level in CONFIDENCES if level >= confidence]
    passing = [one for level in strict for one in best_of(bench, verifier, level, most_steps, top)]
    passing += [plain] if plain_safe else []
    found = min(passing, key=lambda one: (one.time, len(one.program))) if passing else plain
    if not passing:
        found = nearest_of(bench, verifier, plain, begin)
    return ShelfProgram(
        load=replace(load, rig=replace(load.rig, program=found.program)),
        found=found,
        plain=plain,
        safe=bool(passing),
        plain_safe=plain_safe,
        confidence=confidence,
        margin=margin,
        stops=stops_of(bench, verifier, found, confidence, top) if passing else (),
        notes=notes_of(load, found, plain, bool(passing), plain_safe),
        runs=bench.runs,
        members=members,
    )

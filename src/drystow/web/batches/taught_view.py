"""What a dryer's page shows of what its batches taught."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from drystow.evidence.learning.learned import from_json
from drystow.evidence.learning.words import NINE_IN_TEN, TimeFactor, learned_words
from drystow.machine.sampling import CONTACT_SPREAD
from drystow.messages import msg
from drystow.reports.learning_chart import learning_picture
from drystow.web.batches.dryer_runs import Taught
from drystow.web.dryers.models import Dryer
from drystow.web.dryers.taught import FEWEST, learned_row, machine_print
from drystow.web.kit.drawing import Drawing, drawing_of


@dataclass(frozen=True)
class TaughtPage:
    """What batches taught, for the page.

    words: sentences, the pace first
    batches: how many taught
    used: forecasts use it
    changed: the dryer's own numbers changed since
    drawing: the heat's range after each batch, None before the second one
    runs: each run with what it taught, None when it taught nothing
    """

    words: tuple[str, ...]
    batches: int
    used: bool
    changed: bool
    drawing: Drawing | None
    runs: tuple[tuple[Taught, Mapping[str, Any] | None], ...]


def shown_of(dryer: Dryer, runs: Sequence[Taught]) -> TaughtPage:
    """Return what the page of a dryer shows.

    runs: its finished runs
    """
    row = learned_row(dryer)
    steps = {} if row is None else {step["batch"]: step for step in row.steps}
    pairs = tuple((run, steps.get(run.batch.pk)) for run in runs)
    if row is None:
        return TaughtPage((), 0, False, False, None, pairs)
    learned = from_json(row.state)
    factor = TimeFactor(*row.factor) if row.factor else None
    changed = row.machine != machine_print(dryer)
    return TaughtPage(
        words=learned_words(learned, factor),
        batches=learned.batches,
        used=dryer.use_taught and learned.batches >= FEWEST and not changed,
        changed=changed,
        drawing=_drawing(row.steps),
        runs=pairs,
    )


def step_of(dryer: Dryer, batch: int) -> Mapping[str, Any] | None:
    """Return what a batch taught, None when it did not yet.

    batch: its key
    """
    row = learned_row(dryer)
    return None if row is None else next((step for step in row.steps if step["batch"] == batch), None)


def _drawing(steps: Sequence[Mapping[str, Any]]) -> Drawing | None:
    if len(steps) < 2:
        return None
    rows = [(-NINE_IN_TEN, 0.0, NINE_IN_TEN), *(step["contact"] for step in steps)]
    factors = [tuple(math.exp(CONTACT_SPREAD * value) for value in row) for row in rows]
    return drawing_of(
        learning_picture([(low, middle, high) for low, middle, high in factors], msg("Heat from shelf to food"))
    )

"""Is it dry? Each tray judged from what was seen of the batch, with how sure that is."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2

from drystow.errors import check_range
from drystow.evidence.band import Band
from drystow.evidence.dryness.courses import (
    WAITS,
    View,
    index_at,
    joined,
    program_to,
    run_courses,
    views_of,
    water_columns,
)
from drystow.evidence.dryness.observed import Evidence, clock_of, drying_time, rows_of, seen_at
from drystow.evidence.dryness.posterior import (
    adapt,
    columns_of,
    doubted,
    effective_size,
    equally_likely,
    normalised,
    prior_of,
    quantile,
    softened,
)
from drystow.evidence.dryness.reading import is_dry, more_time, solids_with, target_of
from drystow.evidence.dryness.samples import LIKELIHOODS, drawn_activity
from drystow.evidence.dryness.signals import OF_THE_CHAMBER, SIGNALS, check_seen, fewer_readings
from drystow.evidence.dryness.weighings import (
    LEAST_WAIT,
    NEAR,
    Likelihood,
    Signal,
    drawn_water,
    weigh_again,
    wet_moisture,
)
from drystow.evidence.dryness.words import contradiction_words, impossible_gain, verdict_words, wet_words
from drystow.evidence.dryness.worst import wettest_activity, worst_piece
from drystow.machine.ensemble import Executor, Members
from drystow.machine.load import Load
from drystow.machine.sampling import UNCALIBRATED, Calibration, load_samples, standard_samples
from drystow.messages import listed, msg
from drystow.numerics import Array

DECISION_LEVEL = 0.99
"""Probability from which a tray is called dry [-]. Source: drystow-default."""

NOT_WORTH = 0.05  # probability below which a tray is "not dry" without any weighing [-]; drystow-default
STRANGE = 1e-4  # chance that numbers lie so far from the best member, below which they contradict [-]; drystow-default
HARDLY_EVER = 3.5  # standard deviations of a draw beyond which a member explains nothing [-]; drystow-default
EVEN = 0.5  # no more is claimed while the evidence contradicts itself or a piece was found wet [-]; drystow-default
TOO_FEW = 40.0  # effective members below which a note says so [-]; drystow-default
FARTHEST_PULL = 3.0  # strongest pull that members can show, in powers of ten
ROUNDS = 2  # further rounds at most
MOST_MEMBERS = 20000


@dataclass(frozen=True)
class Piece:
    """One piece of evidence.

    kind: weighing, oven_sample, activity, ...
    words: what it says, in a cook's words
    pull: how strongly it speaks for dry: logarithm (base 10) of the odds after it over those before it [-]
    """

    kind: str
    words: str
    pull: float


@dataclass(frozen=True)
class TrayDryness:
    """How dry a tray is.

    tray: number from 1
    name: of its food
    residual_moisture: mean of the tray, wet basis
    water_activity: mean of the tray at 25 °C
    target_moisture: wished, wet basis [-]
    probability_dry: at the target, without ice in thick pieces; at most even with a contradiction or a wet piece [-]
    more_time: half and nine in ten need no more, as the program goes on; infinite: never [s]
    next_weighing: moment from now that would tell most, or None [s]
    verdict: dry, nearly, not_dry, not_enough_evidence or contradiction
    words: the verdict in one or two sentences
    pieces: the evidence
    draws: standard normal numbers of the members, columns of the load (members, columns) [-]
    weights: of the members, adding up to one [-]
    notes: sentences on the limits of the answer
    moistures: equally likely moistures of the tray, wet basis, the driest first [-]
    times: equally likely times that it needs, the shortest first; infinite: never [s]
    wet_piece: what was found in its worst piece that speaks against dry, empty: nothing
    wettest_activity: water activity at 25 °C of its wettest class of pieces
    """

    tray: int
    name: str
    residual_moisture: Band
    water_activity: Band
    target_moisture: float
    probability_dry: float
    more_time: tuple[float, float]
    next_weighing: float | None
    verdict: str
    words: str
    pieces: tuple[Piece, ...]
    draws: Array
    weights: Array
    notes: tuple[str, ...] = ()
    moistures: tuple[float, ...] = ()
    times: tuple[float, ...] = ()
    wet_piece: str = ""
    wettest_activity: Band | None = None


@dataclass(frozen=True)
class DrynessQuestion:
    """A load, what was seen of it, and when and how thoroughly it is asked how dry it is.

    load: food, dryer and program
    evidence: what was seen
    now: moment of the question, since drying began [s]
    groups: numbers of the tray items (from 0) of each tray; None: one item, one tray
    members: runs of the first round; the further rounds have half as many each
    seed: of the random numbers; the same seed gives the same answer
    known: what earlier batches taught
    classes: of thickness within a tray, 1 to 3
    likelihoods: what kinds of evidence are heard
    """

    load: Load
    evidence: Evidence
    now: float
    groups: tuple[tuple[int, ...], ...] | None = None
    members: int = 600
    seed: int = 1
    known: Calibration = field(default_factory=lambda: UNCALIBRATED)
    classes: int = 2
    likelihoods: Sequence[Likelihood] = (*LIKELIHOODS, *SIGNALS)

    @property
    def trays(self) -> tuple[tuple[int, ...], ...]:
        """Numbers of the tray items of each tray."""
        return tuple((number,) for number in range(len(self.load.items))) if self.groups is None else self.groups


def judge(
    question: DrynessQuestion, *, executor: Executor | None = None, tick: Callable[[int], None] = lambda _count: None
) -> tuple[TrayDryness, ...]:
    """Return how dry each tray is.

    question: load, evidence, and when and how it is asked
    executor: runs the members; threads on all cores when None
    tick: called with the number of members done
    Source: drystow-default, spreads of the food classes and of the machine; cornuet2012 for the sampling.
    """
    load, members, seed = question.load, question.members, question.seed
    check_range("members", members, 20, MOST_MEMBERS, "")
    check_seen(load, question.evidence, question.now, question.trays)
    hearing = _Hearing(question, prior_of(load, question.known), executor, tick)
    columns = [columns_of(load, items) for items in question.trays]
    known_draws = load_samples(load, members, seed, known=question.known)
    held = standard_samples(members, len(load.items), seed + 1)
    first = doubted(np.concatenate([known_draws, held], axis=1), columns, hearing.prior, seed)
    further = ROUNDS if rows_of(hearing.evidence) else 0
    fewest = max(members // 2, 20)
    draws, logs = adapt(hearing.simulate, hearing.logliks, first, columns, hearing.prior, fewest, further, seed)
    return tuple(
        _judge_tray(view, signals, draws, one, hearing.prior, seed + view.tray)
        for (view, signals), one in zip(hearing.asked, logs, strict=True)
    )


class _Hearing:
    """The rounds of runs so far, and what all evidence says of them.

    prior: mean and covariance of the draws before any evidence
    evidence: with no more readings than tell something
    asked: view of each tray over all rounds, and its signals
    """

    def __init__(
        self,
        question: DrynessQuestion,
        prior: tuple[Array, Array],
        executor: Executor | None,
        tick: Callable[[int], None],
    ) -> None:
        self.question, self.prior, self.executor, self.tick = question, prior, executor, tick
        load = question.load
        self.evidence = fewer_readings(question.evidence)
        self.clock = clock_of(self.evidence, load.rig.dryer.pump_down)
        self.moment = float(drying_time(self.clock, question.now))
        ahead = {self.moment, *(self.moment + wait for wait in WAITS)}
        self.sample_times = sorted(ahead | {seen_at(self.clock, row) for row in rows_of(self.evidence)})
        self.program = program_to(load, self.moment)
        self.own = len(prior[0]) - len(load.items)  # columns before those of the held water
        self.rounds: list[Members] = []
        self.asked: list[tuple[View, tuple[Signal, ...]]] = []

    def simulate(self, draws: Array) -> None:
        """Run the members of one more round."""
        load, classes = self.question.load, self.question.classes
        own = draws[:, : self.own]
        runs = run_courses(load, own, self.program, self.sample_times, classes, self.executor, self.tick)
        self.rounds.append(replace(runs, draws=draws))

    def logliks(self) -> list[Array]:
        """Return how likely every member of all rounds makes what was seen, for each tray (logarithms)."""
        ask, runs = self.question, joined(self.rounds)
        views = views_of(
            ask.load, runs, ask.trays, ask.classes, self.evidence, self.clock, self.moment, runs.draws[:, self.own :]
        )
        # What the chamber shows is the same for all trays: worked out once, heard by each.
        once = {hear: hear(views[0], self.prior) for hear in ask.likelihoods if hear in OF_THE_CHAMBER}
        self.asked = [
            (
                view,
                tuple(
                    one for hear in ask.likelihoods for one in (once[hear] if hear in once else hear(view, self.prior))
                ),
            )
            for view in views
        ]
        return [sum((one.loglik for one in signals), np.zeros(1)) for _view, signals in self.asked]


def _judge_tray(
    view: View, signals: tuple[Signal, ...], draws: Array, logs: Array, prior: tuple[Array, Array], seed: int
) -> TrayDryness:
    strange = impossible_gain(view) is not None or _strange(signals, _plausible(view, prior))
    before = logs - sum((signal.loglik for signal in signals), np.zeros(1))  # log-weights before any evidence [-]
    weights = normalised(before if strange else softened(before, logs - before, TOO_FEW))
    waits = [(wait, index_at(view, view.now + wait)) for wait in (0.0, *WAITS)]
    dry = np.stack([is_dry(view, index) for _wait, index in waits], axis=1)
    chance = float(np.clip(weights @ dry[:, 0], 0.0, 1.0))
    needed = more_time(view, waits, dry)
    half, most = quantile(needed, weights, 0.5), quantile(needed, weights, 0.9)
    water = drawn_water(view, prior, seed)
    solids = solids_with(view, water)
    here = waits[0][1]
    moistures = wet_moisture(view, here, solids)
    moisture = _range(moistures, weights)
    wet = worst_piece(view)
    verdict = "contradiction" if strange else _verdict(chance, half, signals)
    held_back = bool(wet) and verdict in ("dry", "nearly")  # by the scale alone it would be dry, or nearly
    verdict = "not_dry" if held_back else verdict
    again: float | None
    if strange:
        again, words = LEAST_WAIT, contradiction_words(view)
    else:
        again = None if verdict == "dry" else weigh_again(view, signals, weights, prior, waits, dry, half)
        three = (moisture.low, moisture.middle, moisture.high)
        words = verdict_words(verdict, chance, three, target_of(view), half, again)
        words = wet_words(wet) if held_back else words
    drawn = draws[:, : draws.shape[1] - len(view.load.items)].copy()
    drawn[:, water_columns(view)] = water
    return TrayDryness(
        tray=view.tray,
        name=listed(dict.fromkeys(view.load.items[number].food.name for number in view.items)),
        residual_moisture=moisture,
        water_activity=_range(drawn_activity(view, here, seed), weights),
        target_moisture=target_of(view),
        probability_dry=min(chance, EVEN) if strange or wet else chance,
        more_time=(half, most),
        next_weighing=again,
        verdict=verdict,
        words=words,
        pieces=tuple(Piece(one.kind, one.words, _pull(one, before, dry[:, 0])) for one in signals),
        draws=drawn,
        weights=weights,
        notes=_notes(signals, effective_size(normalised(logs)), verdict),
        moistures=equally_likely(moistures, weights),
        times=equally_likely(needed, weights),
        wet_piece=wet,
        wettest_activity=_range(wettest_activity(view, here, seed), weights),
    )


def _verdict(chance: float, half: float, signals: tuple[Signal, ...]) -> str:
    settled = any(signal.settles for signal in signals)
    if chance >= DECISION_LEVEL and settled:
        return "dry"
    if settled and half <= NEAR:
        return "nearly"
    return "not_dry" if settled or chance < NOT_WORTH else "not_enough_evidence"


def _plausible(view: View, prior: tuple[Array, Array]) -> NDArray[np.bool_]:
    """Return which members have no number that hardly ever comes."""
    places = columns_of(view.load, view.items)
    far = (view.runs.draws[:, places] - prior[0][places]) / np.sqrt(np.diagonal(prior[1])[places])
    return np.asarray((np.abs(far) <= HARDLY_EVER).all(axis=1))


def _strange(signals: tuple[Signal, ...], plausible: NDArray[np.bool_]) -> bool:
    far = [(signal.misfit, signal.count) for signal in signals if signal.misfit is not None]
    if not far:
        return False
    misfit = sum((misfit for misfit, _count in far), np.zeros(1))
    nearest = float(np.min(misfit[plausible]))
    return nearest > float(chi2.isf(STRANGE, sum(count for _misfit, count in far)))


def _pull(one: Signal, before: Array, dry: Array) -> float:
    least = 10.0**-FARTHEST_PULL
    chances = [float(np.clip(normalised(part) @ dry, least, 1.0 - least)) for part in (before, before + one.loglik)]
    odds = [np.log10(chance / (1.0 - chance)) for chance in chances]
    return float(np.clip(odds[1] - odds[0], -FARTHEST_PULL, FARTHEST_PULL))


def _range(values: Array, weights: Array) -> Band:
    return Band(*(quantile(values, weights, share) for share in (0.05, 0.5, 0.95)))


def _notes(signals: tuple[Signal, ...], size: float, verdict: str) -> tuple[str, ...]:
    notes = []
    if signals and size < TOO_FEW and verdict != "contradiction":
        notes.append(
            msg(
                "only {count:.0f} simulated runs fit what you saw, so the answer is rough;"
                " one more weighing helps most",
                count=size,
            )
        )
    if verdict == "contradiction":
        notes.append(msg("the numbers leave this evidence out because it does not fit the rest"))
    if signals and not any(signal.settles for signal in signals):
        notes.append(msg("two weighings with an hour of drying between them tell far more than one"))
    return tuple(notes)


SHARES = (0.1, 0.5, 0.9)
"""Of runs that end before the times of `last_dry` [-]. Source: definition."""


def last_dry(trays: Sequence[Sequence[float]], shares: Sequence[float] = SHARES) -> tuple[float, ...]:
    """Return the times by which all trays are dry, for some shares of runs [s].

    trays: per tray, equally likely times that it needs, the shortest first; infinite: never [s]
    shares: of runs [-]
    Source: definition, largest of independent times.
    Trays of one machine are late together; taken as independent, the middle comes out a little late, never early.

    >>> last_dry([[1.0, 2.0, 3.0, 4.0], [2.0, 2.0, 2.0, 2.0]], [0.5, 0.9])
    (2.0, 4.0)
    """
    moments = np.unique(np.concatenate([np.asarray(times, dtype=float) for times in trays]))
    reached = np.prod(
        [np.searchsorted(np.asarray(times, dtype=float), moments, side="right") / len(times) for times in trays], axis=0
    )
    return tuple(float(moments[min(int(np.argmax(reached >= share)), len(moments) - 1)]) for share in shares)

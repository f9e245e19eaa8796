"""What really happens in a batch: numbers drawn from the priors, and a world of another form than the model's.

Every item is fifteen runs of the machine at once: five thicknesses of piece, each with its own contact to the shelf,
times three populations of bound water that leave at their own rates. The isotherm, the energy of desorption and the
bound water differ too. `docs/evidence.md` lists every difference (`DIFFERENCES`).
"""

import math
from dataclasses import dataclass

import numpy as np

from drystow.constants import GAS_CONSTANT
from drystow.evidence.dryness.courses import HELD, HELD_SPREAD, PIECE_SPREAD
from drystow.machine import stepper
from drystow.machine.layout import MACHINE_RECORD, RECORD_PER_TRAY, ItemRecord, MachineRecord, ProgramRow, Tray
from drystow.machine.load import Load
from drystow.machine.run import dry, freeze_load, start_of_drying
from drystow.machine.sampling import column, drawn_numbers, load_samples
from drystow.numerics import Array
from tools.evidence.curves import Sorption, activity_by, true_sorption

DIFFERENCES = {
    "pieces": (
        "Pieces of five thicknesses on a tray (relative spread 4 to 16%, another one for each food; the judge "
        "assumes 10% in two classes), the mean off by the prior's 8% as well."
    ),
    "contact": (
        "Each thickness has its own contact to the shelf and view of the heater (relative spread 0 to 12%; the judge "
        "assumes none within a tray)."
    ),
    "rates": (
        "Three populations of bound water: 10 to 40% of it leaves at 0.35 to 0.8 of the rate of the rest, and about "
        "0.07 of the monolayer (times or over 1.8) at less than a tenth of it, so the approach to constant weight is "
        "not one exponential. The judge knows one rate, and water that never leaves."
    ),
    "energy": ("Energy of desorption 15 to 40 kJ/mol (the judge: 25 kJ/mol)."),
    "isotherm": (
        "Isotherm of another form for two foods in three: Oswin's or Halsey's curve fitted to the food's GAB points "
        "between activities of 0.05 and 0.7, a straight line to zero below (Henry's law); for the others GAB with C "
        "off by a factor (spread 50%)."
    ),
    "water": (
        "Unfrozen water off by 15%, the water of variety and lot by the prior with heavy tails (Student, 5 degrees)."
    ),
}
"""Differences of the truth from the judge's model: each can be left out, to see what it does."""
ALL = frozenset(DIFFERENCES)

SHARES = np.array([0.15, 0.25, 0.30, 0.20, 0.10])
DISTANCES = np.array([-1.5, -0.6, 0.05, 0.8, 1.7])  # of the thicknesses [standard deviations]
HELD_HERE = (0.07, 0.6)  # tightly held water: share of the monolayer, and spread of its logarithm; pikal1990
TAILS = 5  # degrees of freedom of the water of variety and lot
RECORDS = 8000
TOLERANCE = 1e-5


@dataclass(frozen=True)
class Truth:
    """The true numbers of a batch.

    load: as written
    rows: tray rows of the machine, fifteen to an item
    machine: machine row
    offset: real minus shown shelf temperature [K]
    item: number of the item of each row
    sorption: true isotherm of each item
    shelf: at the start of drying [K]
    """

    load: Load
    rows: Array
    machine: Array
    offset: float
    item: Array
    sorption: tuple[Sorption, ...]
    shelf: float


@dataclass(frozen=True)
class Course:
    """The true course of a batch; times are drying times.

    time: of the records [s]
    moisture: of each row, dry basis (times, rows) [-]
    ice: left of each row (times, rows) [-]
    front: ice front or dried food of each row (times, rows) [K]
    trap: ice on the trap [kg]
    """

    time: Array
    moisture: Array
    ice: Array
    front: Array
    trap: Array


def make_truth(load: Load, seed: int, differ: frozenset[str] = ALL) -> Truth:
    """Return the true numbers of a batch.

    load: as a person wrote it
    seed: the same seed gives the same truth
    differ: names of the differences from the judge's model
    """
    random = np.random.default_rng([seed, 2])
    draws = load_samples(load, 2, int(random.integers(1 << 31)))[:1]
    for number in range(len(load.items)):
        tails = math.sqrt(TAILS / random.chisquare(TAILS))
        draws[0, column("water", number)] *= tails if "water" in differ else 1.0
    drawn = drawn_numbers(load, draws)
    rows, owners, sorption = [], [], []
    for number, item in enumerate(load.items):
        row = drawn.trays[0, number].copy()
        sorbs = true_sorption(item.isotherm, row[Tray.MONOLAYER], random, "isotherm" in differ)
        bound = row[Tray.UNFROZEN] * row[Tray.SOLIDS]
        moved = bound * (math.exp(0.15 * random.standard_normal()) - 1.0) * ("water" in differ)
        row[Tray.UNFROZEN] = (bound + moved) / row[Tray.SOLIDS]
        row[Tray.ICE] -= moved
        energy = random.uniform(15e3, 40e3) / GAS_CONSTANT
        row[Tray.DESORPTION_ENERGY] = energy if "energy" in differ else row[Tray.DESORPTION_ENERGY]
        sorption.append(sorbs)
        parts = split_row(row, item.isotherm.monolayer, random, differ)
        for part in parts:
            part[[Tray.MONOLAYER, Tray.GAB_C, Tray.GAB_K]] = sorbs.machine
        rows += parts
        owners += [number] * (len(rows) - len(owners))
    _start, shelf = start_of_drying(load, freeze_load(load))
    return Truth(
        load,
        np.array(rows),
        drawn.machines[0],
        float(drawn.shelf_offset[0]),
        np.array(owners),
        tuple(sorption),
        shelf,
    )


def split_row(row: Array, monolayer: float, random: np.random.Generator, differ: frozenset[str] = ALL) -> list[Array]:
    """Return the rows of an item's thicknesses and populations of bound water; mass and water stay the same.

    row: tray row of the item
    monolayer: of the model, that the tightly held water is a share of [-]
    random: numbers
    differ: names of the differences from the judge's model
    """
    spread = random.uniform(0.04, 0.16)
    thicker = np.exp((spread if "pieces" in differ else PIECE_SPREAD) * DISTANCES)
    heat = np.exp(random.uniform(0.0, 0.12) * random.standard_normal(len(SHARES)) * ("contact" in differ))
    slow, ratio, last = random.uniform(0.1, 0.4), random.uniform(0.35, 0.8), random.uniform(0.0, 0.1)
    held, normal = HELD_HERE, random.standard_normal()
    if "rates" not in differ:
        slow, ratio, last, held = 0.0, 1.0, 0.0, (HELD, HELD_SPREAD)
    fast = 1.0 / (1.0 - slow + slow * ratio)  # the mean rate at the start is that of the row
    kept = min(held[0] * math.exp(held[1] * normal) * monolayer / row[Tray.UNFROZEN], 0.3)
    paces = (((1.0 - kept) * (1.0 - slow), fast), ((1.0 - kept) * slow, fast * ratio), (kept, last))
    parts = []
    for share, size, contact in zip(SHARES, thicker, heat, strict=True):
        for amount, pace in paces:
            part = row.copy()
            whole = share * max(amount, 1e-6)
            part[[Tray.ICE, Tray.SOLIDS]] *= whole
            part[[Tray.OUTER, Tray.CONTACT, Tray.ABOVE]] *= whole / size
            part[Tray.LENGTH] *= size
            part[[Tray.KV_CONSTANT, Tray.KV_GAS, Tray.H_ABOVE]] *= contact
            part[Tray.DESORPTION_RATE] *= pace
            parts.append(part)
    return parts


def course_of(truth: Truth, program: Array) -> Course:
    """Return the true course under a program.

    truth: of the batch
    program: rows of duration [s] and set-point [K]
    """
    steps = program.copy()
    steps[:, ProgramRow.SETPOINT] += truth.offset
    raw = dry((truth.rows, truth.machine), steps, truth.shelf, TOLERANCE, RECORDS)
    if raw.ending not in (stepper.DONE_PROGRAM, stepper.DONE_DRY):
        raise RuntimeError(f"the true course ended by {raw.ending}")
    records, foods = raw.rows, raw.rows[:, MACHINE_RECORD:].reshape(len(raw.rows), -1, RECORD_PER_TRAY)
    return Course(
        time=records[:, MachineRecord.TIME],
        moisture=foods[:, :, ItemRecord.MOISTURE],
        ice=1.0 - foods[:, :, ItemRecord.DRIED],
        front=foods[:, :, ItemRecord.TEMPERATURE],
        trap=records[:, MachineRecord.TRAP_ICE],
    )


def held_program(program: Array, moment: float, horizon: float) -> Array:
    """Return a program until a moment, and the shelf as it is set there for a while longer.

    program: rows of duration [s] and set-point [K]
    moment: drying time [s]
    horizon: how much longer [s]
    """
    ends = np.cumsum(program[:, 0])
    part = int(np.argmax(ends > moment))
    start = float(ends[part - 1]) if part > 0 else 0.0
    return np.array([*program[:part], [moment - start + horizon, program[part, 1]]])


def at(course: Course, series: Array, moment: float) -> Array:
    """Return the values of a series at a moment, one of each row.

    course: true course
    series: one of its arrays (times, rows)
    moment: drying time [s]
    """
    return np.array([np.interp(moment, course.time, values) for values in series.T])


def wet_moisture(truth: Truth, course: Course, items: tuple[int, ...], moment: float) -> float:
    """Return the mean moisture of a tray, wet basis [-].

    truth: of the batch
    course: true course
    items: numbers of the tray's items
    moment: drying time [s]
    """
    solids = truth.rows[:, Tray.SOLIDS]
    mine = np.isin(truth.item, items)
    water = float((at(course, course.moisture, moment) * solids)[mine].sum())
    return water / (water + float(solids[mine].sum()))


def activity_of(truth: Truth, course: Course, items: tuple[int, ...], moment: float) -> float:
    """Return the water activity of a tray at 25 °C once its pieces have evened out, mean by dry mass [-].

    truth: of the batch
    course: true course
    items: numbers of the tray's items
    moment: drying time [s]
    """
    solids, moisture = truth.rows[:, Tray.SOLIDS], at(course, course.moisture, moment)
    total = value = 0.0
    for number in items:
        mine = truth.item == number
        mass = float(solids[mine].sum())
        sorbs = truth.sorption[number]
        value += mass * activity_by(sorbs.form, sorbs.constants, float((moisture * solids)[mine].sum()) / mass)
        total += mass
    return value / total


def dry_time(truth: Truth, course: Course, items: tuple[int, ...]) -> float:
    """Return when a tray is dry: at its target in the mean, without ice in any piece [s]; infinite: never.

    truth: of the batch
    course: true course
    items: numbers of the tray's items
    """
    mine = np.isin(truth.item, items)
    solids = truth.rows[mine, Tray.SOLIDS]
    water = course.moisture[:, mine] @ solids
    wished = sum(
        truth.load.items[number].solids * truth.load.items[number].target / (1.0 - truth.load.items[number].target)
        for number in items
    )
    dry_mass = sum(truth.load.items[number].solids for number in items)
    reached = (water / solids.sum() <= wished / dry_mass) & (course.ice[:, mine] <= 0.0).all(axis=1)
    if not reached.any():
        return math.inf
    return float(course.time[int(np.argmax(reached))])

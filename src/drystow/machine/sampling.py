"""What nobody knows exactly about a load: its uncertain numbers, how wide they are and which of them move together."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from drystow.errors import check_range, unknown
from drystow.machine.item import TrayItem
from drystow.machine.layout import Machine, Tray
from drystow.machine.load import Load
from drystow.machine.run import load_arrays
from drystow.messages import msg
from drystow.numerics import Array

VARIETY_SPREAD = 0.015  # of the water fraction between varieties and lots, beyond the table's own error; ifct2017
THICKNESS_SPREAD = 0.08  # relative, of hand-cut pieces; drystow-default
CONTACT_SPREAD = 0.2  # relative, of the machine's heat transfer, shared by all trays; drystow-default
POSITION_SPREAD = 0.06  # relative, of one tray's heat transfer beside the machine's; drystow-default
REFRIGERATION_SPREAD = 0.08  # relative; drystow-default
VAPOUR_SPREAD = 0.2  # relative, of the way to the trap; drystow-default
AIR_SPREAD = 0.3  # relative, of the pressure of leaked air; drystow-default
SHELF_ERROR = 1.5  # of the shelf's thermometer [K]; drystow-default
FREEZING_SPREAD = 0.2  # relative; drystow-default
FURTHEST = 3.0  # standard deviations beyond which nothing is drawn
METHODS = ("latin", "sobol")

SHARED = ("contact", "refrigeration", "vapour", "air", "shelf", "freezing")
"""Causes that all trays share, in the order of the columns."""

PER_ITEM = ("water", "thickness", "resistance", "conductivity", "desorption", "isotherm", "position")
"""Causes of one tray item, in the order of the columns behind the shared ones."""

TOGETHER = {"water": ("food", 0.8), "resistance": ("class", 0.6), "conductivity": ("class", 0.6),
            "desorption": ("class", 0.6), "isotherm": ("class", 0.8)}  # fmt: skip
"""Causes that move together between items of one food or one class, with their correlation. Source: drystow-default."""


Calibration = Mapping[tuple[str, str], tuple[float, float]]
"""What earlier batches taught: (cause, food class or food id; "" for a shared cause) -> mean and standard deviation,
counted in standard deviations of the untaught spread. For causes of `TOGETHER` it is the part that the group shares."""

UNCALIBRATED: Calibration = {}


@dataclass(frozen=True)
class Drawn:
    """The numbers of every member, as the compiled balance reads them.

    trays: tray rows (members, items, columns)
    machines: machine rows (members, columns)
    shelf_offset: real minus shown shelf temperature [K]
    freezing: factor on all freezing times [-]
    """

    trays: Array
    machines: Array
    shelf_offset: Array
    freezing: Array


def column(cause: str, item: int | None = None) -> int:
    """Return the column of a cause in an array of draws.

    cause: one of `SHARED` or, with an item, of `PER_ITEM`
    item: number of the tray item from 0
    """
    return SHARED.index(cause) if item is None else len(SHARED) + len(PER_ITEM) * item + PER_ITEM.index(cause)


def standard_samples(members: int, dimensions: int, seed: int, method: str = "latin") -> Array:
    """Return standard normal numbers, spread evenly over their range: rows are members.

    members: how many
    dimensions: columns
    seed: the same seed gives the same numbers
    method: latin (hypercube) or sobol (scrambled, best with a power of two)
    """
    from scipy.special import ndtri
    from scipy.stats import qmc

    check_range("members", members, 2, 1_000_000, "")
    if method not in METHODS:
        raise unknown("method", method, METHODS, msg("way of drawing"))
    if method == "latin":
        shares = qmc.LatinHypercube(dimensions, rng=np.random.default_rng(seed)).random(members)
    else:
        power = math.ceil(math.log2(members))
        shares = qmc.Sobol(dimensions, rng=np.random.default_rng(seed)).random_base2(power)[:members]
    # Cut off far out: a spread is known for the middle of foods and machines, its tails would be numbers of none.
    normals: Array = np.clip(ndtri(np.clip(shares, 1e-9, 1 - 1e-9)), -FURTHEST, FURTHEST)
    return normals


def load_samples(
    load: Load, members: int, seed: int = 1, method: str = "latin", known: Calibration = UNCALIBRATED
) -> Array:
    """Return the draws of a load's uncertain numbers: columns as `column` tells, standard normal, correlated.

    load: food, dryer and program
    members: how many
    seed: the same seed gives the same numbers
    method: latin or sobol
    known: what earlier batches taught; replaces the standard normal of a shared cause or of a group
    Source: drystow-default, correlations.
    """
    count = len(load.items)
    groups: dict[tuple[str, str], int] = {}
    for item in load.items:
        for cause, (kind, _share) in TOGETHER.items():
            groups.setdefault((cause, item.food.id if kind == "food" else item.food.food_class), len(groups))
    own = len(SHARED) + len(PER_ITEM) * count
    raw = standard_samples(members, own + len(groups), seed, method)
    for (cause, name), place in groups.items():
        mean, width = known.get((cause, name), (0.0, 1.0))
        raw[:, own + place] = mean + width * raw[:, own + place]
    draws = raw[:, :own].copy()
    for number, cause in enumerate(SHARED):
        mean, width = known.get((cause, ""), (0.0, 1.0))
        draws[:, number] = mean + width * draws[:, number]
    for number, item in enumerate(load.items):
        for cause, (kind, share) in TOGETHER.items():
            group = groups[cause, item.food.id if kind == "food" else item.food.food_class]
            at = column(cause, number)
            draws[:, at] = math.sqrt(share) * raw[:, own + group] + math.sqrt(1.0 - share) * raw[:, at]
    return draws


def calibrated(load: Load, known: Calibration) -> Load:
    """Return a load whose numbers are shifted to the middle of what earlier batches taught.

    load: food, dryer and program
    known: what earlier batches taught
    Source: drystow-default, as in `drawn_numbers`; shelves that are off have their set-points shifted.
    """
    means = {key: mean for key, (mean, _width) in known.items()}
    contact = math.exp(CONTACT_SPREAD * means.get(("contact", ""), 0.0))
    air = math.exp(AIR_SPREAD * means.get(("air", ""), 0.0))
    off = SHELF_ERROR * means.get(("shelf", ""), 0.0)
    dryer = load.rig.dryer
    dryer = replace(
        dryer,
        contact_constant=dryer.contact_constant * contact,
        contact_gas=dryer.contact_gas * contact,
        above=dryer.above * contact,
        refrigeration=dryer.refrigeration * math.exp(REFRIGERATION_SPREAD * means.get(("refrigeration", ""), 0.0)),
        vapour_conductance=dryer.vapour_conductance * math.exp(VAPOUR_SPREAD * means.get(("vapour", ""), 0.0)),
        leak=dryer.leak * air,
        ultimate_pressure=dryer.ultimate_pressure * air,
    )
    program = tuple(replace(step, shelf=step.shelf + off) for step in load.rig.program)
    items = tuple(_taught_item(item, means, contact) for item in load.items)
    return replace(load, rig=replace(load.rig, dryer=dryer, program=program), items=items)


def _taught_item(item: TrayItem, means: Mapping[tuple[str, str], float], contact: float) -> TrayItem:
    shift = {
        cause: math.sqrt(share) * means.get((cause, item.food.food_class), 0.0)
        for cause, (kind, share) in TOGETHER.items()
        if kind == "class"
    }
    conducts = math.exp(item.layer.conductivity_spread * shift["conductivity"])
    layer = replace(
        item.layer,
        a1=item.layer.a1 * math.exp(item.layer.resistance_spread * shift["resistance"]),
        vacuum_conductivity=item.layer.vacuum_conductivity * conducts,
        gas_conductivity=item.layer.gas_conductivity * conducts,
        desorption_rate=item.layer.desorption_rate * math.exp(item.layer.desorption_spread * shift["desorption"]),
    )
    relative = item.isotherm.monolayer_sd / max(item.isotherm.monolayer, 1e-9)
    isotherm = replace(item.isotherm, monolayer=item.isotherm.monolayer * math.exp(relative * shift["isotherm"]))
    fixed = None if item.contact_fixed is None else item.contact_fixed * contact
    above = None if item.above_fixed is None else item.above_fixed * contact
    return replace(item, layer=layer, isotherm=isotherm, contact_fixed=fixed, above_fixed=above)


def drawn_numbers(load: Load, draws: Array) -> Drawn:
    """Return the numbers that belong to draws.

    load: food, dryer and program
    draws: standard normal numbers (members, columns) as `load_draws` gives them
    Source: drystow-default, spreads of the food classes and of the machine.
    """
    trays, machine = load_arrays(load)
    members = len(draws)
    rows = np.repeat(trays[None], members, axis=0)
    machines = np.repeat(machine[None], members, axis=0)
    shared = {cause: draws[:, number] for number, cause in enumerate(SHARED)}
    contact = np.exp(CONTACT_SPREAD * shared["contact"])
    machines[:, Machine.REFRIGERATION] *= np.exp(REFRIGERATION_SPREAD * shared["refrigeration"])
    machines[:, Machine.VAPOUR_CONDUCTANCE] *= np.exp(VAPOUR_SPREAD * shared["vapour"])
    machines[:, Machine.AIR_PRESSURE] *= np.exp(AIR_SPREAD * shared["air"])
    for number, item in enumerate(load.items):
        row = rows[:, number]
        drawn = {cause: draws[:, column(cause, number)] for cause in PER_ITEM}
        spread = item.mass * math.hypot(item.food.composition.water_sd, VARIETY_SPREAD)
        extra = np.clip(spread * drawn["water"], -0.5 * item.ice, 0.5 * item.solids)
        unfrozen = row[:, Tray.UNFROZEN] * row[:, Tray.SOLIDS]
        row[:, Tray.ICE] += extra
        row[:, Tray.SOLIDS] -= extra
        row[:, Tray.UNFROZEN] = unfrozen / row[:, Tray.SOLIDS]
        row[:, Tray.LENGTH] *= np.exp(THICKNESS_SPREAD * drawn["thickness"])
        row[:, Tray.A1] *= np.exp(item.layer.resistance_spread * drawn["resistance"])
        # a skin or a wrapper is held to be off the same way as the layer under it: both are how far vapor is held back
        row[:, Tray.R0] += item.covering * (np.exp(item.covering_spread * drawn["resistance"]) - 1.0)
        row[:, [Tray.KD_VACUUM, Tray.KD_GAS]] *= np.exp(item.layer.conductivity_spread * drawn["conductivity"])[:, None]
        row[:, Tray.DESORPTION_RATE] *= np.exp(item.layer.desorption_spread * drawn["desorption"])
        relative = item.isotherm.monolayer_sd / max(item.isotherm.monolayer, 1e-9)
        row[:, Tray.MONOLAYER] *= np.exp(relative * drawn["isotherm"])
        heat = contact * np.exp(POSITION_SPREAD * drawn["position"])
        row[:, [Tray.KV_CONSTANT, Tray.KV_GAS, Tray.H_ABOVE]] *= heat[:, None]
    return Drawn(rows, machines, SHELF_ERROR * shared["shelf"], np.exp(FREEZING_SPREAD * shared["freezing"]))

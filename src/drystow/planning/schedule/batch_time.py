"""How long one tray of a lot occupies a dryer: the time within which 80% of the ensemble's members are dry."""

from dataclasses import dataclass

import numpy as np

from drystow.errors import InputError
from drystow.machine.ensemble import simulate_spread
from drystow.machine.item import TrayItem
from drystow.machine.load import Load, Rig
from drystow.machine.run import simulate
from drystow.machine.sampling import UNCALIBRATED, Calibration, calibrated
from drystow.numerics.remembered import remembered
from drystow.planning.load.load_plan import last_dry

SURE = 80.0  # percent of the members that are dry by then
MEMBERS = 25
REMEMBERED = 2000


@dataclass(frozen=True)
class Reckoning:
    """How the times are worked out.

    members: of the ensemble
    seed: of the ensemble
    """

    members: int = MEMBERS
    seed: int = 1


def _rests_on(rig: Rig, item: TrayItem, how: Reckoning, known: Calibration = UNCALIBRATED) -> str:
    return repr((rig.dryer, rig.program, rig.freeze_to, item, how, sorted(known.items())))


@remembered(REMEMBERED, _rests_on)
def drying_time(rig: Rig, item: TrayItem, how: Reckoning, known: Calibration = UNCALIBRATED) -> float:
    """Return the time from loading until the tray is dry in four of five members, 0 when it never is [s].

    rig: dryer and program
    item: one full tray; the dryer is filled with such trays, as far as its trap allows
    how: members and seed
    known: what earlier batches taught
    """
    return _reckon(full_dryer(rig, item), how, known)


def _reckon(load: Load, how: Reckoning, known: Calibration) -> float:
    try:
        runs = simulate_spread(load, how.members, how.seed, known=known).runs
    except InputError:
        return 0.0
    sure = float(np.percentile(last_dry(runs.dry), SURE, method="higher"))
    return sure if np.isfinite(sure) else 0.0


def full_dryer(rig: Rig, item: TrayItem) -> Load:
    """Return a load of equal trays, as many as dryer and trap hold.

    rig: dryer and program
    item: one tray
    """
    held = int(rig.dryer.trap_capacity / max(item.water, 1e-6))
    return Load("", rig, (item,) * max(1, min(rig.dryer.trays, held)))


def mean_power(rig: Rig, item: TrayItem, known: Calibration = UNCALIBRATED) -> float:
    """Return the mean electric power of a run of such trays [W].

    rig: dryer and program
    item: one full tray
    known: what earlier batches taught
    """
    try:
        result = simulate(calibrated(full_dryer(rig, item), known), series=False)
    except InputError:
        return rig.dryer.compressor_power + rig.dryer.pump_power
    return result.machine.energy / result.total_time

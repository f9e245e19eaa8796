"""What is to be dried over the next days, in which dryers, and when somebody is there."""

from dataclasses import dataclass
from datetime import datetime

from drystow.machine.item import TrayItem
from drystow.machine.load import Load
from drystow.planning.cold_storage import Window


@dataclass(frozen=True)
class Cut:
    """One tray of a lot in one dryer.

    mass: on a full tray [kg]
    fresh: the tray loaded from the refrigerator
    frozen: the tray loaded from the freezer
    """

    mass: float
    fresh: TrayItem
    frozen: TrayItem


@dataclass(frozen=True)
class Lot:
    """Food that arrives at one time.

    name: of the lot
    arrival: when it is there
    mass: fresh mass [kg]
    value: of one kilogram [currency/kg]
    cuts: one tray in each dryer, None where it may not go
    window: how long it may wait in the refrigerator and in the freezer
    frozen: it arrives frozen
    must: all of it is wished to be dried
    ready_by: when it has to be unloaded at the latest, or None
    drying_time: given in place of the calculated time, or 0 [s]
    volume: freezer space of one kilogram [m3/kg]
    """

    name: str
    arrival: datetime
    mass: float
    value: float
    cuts: tuple[Cut | None, ...]
    window: Window
    frozen: bool
    must: bool
    ready_by: datetime | None
    drying_time: float
    volume: float

    @property
    def item(self) -> TrayItem:
        """One fresh tray of it, in the first dryer that it may go into."""
        return next(cut.fresh for cut in self.cuts if cut is not None)


@dataclass(frozen=True)
class PlannedDryer:
    """A dryer of the kitchen.

    name: of the dryer
    frame: machine and program; its food is a stand-in
    turnaround: from unloading until it can be loaded again: defrosting, cleaning [s]
    service: spans in which it is not to be had
    """

    name: str
    frame: Load
    turnaround: float
    service: tuple[tuple[datetime, datetime], ...]


@dataclass(frozen=True)
class FixedBatch:
    """A batch that is running or finished.

    dryer: number of the dryer
    start: when it was loaded
    end: when it is unloaded
    trays: name of a lot -> its trays
    """

    dryer: int
    start: datetime
    end: datetime
    trays: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Lots:
    """Everything that a schedule is made from.

    title: of the plan
    begin: first moment of the plan
    days: that it covers
    step: grid of times; 0: chosen by the size of the plan [s]
    home: hours in which somebody is there, per weekday from Monday: (from, to) [h]
    price: of electricity in each hour of the day, per weekday [currency/kWh]
    freezer: space for food that waits, in the unit below
    freezer_by_mass: the space is a mass [kg], otherwise a volume [m3]
    rules: separation rules that hold
    dryers: machines
    lots: food
    fixed: batches that are kept as they are
    """

    title: str
    begin: datetime
    days: int
    step: float
    home: tuple[tuple[tuple[float, float], ...], ...]
    price: tuple[tuple[float, ...], ...]
    freezer: float
    freezer_by_mass: bool
    rules: tuple[str, ...]
    dryers: tuple[PlannedDryer, ...]
    lots: tuple[Lot, ...]
    fixed: tuple[FixedBatch, ...]

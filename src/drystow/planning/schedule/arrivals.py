"""What is to be dried over the next days, in which dryers, and when somebody is there."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from drystow.errors import InputError
from drystow.foods.model import Food
from drystow.machine.item import TrayItem
from drystow.machine.load import Load
from drystow.machine.sampling import Calibration
from drystow.messages import msg, msg_many
from drystow.planning.schedule.cold_storage import DAY, Window, storage_window


@dataclass(frozen=True)
class LotTray:
    """One tray of a lot in one dryer.

    mass: on a full tray [kg]
    fresh: the tray loaded from the refrigerator
    frozen: the tray loaded from the freezer
    """

    mass: float
    fresh: TrayItem
    frozen: TrayItem


@dataclass(frozen=True)
class ArrivingLot:
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
    cuts: tuple[LotTray | None, ...]
    window: Window
    frozen: bool
    must: bool
    ready_by: datetime | None
    drying_time: float
    volume: float

    @property
    def fridge_until(self) -> datetime:
        """Last moment at which it can be loaded when it was never frozen."""
        return self.arrival + timedelta(seconds=self.window.fridge)

    @property
    def freezer_until(self) -> datetime:
        """Last moment at which it can be loaded from the freezer; before it came when it is not to be frozen."""
        return self.arrival + timedelta(seconds=self.window.freezer or -1.0)

    @property
    def item(self) -> TrayItem:
        """One fresh tray of it, in the first dryer that it may go into."""
        return next(cut.fresh for cut in self.cuts if cut is not None)


def window_of(food: Food, own_wait: tuple[float | None, float | None]) -> Window:
    """Return how long a food may wait, or raise `InputError` when food that may be raw should wait too long.

    food: what it is
    own_wait: in the refrigerator and in the freezer as written by a person, or None [s]
    """
    usual = storage_window(food)
    fridge, freezer = own_wait
    if fridge is not None and food.may_be_raw and fridge > usual.fridge:
        days, written = usual.fridge / DAY, fridge / DAY
        wait = msg_many("{count} day", "{count} days", round(days))
        words = msg(
            "raw animal food may wait {wait} in the refrigerator, not {written:.1f} days; freeze or dry it sooner",
            wait=wait,
            written=written,
        )
        if food.raw_animal is None:
            words = msg(
                "food that may be raw may wait {wait} in the refrigerator, not {written:.1f} days; say "
                "whether it is raw, or freeze or dry it sooner",
                wait=wait,
                written=written,
            )
        raise InputError("fridge", words)
    if fridge is None and freezer is None:
        return usual
    own = (usual.fridge if fridge is None else fridge, usual.freezer if freezer is None else freezer)
    return Window(*own, "definition")


@dataclass(frozen=True)
class PlannedDryer:
    """A dryer of the kitchen.

    name: of the dryer
    frame: machine and program; its food is a stand-in
    turnaround: from unloading until it can be loaded again: defrosting, cleaning [s]
    service: spans in which it is not to be had
    known: what its earlier batches taught
    """

    name: str
    frame: Load
    turnaround: float
    service: tuple[tuple[datetime, datetime], ...]
    known: Calibration = field(default_factory=dict)


@dataclass(frozen=True)
class FixedBatch:
    """A batch that is kept as it is.

    dryer: number of the dryer
    start: when it was loaded, or is to be
    end: when it is unloaded
    trays: name of a lot -> its trays
    masses: name of a lot -> its fresh mass as weighed, for those that were; else they lie evenly on all its trays [kg]
    begun: it is running or finished
    """

    dryer: int
    start: datetime
    end: datetime
    trays: tuple[tuple[str, int], ...]
    masses: tuple[tuple[str, float], ...] = ()
    begun: bool = True


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
    now: nothing new is loaded before it; None: the begin
    altitude: of the kitchen, for what is packed [m]
    notes: on how it is written
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
    lots: tuple[ArrivingLot, ...]
    fixed: tuple[FixedBatch, ...]
    now: datetime | None = None
    altitude: float = 0.0
    notes: tuple[str, ...] = ()

    @property
    def priced(self) -> bool:
        """Whether a tariff is set: without one electricity is not counted, which is another thing than free."""
        return any(price for day in self.price for price in day)

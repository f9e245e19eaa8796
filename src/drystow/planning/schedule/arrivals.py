"""What is to be dried over the next days, in which dryers, and when somebody is there; as it is asked for too."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

from drystow.errors import InputError, InputErrors
from drystow.fields import Problems
from drystow.foods.model import Food
from drystow.machine.item import TrayItem
from drystow.machine.load import Rig, RigSpec, TraySpec
from drystow.machine.loading import rig_of, tray_item
from drystow.machine.sampling import Calibration
from drystow.messages import listed, msg, msg_many
from drystow.planning.hours import read_home, read_tariff
from drystow.planning.load.basket import holds, significant
from drystow.planning.schedule.cold_storage import Window, storage_window
from drystow.planning.separation import USUAL
from drystow.ranges import DAY, HOUR, RANGES, check

VOLUME = 1.7e-3  # freezer space of a kilogram of bagged pieces [m3/kg]; drystow-default
Span = tuple[datetime, datetime]


@dataclass(frozen=True)
class DryerSpec:
    """A dryer that food may be dried in, as it is asked for.

    name: of the dryer
    rig: machine and program
    turnaround: from unloading until it can be loaded again: defrosting, cleaning [s]
    service: spans in which it is not to be had
    known: what its earlier batches taught
    """

    name: str
    rig: RigSpec
    turnaround: float = 3 * HOUR
    service: tuple[Span, ...] = ()
    known: Calibration = field(default_factory=dict)


@dataclass(frozen=True)
class ArrivalSpec:
    """Food that arrives at one time, as it is asked for; what is None takes its usual value.

    name: of the lot
    tray: the food and its cut; its amount does not count
    mass: fresh mass [kg]
    arrives: when it is there
    tray_mass: on a full tray; as much as it holds [kg]
    value: of one kilogram [currency/kg]
    frozen: it arrives frozen
    fridge: how long it may wait in the refrigerator [s]
    freezer: how long it may wait in the freezer [s]
    must: all of it is wished to be dried
    needed_by: when it has to be unloaded at the latest
    drying_time: in place of the calculated time [s]
    volume: freezer space of one kilogram [m3/kg]
    dryers: names of those that it may go into, empty for all
    """

    name: str
    tray: TraySpec
    mass: float
    arrives: datetime
    tray_mass: float | None = None
    value: float = 1.0
    frozen: bool = False
    fridge: float | None = None
    freezer: float | None = None
    must: bool = False
    needed_by: datetime | None = None
    drying_time: float | None = None
    volume: float = VOLUME
    dryers: tuple[str, ...] = ()


@dataclass(frozen=True)
class PlanSpec:
    """What a schedule is asked for.

    begin: first moment of the plan
    dryers: machines
    arrivals: food
    title: of the plan
    days: that it covers
    step: grid of times, None for one chosen by the size of the plan [s]
    altitude: of the kitchen, for what is packed [m]
    home: hours of the week in which somebody is there, as `planning.hours` reads them
    tariff: price of electricity over the week, likewise
    freezer: space for food that waits, in the unit below
    freezer_by_mass: the space is a mass [kg], otherwise a volume [m3]
    rules: separation rules that hold
    """

    begin: datetime
    dryers: tuple[DryerSpec, ...]
    arrivals: tuple[ArrivalSpec, ...]
    title: str = msg("Untitled plan")
    days: int = 14
    step: float | None = None
    altitude: float = 0.0
    home: Mapping[str, Any] = field(default_factory=dict)
    tariff: Mapping[str, Any] = field(default_factory=dict)
    freezer: float = 0.0
    freezer_by_mass: bool = False
    rules: tuple[str, ...] = USUAL


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
    rig: machine and program
    turnaround: from unloading until it can be loaded again: defrosting, cleaning [s]
    service: spans in which it is not to be had
    known: what its earlier batches taught
    """

    name: str
    rig: Rig
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
    fixed: tuple[FixedBatch, ...] = ()
    now: datetime | None = None
    altitude: float = 0.0
    notes: tuple[str, ...] = ()

    @property
    def priced(self) -> bool:
        """Whether a tariff is set: without one electricity is not counted, which is another thing than free."""
        return any(price for day in self.price for price in day)


def lots_of(spec: PlanSpec, problems: Problems | None = None, arrivals: str = "arrival") -> Lots:
    """Return what a schedule is made from; raises `InputErrors` with every problem found.

    spec: what is asked for
    problems: that were found in reading it
    arrivals: what the list of food is called in problems
    """
    problems = Problems() if problems is None else problems
    check(spec, RANGES["plan"], "", problems)
    space = RANGES["freezer.mass" if spec.freezer_by_mass else "freezer.volume"]["space"]
    if not space.holds(spec.freezer):
        problems.append(space.problem("freezer.space", problems.as_written("", spec.freezer, space.kind)))
    home, price = read_home(spec.home, problems), read_tariff(spec.tariff, problems)
    dryers = [planned_dryer(one, f"dryer[{place}]", problems) for place, one in enumerate(spec.dryers, start=1)]
    _once([dryer.name for dryer in dryers], "dryer", problems)
    lots = []
    if not problems:
        each = enumerate(spec.arrivals, start=1)
        lots = [lot for place, one in each if (lot := _lot(one, f"{arrivals}[{place}]", dryers, problems)) is not None]
    _once([one.name for one in spec.arrivals], arrivals, problems)
    if problems:
        raise InputErrors(problems)
    return Lots(
        title=spec.title,
        begin=spec.begin,
        days=spec.days,
        step=spec.step or 0.0,
        home=home,
        price=price,
        freezer=spec.freezer,
        freezer_by_mass=spec.freezer_by_mass,
        rules=tuple(dict.fromkeys(("germs", *spec.rules))),
        dryers=tuple(dryers),
        lots=tuple(lots),
        altitude=spec.altitude,
        notes=tuple(problems.notes),
    )


def planned_dryer(spec: DryerSpec, prefix: str, problems: Problems) -> PlannedDryer:
    """Return a dryer for the schedule; something harmless where there are problems.

    spec: what is asked for
    prefix: its name in problems
    problems: to which every problem is added
    """
    check(spec, RANGES["plan.dryer"], prefix, problems)
    for begin, end in spec.service:
        if end <= begin:
            words = msg("write from and to, with the end after the beginning")
            problems.append(InputError(f"{prefix}.service", words))
    with in_dryer(problems, prefix) as inner:
        rig = rig_of(spec.rig, inner)
    return PlannedDryer(spec.name, rig, spec.turnaround, spec.service, spec.known)


@contextmanager
def in_dryer(problems: Problems, prefix: str) -> Iterator[Problems]:
    """Give problems for a dryer and its program, named as in a load file; they end up among those of a plan.

    problems: of the plan
    prefix: name of the dryer in the plan
    """
    inner, within = Problems(), f"{prefix}."
    inner.written = {key.removeprefix(within): text for key, text in problems.written.items() if key.startswith(within)}
    yield inner
    problems.written |= {within + key: text for key, text in inner.written.items()}
    for problem in inner:
        before, found, name = problem.field.partition("dryer")
        field = f"numbers{name}" if found and not before else problem.field
        problems.append(InputError(field, problem.message).under(prefix))


def _once(names: list[str], key: str, problems: Problems) -> None:
    for place, name in enumerate(names, start=1):
        if name in names[: place - 1]:
            words = msg("'{name}' is there twice; give each its own name", name=name)
            problems.append(InputError(f"{key}[{place}].name", words))


def _lot(spec: ArrivalSpec, prefix: str, dryers: list[PlannedDryer], problems: Problems) -> ArrivingLot | None:
    before = len(problems)
    check(spec, RANGES["arrival"], prefix, problems)
    names = [dryer.name for dryer in dryers]
    for name in spec.dryers:
        if name not in names:
            words = msg(
                "this file has no dryer '{name}'; write {names}",
                name=name,
                names=listed(f"'{one}'" for one in names),
            )
            problems.append(InputError(f"{prefix}.dryers", words))
    cuts: list[LotTray | None] = []
    for dryer in dryers:
        use = not spec.dryers or dryer.name in spec.dryers
        if len(problems) == before:
            cuts.append(_cut(spec, prefix, dryer.rig, problems) if use else None)
    try:
        window = window_of(spec.tray.food, (spec.fridge, spec.freezer))
    except InputError as problem:
        problems.append(problem.under(prefix))
    if len(problems) > before:
        return None
    return ArrivingLot(
        name=spec.name,
        arrival=spec.arrives,
        mass=spec.mass,
        value=spec.value,
        cuts=tuple(cuts),
        window=window,
        frozen=spec.frozen,
        must=spec.must,
        ready_by=spec.needed_by,
        drying_time=spec.drying_time or 0.0,
        volume=spec.volume,
    )


def _cut(spec: ArrivalSpec, prefix: str, rig: Rig, problems: Problems) -> LotTray | None:
    area = rig.dryer.tray_area
    most = holds(spec.tray, area, rig.dryer)
    full = min(spec.tray_mass or most, most)
    here = replace(spec.tray, mass=significant(full), area=None)
    fresh = tray_item(here, prefix, rig, problems)
    if fresh is None:
        return None
    frozen = tray_item(replace(here, start_temperature=None, frozen=True), prefix, rig, problems)
    return None if frozen is None else LotTray(full, fresh, frozen)

"""What to buy for a plan of batches: pouches or jars, and absorbers."""

from collections.abc import Iterable
from dataclasses import dataclass

from drystow.errors import InputError
from drystow.machine.item import TrayItem
from drystow.messages import msg
from drystow.packing.containers import choose, dried_bulk_density
from drystow.packing.packfile import PackSpec
from drystow.packing.plan import FRESH_BULK_DENSITY, pack_batch
from drystow.packing.seasons import YEAR, constant
from drystow.planning.schedule.arrivals import Lots
from drystow.planning.schedule.plan import Schedule

ROOM = 294.15  # while packing and keeping [K]; drystow-default
HUMIDITY = 0.5
KEEP = 5 * YEAR
MARGIN = 1.25
KINDS = ("pouch", "jar")  # that any kitchen can close


@dataclass(frozen=True)
class Wanted:
    """One line of the list.

    kind: container by its short name, or absorber
    name: in words
    count: how many
    """

    kind: str
    name: str
    count: int


@dataclass(frozen=True)
class Shopping:
    """What to buy.

    wanted: containers, then absorbers
    notes: sentences
    """

    wanted: tuple[Wanted, ...]
    notes: tuple[str, ...]


def packs_of(lots: Lots, made: Schedule) -> tuple[PackSpec, ...]:
    """Return what a plan will leave to be packed, each lot for itself, at its altitude and without a vacuum sealer.

    lots: what was to be dried
    made: the plan
    """
    packs = []
    for lot in lots.lots:
        fresh = sum(
            one.mass for batch in made.batches for one in batch.lots if one.name == lot.name and not one.verdict
        )
        if fresh > 0:
            packs.append(_pack(lot.name, lot.item, fresh, lots.altitude))
    return tuple(packs)


def _pack(name: str, item: TrayItem, fresh: float, altitude: float) -> PackSpec:
    dry = fresh * item.food.composition.solids / (1 - item.target)
    water = max(item.food.composition.water, item.target)
    bulk = dried_bulk_density(FRESH_BULK_DENSITY, water, item.target)
    return PackSpec(
        title=name,
        food=item.food,
        dry_mass=dry,
        residual_moisture=item.target,
        moisture_given=True,
        powder=False,
        size=item.cut.size,
        bulk_density=None,
        altitude=altitude,
        temperature=ROOM,
        air_left=1.0,
        margin=MARGIN,
        keep_for=KEEP,
        packed_on=None,
        lot="",
        container=choose(dry, bulk, False, KINDS)[0].container,
        count=0,
        seasons=constant(ROOM, HUMIDITY),
        label_notes=(),
    )


def shopping_list(packs: Iterable[PackSpec]) -> Shopping:
    """Return the containers and absorbers that packs need together; each food is packed for itself.

    packs: what is packed, one for each food
    """
    boxes: dict[str, Wanted] = {}
    sachets: dict[int, int] = {}
    notes: list[str] = []
    for pack in packs:
        try:
            plan = pack_batch(pack)
        except InputError as problem:
            notes.append(msg("{food}: {problem}", food=pack.food.name, problem=problem.message))
            continue
        box, count = plan.container, plan.filling.count
        had = boxes[box.id].count if box.id in boxes else 0
        boxes[box.id] = Wanted(box.id, box.name, had + count)
        for size in plan.absorbers.sachets:
            sachets[size] = sachets.get(size, 0) + count
    bought = [
        Wanted("absorber", msg("oxygen absorber, {size} cc", size=size), sachets[size]) for size in sorted(sachets)
    ]
    if sachets:
        notes.append(
            msg(
                "Absorbers go bad in air. Open a bag only when packages are ready to seal, and reseal the rest at once."
            )
        )
    return Shopping((*sorted(boxes.values(), key=lambda one: one.kind), *bought), tuple(dict.fromkeys(notes)))

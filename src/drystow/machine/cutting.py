"""Food as it is asked for, laid on trays: how it is cut, how dense it is, and what of a tray it has for itself."""

from collections import defaultdict
from collections.abc import Sequence

from drystow.drying.layer import SHAPES, layer_of
from drystow.errors import InputError, unknown
from drystow.fields import Problems
from drystow.foods.kinds import property_of
from drystow.machine.load import TraySpec
from drystow.machine.pieces import EDGED, PACKINGS, SURFACES, WRAPPERS, Cut, Lie, lie_of, room_wanted
from drystow.machine.profile import Dryer
from drystow.messages import msg
from drystow.properties import thermal
from drystow.ranges import RANGES, check

POURED = ("pour", "beaten")
"""Ways of going on a tray, of classes.toml, by which food runs level unless it comes frozen."""


def rooms_of(trays: Sequence[TraySpec], dryer: Dryer) -> list[float]:
    """Return the area of its tray that each food has for itself [m2].

    It is the one that is written. What shares a tray shares what is left of it by what each takes in one layer; what
    has neither an area nor the number of a tray has a whole one.

    trays: as they are asked for
    dryer: with the trays
    """
    whole = dryer.tray_area
    free: defaultdict[int | None, float] = defaultdict(lambda: whole)
    wanted: defaultdict[int | None, float] = defaultdict(float)
    takes = [_takes(tray) for tray in trays]
    for tray, take in zip(trays, takes, strict=True):
        if tray.tray is not None and tray.area is not None:
            free[tray.tray] -= tray.area
        elif tray.tray is not None:
            wanted[tray.tray] += take
    rooms = []
    for tray, take in zip(trays, takes, strict=True):
        if tray.area is not None:
            rooms.append(tray.area)
        elif tray.tray is None:
            rooms.append(whole)
        else:
            left = free[tray.tray] if free[tray.tray] > 0.0 else whole  # what is too much is told elsewhere
            rooms.append(left * take / wanted[tray.tray] if wanted[tray.tray] > 0.0 else left)
    return rooms


def _takes(spec: TraySpec) -> float:
    """Return the area that food takes in one layer [m2], 0 where it cannot be, which is told elsewhere."""
    problems: list[InputError] = []
    check(spec, RANGES["tray"], "", problems)
    check(spec.heat, RANGES["tray.heat"], "", problems)
    possible = not problems and spec.shape in SHAPES
    return room_wanted(cut_of(spec), spec.mass, fresh_density_of(spec)) if possible else 0.0


def lies_of(trays: Sequence[TraySpec], dryer: Dryer) -> list[Lie]:
    """Return how each food lies on its tray, also in a load that the engine refuses.

    trays: as they are asked for
    dryer: with the trays
    """
    return [
        lie_of(cut_of(tray), tray.mass, fresh_density_of(tray), room, tray.area)
        for tray, room in zip(trays, rooms_of(trays, dryer), strict=True)
    ]


def cut_of(spec: TraySpec) -> Cut:
    """Return how a food is cut, and what it lies on and in, with what is usual where nothing is written.

    spec: what is asked for
    """
    return Cut(
        shape=spec.shape,
        size=spec.size,
        width=spec.width,
        length=spec.length,
        faces=spec.faces or (2 if spec.on == "mesh" else 1),
        packing=spec.packing or "",
        pours=not spec.frozen and property_of("form", spec.food.food_class, spec.food.like) in POURED,
        wrapper=spec.wrapper,
        opening=spec.opening,
    )


def check_cut(spec: TraySpec, prefix: str, problems: Problems) -> None:
    """Add a problem for each thing said of how food is cut and laid that cannot be, alone or beside another.

    spec: what is asked for
    prefix: its name in problems
    problems: to which every problem is added
    """
    for name, value, options, what in (
        ("packing", spec.packing, PACKINGS, msg("packing")),
        ("on", spec.on, SURFACES, msg("surface")),
        ("wrapper", spec.wrapper, WRAPPERS, msg("wrapper")),
    ):
        if value is not None and value not in options:
            problems.append(unknown(f"{prefix}.{name}", value, options, what))
    wrapped = spec.wrapper != WRAPPERS[0]
    for name, wrong, words in (
        ("width", spec.width is not None and spec.shape not in EDGED,
         msg("only slices and sticks have a width; take it out, or write shape = 'slab' or 'stick'")),
        ("length", spec.length is not None and spec.shape not in EDGED,
         msg("only slices and sticks have a length; take it out, or write shape = 'slab' or 'stick'")),
        ("length", spec.length is not None and spec.width is None and spec.shape == "slab",
         msg("a slice with a length needs its width, too; a round one has a width alone")),
        ("packing", spec.packing == "poured" and (spec.shape != "slab" or wrapped),
         msg("only a layer can be poured; write shape = 'slab', or another packing")),
        ("wrapper", spec.wrapper == "cup" and spec.shape != "slab",
         msg("what stands in cups is a layer; write shape = 'slab' and its depth in the cup as size")),
        ("opening", spec.opening is not None and not wrapped,
         msg("there is no wrapper to be open; write wrapper = 'slit' or 'cup', or take this out")),
        ("wrapper_mass", spec.wrapper_mass is not None and not wrapped,
         msg("there is no wrapper to weigh; write wrapper = 'slit' or 'cup', or take this out")),
    ):  # fmt: skip
        if wrong:
            problems.append(InputError(f"{prefix}.{name}", words))


def fresh_density_of(spec: TraySpec) -> float:
    """Return the density of the fresh food on a tray, with the air between its cells [kg/m3].

    spec: what is asked for
    Source: definition, as written, else of its composition.
    """
    porosity = layer_of(spec.food.food_class).porosity
    written = spec.heat.bulk_density
    return float(thermal.fresh_density(spec.food.composition, porosity)) if written is None else written

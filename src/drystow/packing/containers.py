"""Containers: what they hold, what they let through, which and how many a batch needs."""

import tomllib
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from math import ceil, exp, log, pi
from typing import Any

from drystow.constants import ATMOSPHERE
from drystow.errors import InputError, check_range, unknown
from drystow.messages import msg
from drystow.shown import quantity
from drystow.units import parse

CM3_PER_M2_DAY_ATM = 1e-6 / 86400 / ATMOSPHERE
"""One cm3/(m2 day atm), the unit of oxygen transmission on data sheets [m3/(m2 s Pa)]. Source: definition."""

ML_PER_DAY = 1e-6 / 86400
"""One millilitre a day [m3/s]. Source: definition."""

POUCH_FILL = 0.6
"""Share of a pouch's largest pillow volume that leaves room to close it [-]. Source: packaging-recall."""

OXYGEN_BARRIER = 1.0 * CM3_PER_M2_DAY_ATM
"""Walls up to this transmission keep an absorber useful for years [m3/(m2 s Pa)]. Source: barrier-calc."""


@dataclass(frozen=True)
class Material:
    """A wall.

    id: name in files
    name: name as printed
    oxygen: oxygen transmission [m3/(m2 s Pa)]
    vapour: water vapor transmission at 38 °C and 90% RH [kg/(m2 s)]
    spread: factor within which the true values lie [-]
    source: key in sources.toml
    mark: how sure
    """

    id: str
    name: str
    oxygen: float
    vapour: float
    spread: float
    source: str
    mark: str


@dataclass(frozen=True)
class Container:
    """A container, empty.

    id: name in files
    name: name as printed
    kind: pouch, can, jar, bucket, bag or custom
    material: of its wall
    inside: volume inside, to the brim; of a pouch, closed by hand [m3]
    volume: that can be filled [m3]
    area: through which gas passes [m2]
    leak: oxygen through the closure from room air at sea level [m3/s]
    source: key in sources.toml of volume, area and leak
    mark: how sure volume, area and leak are
    """

    id: str
    name: str
    kind: str
    material: Material
    inside: float
    volume: float
    area: float
    leak: float
    source: str
    mark: str

    @property
    def soft(self) -> bool:
        """Return whether the walls give way to a vacuum. Source: definition."""
        return self.kind in ("pouch", "bag")

    @property
    def oxygen_barrier(self) -> bool:
        """Return whether an absorber inside lasts for years. Source: barrier-calc."""
        return self.material.oxygen <= OXYGEN_BARRIER and self.leak <= 0.1 * ML_PER_DAY


@dataclass(frozen=True)
class Filling:
    """A batch in containers of one kind, shared out evenly.

    container: the kind
    count: how many
    mass_each: dried food in each [kg]
    fill: share of the usable volume that is filled [-]
    notes: practical sentences
    """

    container: Container
    count: int
    mass_each: float
    fill: float
    notes: tuple[str, ...]


def pillow_volume(width: float, height: float) -> float:
    """Largest volume of a flat pouch of two sheets blown up to a pillow [m3].

    width: the shorter side inside the seals [m]
    height: the longer side inside the seals [m]
    Valid: height at least the width.
    Source: pillow-volume. Within a few per cent.

    >>> print(f"{pillow_volume(0.254, 0.3556) * 1000:.2f} L")
    5.07 L
    """
    check_range("width", width, 0, 5, "length", above=True)
    check_range("height", height, width, 10, "length", hint=msg("give the longer side as the height"))
    ratio = height / width
    return width**3 * (ratio / pi - 0.142 * (1 - exp(-ratio * log(10))))


@cache
def _table() -> dict[str, dict[str, dict[str, Any]]]:
    return tomllib.loads(files("drystow.packing").joinpath("containers.toml").read_text(encoding="utf-8"))


@cache
def materials() -> dict[str, Material]:
    """Return every wall by id."""
    return {
        key: Material(
            key,
            msg(row["name"]),
            row["oxygen"] * CM3_PER_M2_DAY_ATM,
            parse(row["vapour"], "water vapor transmission", key),
            row["spread"],
            row["source"],
            row["mark"],
        )
        for key, row in _table()["material"].items()
    }


@cache
def containers() -> dict[str, Container]:
    """Return every container by id."""
    return {key: _container(key, row) for key, row in _table()["container"].items()}


def _container(key: str, row: dict[str, Any]) -> Container:
    name, kind, material = msg(row["name"]), row["kind"], materials()[row["material"]]
    leak = row.get("leak", 0.0) * ML_PER_DAY
    if "width" in row:
        width, height = (parse(row[side], "length", key) for side in ("width", "height"))
        volume, area = POUCH_FILL * pillow_volume(width, height), 2 * width * height
        return Container(key, name, kind, material, volume, volume, area, leak, "pillow-volume", "calc")
    inside = parse(row["volume"], "volume", key)
    area = parse(row["area"], "area", key)
    usable = row["fill"] * inside
    return Container(key, name, kind, material, inside, usable, area, leak, row["source"], row["mark"])


def container(name: str) -> Container:
    """Return the container called `name`, or raise `InputError` with the nearest names.

    name: id such as ``jar-quart``
    """
    if name not in containers():
        raise unknown("container.kind", name, containers(), msg("container"))
    return containers()[name]


def dried_bulk_density(fresh_bulk_density: float, fresh_moisture: float, dry_moisture: float) -> float:
    """Mass of dried pieces per volume they fill loosely [kg/m3].

    fresh_bulk_density: fresh mass per volume filled [kg/m3]
    fresh_moisture: water before drying, wet basis [-]
    dry_moisture: water after drying, wet basis [-]
    Valid: pieces that keep their size, as well freeze-dried food does; powder is denser.
    Source: definition, dry solids are the same before and after.

    >>> print(f"{dried_bulk_density(600.0, 0.91, 0.02):.0f}")
    55
    """
    check_range("fresh_bulk_density", fresh_bulk_density, 50, 2000, "kg/m3")
    check_range("fresh_moisture", fresh_moisture, 0, 0.99, "")
    hint = msg("dried food must hold less water than fresh")
    check_range("dry_moisture", dry_moisture, 0, fresh_moisture, "", hint=hint)
    return fresh_bulk_density * (1 - fresh_moisture) / (1 - dry_moisture)


def fill(kind: Container, dry_mass: float, bulk_density: float, powder: bool, count: int = 0) -> Filling:
    """Share a batch out over containers of one kind.

    kind: the container
    dry_mass: dried food of the batch [kg]
    bulk_density: of the dried food, loosely filled [kg/m3]
    powder: powder instead of pieces
    count: wished number, or 0 for as few as hold the batch
    """
    check_range("dry_mass", dry_mass, 0, 1e4, "mass", above=True)
    check_range("bulk_density", bulk_density, 10, 1500, "kg/m3")
    volume = dry_mass / bulk_density
    fewest = max(1, ceil(volume / kind.volume - 1e-9))
    if count and count < fewest:
        problem = msg(
            "{count} of '{container}' can't hold {volume} of food; use {fewest} or more",
            count=count,
            container=kind.name,
            volume=quantity(volume, "large volume"),
            fewest=fewest,
        )
        raise InputError("container.count", problem)
    number = count or fewest
    return Filling(kind, number, dry_mass / number, volume / number / kind.volume, _notes(kind, powder))


def _notes(kind: Container, powder: bool) -> tuple[str, ...]:
    notes = []
    if kind.soft and not powder:
        notes += [
            msg(
                "Brittle pieces puncture a pouch when the vacuum pulls it tight. Round off sharp ends, "
                "line the pouch with paper, or use a rigid container."
            ),
            msg("A strong vacuum crushes crisp pieces; an absorber alone is gentler."),
        ]
    if kind.soft and powder:
        notes.append(
            msg("Keep powder off the seal, where it makes channels. Powder drawn into a vacuum sealer damages it.")
        )
    if kind.material.id == "glass":
        notes.append(
            msg(
                "Pull a vacuum only on glass made for it, never on scratched or unrated jars: they can "
                "implode. Keep glass in the dark and check the lids once a year: they should be pulled "
                "in."
            )
        )
    if kind.kind == "can":
        notes.append(
            msg("A can is only as tight as its seam. Check the first seams of a batch, and watch for swelling or rust.")
        )
    if not kind.oxygen_barrier:
        notes.append(
            msg(
                "'{container}' lets oxygen through, so an absorber in it is soon used up. Good for weeks, not years.",
                container=kind.name,
            )
        )
    if kind.id == "bucket-5-gallon-liner":
        notes.append(msg("The sealed liner is the barrier; the bucket only protects it."))
    return tuple(notes)


def choose(dry_mass: float, bulk_density: float, powder: bool, kinds: tuple[str, ...] = ()) -> tuple[Filling, ...]:
    """Return the ways to pack a batch, best first: oxygen barriers, well filled, few, with little empty room.

    dry_mass: dried food of the batch [kg]
    bulk_density: of the dried food, loosely filled [kg/m3]
    powder: powder instead of pieces
    kinds: kinds to choose from (pouch, can, jar, bucket, bag), or none for all
    """
    known = {item.kind for item in containers().values()}
    for word in kinds:
        if word not in known:
            raise unknown("kinds", word, known, msg("kind of container"))
    fillings = [
        fill(item, dry_mass, bulk_density, powder) for item in containers().values() if not kinds or item.kind in kinds
    ]
    return tuple(sorted(fillings, key=_rank))


def _rank(one: Filling) -> tuple[bool, bool, int, float]:
    empty = one.count * one.container.volume * (1 - one.fill)
    return not one.container.oxygen_barrier, one.fill < 0.5, one.count, empty


def custom(
    name: str, material: Material, volume: float, area: float, leak: float, vapour: float | None = None
) -> Container:
    """Return a container of the user's own.

    name: as printed
    material: of its wall
    volume: inside, all of it usable [m3]
    area: through which gas passes [m2]
    leak: further oxygen that comes in, from room air at sea level [m3/s]
    vapour: water vapor transmission at 38 °C and 90% RH, or None for the material's [kg/(m2 s)]
    """
    check_range("volume", volume, 1e-6, 1, "large volume")
    check_range("area", area, 1e-4, 20, "area")
    check_range("leak", leak, 0, 1e-6, "m3/s")
    wall = material if vapour is None else replace(material, vapour=vapour, mark="read")
    return Container(
        "custom", name, "custom", wall, volume, volume, area, leak, "drystow-default", msg("your own numbers")
    )

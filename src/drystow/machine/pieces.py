"""How food lies on a tray: cut, how many pieces, what of the tray they cover, and how far their vapor has to go.

Everything that asks how much of a tray a food takes asks here: loads, planning, the pictures of the pages.
"""

import math
from dataclasses import dataclass, replace

PACKINGS = ("apart", "touching", "piled", "poured")
"""Ways that food lies on a tray; `usual_packing` says which one where nobody does."""

SURFACES = ("tray", "mat", "mesh")
"""What food lies on: slices dry from one face on a tray or a mat, from both on a mesh."""

WRAPPERS = ("none", "slit", "cup")
"""What food is in: nothing, a wrapper slit open, an open cup."""

PILE = 0.6  # share of the volume that piled pieces fill; household-day
ROUND_LAYER = 0.9  # share of a tray that round pieces cover side by side at most; definition, 0.907 in hexagons
BLOCK_LAYER = 0.95  # the same for blocks; definition
SLACK = 1.0 + 1e-6  # more than this times a full layer is more than one layer
VAPOR_SPEED = 857.0  # resistance of a free opening to vapor at -20 °C, sqrt(2 pi R T / M) [m/s]; effusion
SLIT_OPEN = 0.02  # share of a wrapper that a slit opens; drystow-default
WRAPPER_SPREADS = {"none": 0.0, "slit": 1.1, "cup": 0.3}
"""One standard deviation of the logarithm of a wrapper's resistance; 1.1 is a factor of 3. Source: drystow-default."""

CUP_WIDTH = 0.06  # inner width of a cup [m]; drystow-default
EDGED = ("slab", "stick")  # shapes whose pieces may have a width and a length of their own


@dataclass(frozen=True)
class Areas:
    """The three areas of a tray item.

    outer: area that vapour leaves by [m2]
    contact: area resting on the tray [m2]
    above: area facing the heater above [m2]
    """

    outer: float
    contact: float
    above: float


@dataclass(frozen=True)
class Cut:
    """How a food is cut, and what it lies on and in.

    shape: slab, stick, sphere or cube
    size: thickness, diameter or edge [m]
    width: of a slice or a stick, or None: slices without edges, round sticks [m]
    length: of a slice or a stick, or None: round slices, sticks without ends [m]
    faces: faces of a slice that dry, 1 or 2
    packing: one of `PACKINGS`, or empty for the usual one
    pours: it runs level, as a drink does
    wrapper: one of `WRAPPERS`
    opening: share of the wrapper that is open, or None for the usual one [-]
    """

    shape: str
    size: float
    width: float | None = None
    length: float | None = None
    faces: int = 1
    packing: str = ""
    pours: bool = False
    wrapper: str = "none"
    opening: float | None = None

    @property
    def levels(self) -> bool:
        """It stands level over its area, as deep as its amount makes it."""
        poured = self.packing == "poured" or (self.pours and not self.packing)
        return poured and self.shape == "slab" and self.wrapper == "none"

    @property
    def volume(self) -> float | None:
        """Volume of one piece, None where its edges are not known [m3]."""
        size, width, length = self.size, self.width, self.length
        if self.shape == "sphere":
            return math.pi / 6.0 * size**3
        if self.shape == "cube":
            return size**3
        if width is not None and length is not None:
            return size * width * length
        if self.shape == "slab":
            return None if width is None else 0.25 * math.pi * width**2 * size
        return None if length is None or width is not None else 0.25 * math.pi * size**2 * length

    @property
    def shadow_per_volume(self) -> float:
        """Area that pieces shade, over their volume [1/m]."""
        round_stick = self.shape == "stick" and self.width is None
        return (4.0 / math.pi if round_stick else 1.5 if self.shape == "sphere" else 1.0) / self.size

    @property
    def full_layer(self) -> float:
        """Share of a tray that one layer of pieces shades at most [-]."""
        if self.shape == "slab" and self.width is None and self.wrapper != "cup":
            return 1.0  # a spread or slices of which nobody knows the edges
        round_piece = self.shape == "sphere" or (self.shape == "slab" and self.length is None)
        return ROUND_LAYER if round_piece else BLOCK_LAYER

    @property
    def edges_shut(self) -> bool:
        """Its edges let no vapor out: the wall of a cup, or the piece beside it."""
        flush = self.shape == "cube" or (self.shape in EDGED and self.width is not None and self.length is not None)
        return self.wrapper == "cup" or (self.packing == "touching" and flush)


@dataclass(frozen=True)
class Lie:
    """How food lies on its tray.

    cut: of the food
    mass: of the food [kg]
    wanted: area that it takes in one layer [m2]
    packing: one of `PACKINGS`
    count: number of pieces, or None where nobody said how wide they are [-]
    shadow: area of the tray that it shades [m2]
    room: area of the tray that is its own, or None where there is no tray [m2]
    layers: pieces above each other, 1 for a single layer [-]
    height: above the tray [m]
    shape: slab, stick, sphere or cube, as it freezes and dries
    size: thickness, diameter or edge, as it freezes and dries [m]
    faces: faces of a slab that dry
    dimension: shape number: outer surface times drying length over volume [-]
    length: drying length [m]
    resting: it dries from one side and lies frozen on what is below it
    areas: outer, contact and above
    """

    cut: Cut
    mass: float
    wanted: float
    packing: str
    count: float | None
    shadow: float
    room: float | None
    layers: float
    height: float
    shape: str
    size: float
    faces: int
    dimension: float
    length: float
    resting: bool
    areas: Areas

    @property
    def coverage(self) -> float | None:
        """Share of its part of the tray that it shades, None where there is no tray [-]."""
        return None if self.room is None else min(self.shadow / self.room, 1.0)

    @property
    def piled(self) -> bool:
        """Pieces lie on each other."""
        return self.layers > SLACK


def lie_of(cut: Cut, mass: float, density: float, room: float | None, area: float | None = None) -> Lie:
    """Return how food lies on a tray.

    cut: of the food
    mass: fresh mass [kg]
    density: of the fresh food [kg/m3]
    room: area of the tray that is its own, None where there is no tray [m2]
    area: that was said to be covered and wins over what follows from mass and size, or None [m2]
    Source: definition, geometry; more than a full layer dries as a bed of its depth.
    """
    volume, one_layer_takes = mass / density, room_wanted(cut, mass, density)
    said = (cut, mass, one_layer_takes)
    count = None if cut.volume is None else volume / cut.volume
    space = area if area is not None else room
    wanted = volume * cut.shadow_per_volume
    written = area is not None and cut.shape == "slab"
    if room is not None and space is not None:
        if cut.levels:
            return _bed(said, "poured", volume, space, 1.0, None)
        layers = one_layer_takes / space
        loose = volume / (PILE * space)
        if not written and cut.packing == "piled" and loose > cut.size * SLACK:
            return _bed(said, "piled", volume, space, PILE, count)
        if not written and layers > SLACK:
            flat = cut.shape == "slab"
            return _bed(said, "piled", volume, space, cut.full_layer if flat else PILE, count)
    length, dimension = _path(cut)
    packing = cut.packing if cut.packing in ("apart", "touching") else "apart"
    if written:
        shadow = area or 0.0
        outer = shadow * (cut.size * dimension / length)
    else:
        shadow = wanted if space is None else min(wanted, space)
        outer = volume * dimension / length
    side_by_side = one_layer_takes if packing == "touching" else math.inf
    seen = outer if _one_sided(cut) else 0.5 * outer
    above = min(seen, max(shadow, min(math.inf if space is None else space, side_by_side)))
    flush = cut.edges_shut and cut.shape != "slab"
    return Lie(
        *said,
        packing=packing,
        count=count,
        shadow=shadow,
        room=space,
        layers=1.0,
        height=volume / (area or 1.0) if written else cut.size,
        shape="slab" if flush else cut.shape,
        size=cut.size,
        faces=cut.faces,
        dimension=dimension,
        length=length,
        resting=_one_sided(cut),
        areas=Areas(outer, shadow, above),
    )


def _one_sided(cut: Cut) -> bool:
    return cut.faces == 1 and (cut.shape == "slab" or cut.edges_shut)


def _path(cut: Cut) -> tuple[float, float]:
    """Return drying length [m] and shape number of one piece.

    What lies on something vapor-tight dries like the upper half of the piece and its mirror image below.
    """
    if cut.shape == "sphere" or (cut.shape == "cube" and not cut.edges_shut):
        return 0.5 * cut.size, 3.0
    height = 2.0 * cut.size if _one_sided(cut) else cut.size
    if cut.edges_shut:
        return 0.5 * height, 1.0
    if cut.shape == "slab":
        width = math.inf if cut.width is None else cut.width
        length = width if cut.length is None else cut.length
    else:
        width = cut.size if cut.width is None else cut.width
        length = math.inf if cut.length is None else cut.length
    short, middle, long = sorted((height, width, length))
    return 0.5 * short, 1.0 + short / middle + short / long


def _bed(
    said: tuple[Cut, float, float], packing: str, volume: float, space: float, fill: float, count: float | None
) -> Lie:
    """Return food that lies over all of its area: one level, or pieces in more than one layer.

    It dries downward through its whole depth. Vapor leaves a pile between its pieces, so by all their surfaces.
    """
    cut, depth = said[0], volume / (fill * space)
    one = space if packing == "poured" or cut.full_layer == 1.0 else cut.full_layer * space
    outer = space
    if packing == "piled" and cut.full_layer < 1.0:
        length, dimension = _path(replace(cut, packing=""))
        outer = max(space, volume * dimension / length)
    return Lie(
        *said,
        packing=packing,
        count=count,
        shadow=space,
        room=space,
        layers=1.0 if packing == "poured" else max(depth / cut.size, 1.0),
        height=depth,
        shape="slab",
        size=depth,
        faces=1,
        dimension=1.0,
        length=depth,
        resting=True,
        areas=Areas(outer, one, space),
    )


def room_wanted(cut: Cut, mass: float, density: float) -> float:
    """Return the area that food takes in one layer [m2].

    cut: of the food
    mass: fresh mass [kg]
    density: of the fresh food [kg/m3]
    Source: definition, shadow of the pieces over the share that one layer shades at most.
    """
    return mass / density * cut.shadow_per_volume / cut.full_layer


def one_layer(cut: Cut, density: float, area: float) -> float:
    """Return how much of a food lies on an area in one layer [kg].

    cut: of the food
    density: of the fresh food [kg/m3]
    area: of the tray [m2]
    Source: definition, as in `room_wanted`.
    """
    return area / room_wanted(cut, 1.0, density)


def holds(cut: Cut, density: float, area: float, rim: float) -> float:
    """Return how much of a food an area of a tray holds: slices in one layer, other pieces up to the rim [kg].

    cut: of the food
    density: of the fresh food [kg/m3]
    area: of the tray [m2]
    rim: its height [m]
    Source: household-day, pieces fill about 60% of a pile.
    """
    layer = one_layer(cut, density, area)
    return layer if cut.shape == "slab" else max(layer, density * area * PILE * rim)


def covering_resistance(cut: Cut) -> float:
    """Resistance of a wrapper to vapor, per outer area of the food [m/s].

    cut: of the food
    Valid: pressures below about 200 Pa; the free path is then at least a tenth of the opening.
    Source: effusion, free molecular flow through an opening, and for a cup through the column above the food.
    Known error: a factor of 3 for a slit, whose gap nobody measures; denser vapor passes up to 1.7 times more easily.
    """
    if cut.wrapper == "slit":
        return VAPOR_SPEED / (SLIT_OPEN if cut.opening is None else cut.opening)
    if cut.wrapper == "cup":
        column = 0.75 * cut.size / (CUP_WIDTH if cut.width is None else cut.width)
        return VAPOR_SPEED / (1.0 if cut.opening is None else cut.opening) * (1.0 + column)
    return 0.0

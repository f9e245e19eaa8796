"""Batches as people load them: one to three trays of common foods, and when they look at them."""

from dataclasses import dataclass

import numpy as np

from drystow.errors import InputErrors
from drystow.machine.load import Load
from drystow.machine.loadfile import parse_load
from drystow.machine.profile import dryer_profile
from drystow.machine.run import simulate

SLAB_FILL, PILE_FILL = 1000.0, 550.0  # mass per area and thickness of a full tray [kg/m3]; common practice
MOST_TRIES = 20


@dataclass(frozen=True)
class Kind:
    """A food and how it is cut.

    food: name in the table
    shape: slab, stick, sphere or cube
    thin: thinnest [mm]
    thick: thickest [mm]
    """

    food: str
    shape: str
    thin: float
    thick: float


KINDS = (
    Kind("Strawberries, raw", "slab", 6, 11),
    Kind("Apples, raw, without skin", "slab", 5, 9),
    Kind("Bananas, raw", "slab", 5, 9),
    Kind("Blueberries, raw", "sphere", 10, 13),
    Kind("Mangos, raw", "cube", 8, 13),
    Kind("Carrots, raw", "stick", 6, 10),
    Kind("Green beans, raw", "stick", 6, 9),
    Kind("Tomatoes, raw", "slab", 6, 10),
    Kind("Corn, sweet, yellow, raw", "sphere", 8, 10),
    Kind("Mushrooms, raw", "slab", 5, 9),
    Kind("Potato, boiled, NFS", "cube", 8, 12),
    Kind("Chicken breast, stewed, skin not eaten", "cube", 8, 13),
    Kind("Beef, ground", "slab", 6, 10),
    Kind("Ham", "cube", 7, 11),
    Kind("Stew, beef", "slab", 7, 12),
    Kind("Soup, lentil", "slab", 7, 11),
    Kind("Macaroni and cheese, frozen entree", "slab", 8, 12),
    Kind("Yogurt, plain, whole milk", "slab", 6, 10),
    Kind("Ice creams, vanilla", "slab", 6, 9),
    Kind("Egg, whole, raw", "slab", 6, 10),
    Kind("Egg, whole, cooked, scrambled", "cube", 7, 11),
)


@dataclass(frozen=True)
class Scene:
    """One batch as a person wrote it down.

    load: food, dryer and program
    groups: numbers of the items (from 0) of each tray
    planned: when the plain simulation expects all to be dry, since drying began [s]
    """

    load: Load
    groups: tuple[tuple[int, ...], ...]
    planned: float


def scene(seed: int, most: int = 3) -> Scene:
    """Return a batch.

    seed: the same seed gives the same batch
    most: trays at most
    """
    random = np.random.default_rng([seed, 1])
    for _ in range(MOST_TRIES):
        raw, groups = _written(random, most)
        try:
            load = parse_load(raw)
        except InputErrors:  # too much for rim or trap: the person takes another load
            continue
        result = simulate(load, series=False)
        dry = [tray.dry_end for tray in result.trays]
        if all(time is not None for time in dry):
            return Scene(load, groups, max(time for time in dry if time is not None) - result.drying_start)
    raise RuntimeError(f"no batch of seed {seed} dries")


def _written(random: np.random.Generator, most: int) -> tuple[dict[str, object], tuple[tuple[int, ...], ...]]:
    profile = str(random.choice(["bench-4", "kitchen-5"]))
    whole = dryer_profile(profile).tray_area
    trays, groups = [], []
    for _ in range(int(random.choice([1, 2, 3], p=[0.5, 0.3, 0.2])) if most > 1 else 1):
        items = 2 if random.random() < 0.12 else 1
        groups.append(tuple(range(len(trays), len(trays) + items)))
        for _ in range(items):
            trays.append(_tray(random, whole / items))
    last = random.choice([35, 40, 45, 50, 55])
    shelf = [f"{random.choice([-15, -10, -5])} degC for {random.choice([1, 2, 4])} h"]
    if random.random() < 0.6:
        shelf.append(f"{random.choice([5, 10, 20])} degC for {random.choice([4, 6, 8])} h")
    shelf.append(f"{last} degC until dry")
    return {"title": "Trial", "dryer": {"profile": profile}, "program": {"shelf": shelf}, "tray": trays}, tuple(groups)


def _tray(random: np.random.Generator, area: float) -> dict[str, object]:
    kind = KINDS[int(random.integers(len(KINDS)))]
    size = float(random.uniform(kind.thin, kind.thick))
    fill = SLAB_FILL if kind.shape == "slab" else PILE_FILL
    share = random.uniform(0.85, 1.1) if kind.shape == "slab" else random.uniform(0.6, 1.1)
    table: dict[str, object] = {
        "food": kind.food,
        "shape": kind.shape,
        "size": f"{size:.1f} mm",
        "area": f"{area:.4f} m^2",
        "mass": f"{1000.0 * fill * area * size / 1000.0 * share:.0f} g",
    }
    if random.random() < 0.4:
        table |= {"frozen": True, "start_temperature": "-25 degC"}
    if random.random() < 0.2:
        table["final_moisture"] = f"{random.choice([2.5, 3, 4, 5])}%"
    return table

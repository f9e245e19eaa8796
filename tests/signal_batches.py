"""Members of one load, some of which play the truth: what probe, gauge, meter and knife show of them."""

from dataclasses import replace
from typing import Any

import numpy as np

from drystow.evidence.dryness.chamber import closed_chamber, vapour_after
from drystow.evidence.dryness.courses import View, program_to, run_courses, views_of
from drystow.evidence.dryness.curves import expected_power
from drystow.evidence.dryness.observed import (
    Clock,
    CutPiece,
    Evidence,
    ObservedRise,
    PowerReading,
    PressureReading,
    ProbeReading,
)
from drystow.machine.loadfile import parse_load
from drystow.machine.sampling import SHELF_ERROR, column, load_samples

HOUR = 3600.0
NEVER = Clock(np.array([]), np.array([]))
TRAY = {
    "food": "Blueberries, raw", "mass": "0.8 kg", "shape": "sphere", "size": "13 mm", "skin_state": "halved",
    "areas": {"above": "0.1844 m^2"},  # half of their surface: heat from all sides, more than a tray catches from above
}  # fmt: skip


def batch_view(trays: int = 1, members: int = 300, horizon: int = 45, seed: int = 5) -> View:
    """Members of a load of berries, looked at every hour, without any evidence yet."""
    raw: dict[str, Any] = {
        "dryer": {"profile": "bench-4"},
        "program": {"shelf": ["-10 degC for 2 h", "45 degC until dry"]},
        "tray": [TRAY] * trays,
    }
    load = parse_load(raw)
    sample_times = [HOUR * hour for hour in range(1, horizon)]
    draws = load_samples(load, members, seed)
    program = program_to(load, sample_times[-1])
    runs = run_courses(load, draws, program, sample_times, 2, None, lambda _count: None)
    held = np.random.default_rng(seed).standard_normal((members, trays))
    groups = [(number,) for number in range(trays)]
    return views_of(load, runs, groups, 2, Evidence(), NEVER, sample_times[-1], held)[0]


def seen_of(view: View, evidence: Evidence) -> View:
    """The same members with other evidence."""
    return replace(view, evidence=evidence)


def probe_rows(view: View, member: int, indices: list[int], random: np.random.Generator) -> tuple[ProbeReading, ...]:
    """A probe in any piece of the tray, off by up to two kelvin."""
    runs = view.runs
    part = random.choice(view.parts[0], p=view.shares)
    off, lead = random.normal(0.0, 1.0), random.uniform(0.0, 0.1)
    rows = []
    for index in indices:
        food, shelf = runs.temperature[member, index, part], runs.shelf[member, index]
        shown = shelf - SHELF_ERROR * runs.draws[member, column("shelf")]
        product = food + lead * (shelf - food) + off + random.normal(0.0, 0.4)
        rows.append(ProbeReading(1, float(runs.sample_times[index]), float(product), float(shown)))
    return tuple(rows)


def rise_rows(view: View, member: int, indices: list[int], random: np.random.Generator) -> tuple[ObservedRise, ...]:
    """Half a minute closed; a gauge of either kind, a leak and a volume that nobody wrote down exactly."""
    dryer = view.load.rig.dryer
    factor = random.choice([1.0, 1.6])
    leak = dryer.leak * np.exp(random.normal(0.0, 0.5)) / dryer.chamber_volume * 30.0
    strange = np.exp(random.normal(0.0, 0.25))
    rows = []
    for index in indices:
        closed = closed_chamber(view, index)
        more = float((vapour_after(closed, closed.vapour, 30.0) - closed.vapour)[member]) * strange
        air = float(view.runs.pressure[member, index] - closed.vapour[member])
        before = air + factor * float(closed.vapour[member])
        after = before + factor * more + leak + random.normal(0.0, 0.5)
        rows.append(ObservedRise(float(view.runs.sample_times[index]), 30.0, before, max(after, 0.0)))
    return tuple(rows)


def pressure_rows(
    view: View, member: int, indices: list[int], random: np.random.Generator
) -> tuple[PressureReading, ...]:
    """The curve of a gauge of either kind."""
    factor, air = random.choice([1.0, 1.6]), view.load.rig.dryer.air_pressure
    slow = np.exp(random.normal(0.0, 0.15))
    pressure = view.runs.pressure[member, indices]
    shown = (air + factor * np.maximum(pressure - air, 0.0)) * slow * np.exp(random.normal(0.0, 0.03, len(indices)))
    return tuple(
        PressureReading(float(view.runs.sample_times[index]), float(one))
        for index, one in zip(indices, shown, strict=True)
    )


def power_rows(view: View, member: int, indices: list[int], random: np.random.Generator) -> tuple[PowerReading, ...]:
    """The curve of a power meter, the empty level a little off."""
    empty, heaters, load = (part[member] for part in expected_power(view, indices))
    power = empty * (1.0 + random.normal(0.0, 0.05)) + load * (1.0 + random.normal(0.0, 0.15))
    power = power + random.normal(0.0, 0.1, len(indices)) * heaters
    return tuple(
        PowerReading(float(view.runs.sample_times[index]), float(one))
        for index, one in zip(indices, power, strict=True)
    )


def cut_rows(view: View, member: int, index: int, random: np.random.Generator) -> tuple[CutPiece, ...]:
    """A thick piece cut by someone who overlooks one in eight, or a thin one picked by mistake."""
    thick, thin = view.parts[0][-1], view.parts[0][0]
    part = thick if random.random() < 0.75 else thin
    icy = view.runs.dried_fraction[member, index, part] < 1.0 - 1e-6
    if random.random() < 0.12:
        finding = "dry"
    elif icy:
        finding = str(random.choice(["cold", "ice"]))
    else:
        finding = "soft" if view.runs.moisture[member, index, part] > 0.12 else "dry"
    return (CutPiece(1, float(view.runs.sample_times[index]), finding),)

"""Freezing of a piece in one dimension by the enthalpy method, compiled.

Finite volumes in slab, cylinder or sphere; each step solves a linear system with the apparent heat capacity of the
moment and then reads the temperature from the enthalpy that the heat flows left behind (Pham's quasi-enthalpy step),
so that no latent heat is lost however long the step.
"""

import math

import numpy as np

from drystow.numerics import Array
from drystow.numerics.compiled import compiled

NODES = 12
STEPS_PER_EVENT = 120  # steps that the expected freezing time is cut into
GEOMETRY = {"slab": 0, "stick": 1, "sphere": 2, "cube": 2}


@compiled
def lookup(x: float, start: float, spacing: float, table: Array) -> float:
    """Return linear interpolation in a table with even spacing, straight on beyond its ends."""
    place = (x - start) / spacing
    i = min(max(math.floor(place), 0), table.size - 2)
    return table[i] + (place - i) * (table[i + 1] - table[i])


@compiled
def freeze(
    geometry: int,
    depth: float,
    density: float,
    first: float,
    spacing: float,
    enthalpy: Array,
    conductivity: Array,
    start_temperature: float,
    end_temperature: float,
    air_temperature: float,
    h_surface: float,
    h_base: float,
    time_step: float,
    longest: float,
) -> tuple[float, float, float]:
    """Return the time until the warmest point is at the end temperature [s], and mean and core temperature then [K].

    geometry: 0 slab cooled on both faces, 1 cylinder, 2 sphere
    depth: whole thickness of a slab, radius otherwise [m]
    first, spacing: temperatures of the tables [K]
    enthalpy, conductivity: tables over temperature [J/kg], [W/(m K)]
    h_surface, h_base: heat transfer at the surface and, for a slab, at its base [W/(m2 K)]; NaN time: never frozen
    """
    width = depth / NODES
    faces, volume = grid(geometry, width)
    temperature = np.full(NODES, start_temperature)
    heat = np.full(NODES, lookup(start_temperature, first, spacing, enthalpy))
    base = h_base if geometry == 0 else 0.0
    lower, main, upper, right = np.empty(NODES), np.empty(NODES), np.empty(NODES), np.empty(NODES)
    flow, k, new = np.empty(NODES + 1), np.empty(NODES), np.empty(NODES)
    now = 0.0
    while True:
        warmest = temperature.max()
        if warmest <= end_temperature:
            mean = 0.0
            for i in range(NODES):
                mean += temperature[i] * volume[i]
            return now, mean / volume.sum(), warmest
        if now >= longest:
            return np.nan, temperature.mean(), warmest
        for i in range(NODES):
            k[i] = lookup(temperature[i], first, spacing, conductivity)
        conductances(faces, width, base, h_surface, k, flow)
        for i in range(NODES):
            t = temperature[i]
            apparent = (lookup(t + 0.05, first, spacing, enthalpy) - lookup(t - 0.05, first, spacing, enthalpy)) / 0.1
            storage = density * volume[i] * apparent / time_step
            left, following = flow[i], flow[i + 1]
            main[i] = storage + left + following
            lower[i] = -left if i > 0 else 0.0
            upper[i] = -following if i < NODES - 1 else 0.0
            right[i] = storage * t
            if i == 0:
                right[i] += left * air_temperature
            if i == NODES - 1:
                right[i] += following * air_temperature
        solve_tridiagonal(lower, main, upper, right, new)
        for i in range(NODES):
            below = new[i - 1] if i > 0 else air_temperature
            beyond = new[i + 1] if i < NODES - 1 else air_temperature
            gained = flow[i] * (below - new[i]) + flow[i + 1] * (beyond - new[i])
            heat[i] += gained * time_step / (density * volume[i])
            temperature[i] = inverse(heat[i], first, spacing, enthalpy)
        now += time_step


@compiled
def grid(geometry: int, width: float) -> tuple[Array, Array]:
    """Return areas of the faces and volumes of the cells, both for a unit of the outermost area's measure."""
    faces, volume = np.empty(NODES + 1), np.empty(NODES)
    for i in range(NODES + 1):
        faces[i] = (i * width) ** geometry if geometry > 0 else 1.0
    for i in range(NODES):
        volume[i] = (((i + 1) * width) ** (geometry + 1) - (i * width) ** (geometry + 1)) / (geometry + 1)
    return faces, volume


@compiled
def conductances(faces: Array, width: float, base: float, h_surface: float, k: Array, flow: Array) -> None:
    """Fill the heat that each face lets through for a kelvin; none through a middle or an insulated base."""
    flow[0] = faces[0] / (1.0 / base + 0.5 * width / k[0]) if base > 0.0 else 0.0
    flow[NODES] = faces[NODES] / (1.0 / h_surface + 0.5 * width / k[NODES - 1])
    for i in range(1, NODES):
        flow[i] = faces[i] / (0.5 * width / k[i - 1] + 0.5 * width / k[i])


@compiled
def solve_tridiagonal(lower: Array, main: Array, upper: Array, right: Array, out: Array) -> None:
    """Fill the solution of a tridiagonal system, whose main diagonal and right side are used up (Thomas)."""
    for i in range(1, NODES):
        share = lower[i] / main[i - 1]
        main[i] -= share * upper[i - 1]
        right[i] -= share * right[i - 1]
    out[NODES - 1] = right[NODES - 1] / main[NODES - 1]
    for i in range(NODES - 2, -1, -1):
        out[i] = (right[i] - upper[i] * out[i + 1]) / main[i]


@compiled
def inverse(value: float, first: float, spacing: float, table: Array) -> float:
    """Return the temperature at which a rising table has `value`."""
    low, high = 0, table.size - 1
    if value <= table[0]:
        return first + (value - table[0]) / (table[1] - table[0]) * spacing
    while high - low > 1:
        middle = (low + high) // 2
        if table[middle] <= value:
            low = middle
        else:
            high = middle
    return first + (low + (value - table[low]) / (table[high] - table[low])) * spacing

"""What lies behind the ice front, compiled: the way through the dried layer, its heat, and the water that leaves it.

The arrays and their columns are those of `layout`. Water that is not ice is followed in cells, equal shares of the dry
mass from outside to inside. Behind the front it leaves towards the moisture that the local temperature and the local
pressure of vapour allow: fast above about the monolayer, slowly below.
"""

import math
from typing import Any

from drystow.machine.layout import CELLS, FoodState, ItemState, Tray
from drystow.numerics import Array
from drystow.numerics.compiled import compiled, inlined
from drystow.properties.sorption import HIGHEST_ACTIVITY, HIGHEST_KA
from drystow.properties.water import _ice_vapour_pressure, _liquid_vapour_pressure

ice_pressure: Any = inlined(_ice_vapour_pressure)
liquid_pressure: Any = inlined(_liquid_vapour_pressure)

STICK = 2.0  # shape number where the way through the dried layer changes its form
REFERENCE_TEMPERATURE = 303.15  # of the desorption rate [K]
SORPTION_TEMPERATURE = 298.15  # of the isotherm constants [K]
DESORPTION_HEAT = 2.7e6  # of water that is not ice [J/kg]
QUICKEST, FASTEST_RATE = 40.0, 1.0 / 300.0
"""Wet food loses its water at most so many times faster than dry food [-], and at most at this rate [1/s]: what is
quicker than minutes changes no time that anybody sees, and would make the steps short. Source: drystow-default."""
AIR_RESISTANCE = 1e5
"""Resistance slope that still air adds in the pores per pressure of air [1/(s Pa)]: vapour diffuses through it, in
series with its own flow. Source: drying-notes, dusty gas: diffusivity 2.2e-5 m2/s at 0 °C,
porosity over tortuosity 0.6."""
MOST_HEAT = 0.7
"""Share of the heat that comes to a front which desorption may take at most [-]. Source: drystow-default."""
FADING = 30.0  # above the melting point [K]
COVERED = 1e5
"""Resistance of a surface beyond which the pressure of the desorbed vapour behind it counts [m/s]. Source:
drystow-default, several times that of a cut surface."""
LEAST_SHARE = 1e-9  # of a cell that is dried: nothing less has a moisture of its own [-]
LEAST_VAPOUR = 1e-3  # pressure of vapour that an isotherm is asked for [Pa]
NUDGE = 1e-4  # relative, of a pressure, to see by how much a moisture follows it [-]


@compiled
def ice_left(dimension: float, u: float) -> float:
    """Return the fraction of the ice that is left [-]."""
    if dimension == 3.0:
        return u * math.sqrt(u)
    return u ** (0.5 * dimension) if dimension > STICK else u


@compiled
def ice_measure(dimension: float, left: float) -> float:
    """Return the measure u of the fraction of the ice that is left [-]."""
    return left ** (2.0 / dimension) if dimension > STICK else left


@compiled
def path(dimension: float, length: float, left: float) -> float:
    """Return the depth of the dried layer per outer area [m], for a fraction of the ice that is left.

    Source: drying-notes, slab, cylinder and sphere as one formula of the shape number.
    """
    if dimension == 1.0:
        return length * (1.0 - left)
    beyond = dimension - STICK
    logarithm = math.log(left)
    if abs(beyond) < 1e-9:
        return -0.5 * length * logarithm
    return length * math.expm1(-beyond / dimension * logarithm) / beyond


@compiled
def slope_of_resistance(tray: Array, pressure: float, air: float) -> float:
    """Return by how much the resistance of the dried layer rises with depth [1/s].

    pressure: of all gas [Pa]
    air: of the gas that does not condense [Pa]
    """
    return tray[Tray.A1] / (1.0 + tray[Tray.VISCOUS] * (pressure - air)) + AIR_RESISTANCE * air


@compiled
def equilibrium(tray: Array, temperature: float, vapour_pressure: float) -> float:
    """Return the moisture in equilibrium with vapour, dry basis [-].

    The heat of sorption beyond that of vaporisation fades towards wet food, which holds its water like water.
    """
    activity = vapour_pressure / liquid_pressure(temperature)
    heat = tray[Tray.SORPTION_HEAT] * max(1.0 - activity, 0.0)
    activity *= math.exp(-heat * (1.0 / SORPTION_TEMPERATURE - 1.0 / temperature))
    ka = tray[Tray.GAB_K] * min(activity, HIGHEST_ACTIVITY)
    if ka > HIGHEST_KA:
        ka = HIGHEST_KA
    return tray[Tray.MONOLAYER] * tray[Tray.GAB_C] * ka / ((1.0 - ka) * (1.0 - ka + tray[Tray.GAB_C] * ka))


@compiled
def slow_rate(tray: Array, temperature: float) -> float:
    """Return the first-order rate at which water up to the monolayer leaves [1/s]."""
    return tray[Tray.DESORPTION_RATE] * math.exp(
        tray[Tray.DESORPTION_ENERGY] * (1.0 / REFERENCE_TEMPERATURE - 1.0 / temperature)
    )


@compiled
def rate_at(tray: Array, slow: float, moisture: float) -> float:
    """Return the rate of desorption at a moisture, dry basis: above the monolayer it rises with the cube [1/s]."""
    wetter = moisture / tray[Tray.MONOLAYER]
    return min(slow * min(max(wetter * wetter * wetter, 1.0), QUICKEST), FASTEST_RATE)


@compiled
def heat_paths(tray: Array, left: float, depth: float, pressure: float, food: Array) -> None:
    """Fill the conductances of a row of `FoodState`, their slopes, and the resistances of and outside the layer.

    left: fraction of the ice that is left [-]
    depth: of the dried layer [m]
    pressure: of all gas [Pa]
    """
    saturation = 1.0 + tray[Tray.KV_SATURATION] * pressure
    contact = tray[Tray.KV_CONSTANT] + tray[Tray.KV_GAS] * pressure / saturation
    contact_slope = tray[Tray.KV_GAS] / (saturation * saturation)
    rise = pressure + tray[Tray.KD_PRESSURE]
    layer = tray[Tray.KD_VACUUM] + tray[Tray.KD_GAS] * pressure / rise
    layer_slope = tray[Tray.KD_GAS] * tray[Tray.KD_PRESSURE] / (rise * rise)
    through = depth / layer
    through_slope = -through * layer_slope / layer
    h_above = tray[Tray.H_ABOVE]
    outside = tray[Tray.ABOVE] * h_above
    # What rests is frozen to its support by a foot that shrinks with the ice; around it the dried layer lies between.
    foot, thick = 0.0, 1.0
    if tray[Tray.RESTING] > 0.0:
        thick = left if tray[Tray.DIMENSION] == 1.0 else left ** (1.0 / tray[Tray.DIMENSION])
        foot = 1.0 if tray[Tray.DIMENSION] == 1.0 else left / max(thick, 1e-30)
    else:
        outside += tray[Tray.CONTACT] * contact
    gap, gap_slope = 1.0 / contact, -contact_slope / (contact * contact)
    frozen = gap + tray[Tray.LENGTH] * thick / tray[Tray.K_FROZEN]
    dried = gap + through
    food[FoodState.CONTACT] = tray[Tray.CONTACT] * (foot / frozen + (1.0 - foot) / dried)
    steepness = foot * gap_slope / (frozen * frozen) + (1.0 - foot) * (gap_slope + through_slope) / (dried * dried)
    food[FoodState.CONTACT_SLOPE] = -tray[Tray.CONTACT] * steepness
    food[FoodState.THROUGH] = through
    food[FoodState.OUTSIDE] = tray[Tray.OUTER] / max(outside, 1e-12)
    if h_above > 0.0:
        resistance = 1.0 / h_above + through
        food[FoodState.ABOVE] = tray[Tray.ABOVE] / resistance
        food[FoodState.ABOVE_SLOPE] = -food[FoodState.ABOVE] * through_slope / resistance
    else:
        food[FoodState.ABOVE], food[FoodState.ABOVE_SLOPE] = 0.0, 0.0


@compiled
def surface_temperature(tray: Array, front: float, shelf: float, upper: float, food: Array) -> float:
    """Return the mean temperature of the surface of food with ice: the front's and the rise through the layer [K].

    Of the outer area some faces no heater, so that the whole of it takes the mean of the heat.
    """
    heat = food[FoodState.ABOVE] * (upper - front)
    if tray[Tray.RESTING] == 0.0:
        heat += food[FoodState.CONTACT] * (shelf - front)
    surface = front + heat * food[FoodState.THROUGH] / tray[Tray.OUTER]
    return min(surface, max(shelf, upper)) if heat > 0.0 else surface


@compiled
def desorb_dried(state: Array, base: int, tray: Array, vapour: float, food: Array) -> float:
    """Fill what food without ice loses at its one temperature, and return it [kg/s]."""
    temperature = food[FoodState.MEAN_TEMPERATURE]
    balanced, slow = equilibrium(tray, temperature, vapour), slow_rate(tray, temperature)
    steepness = (equilibrium(tray, temperature, (1.0 + NUDGE) * vapour) - balanced) / (NUDGE * vapour)
    total = pull = 0.0
    for cell in range(CELLS):
        water = state[base + ItemState.WATER + cell]
        rate = rate_at(tray, slow, water)
        food[FoodState.WATER_SLOPE + cell] = -rate * (water - balanced)
        total += rate * (water - balanced)
        pull += rate
    food[FoodState.DESORPTION] = total * tray[Tray.SOLIDS] / CELLS
    food[FoodState.DESORPTION_SLOPE] = -pull * steepness * tray[Tray.SOLIDS] / CELLS
    food[FoodState.SINK] = food[FoodState.MORE] = 0.0
    return food[FoodState.DESORPTION]


@compiled
def desorb_behind_front(
    state: Array,
    base: int,
    tray: Array,
    shelf: float,
    upper: float,
    pressure: float,
    air: float,
    food: Array,
) -> float:
    """Fill what the dried layer of food with ice loses, cell by cell, and return it [kg/s].

    Temperature and pressure of vapour in the layer lie on straight lines over the way through it, between those of
    surface and front. The heat of what leaves a cell is missing at the front by the share of the way of heat that lies
    outside the cell.
    """
    dimension, length = tray[Tray.DIMENSION], tray[Tray.LENGTH]
    front, unfrozen = food[FoodState.FRONT], tray[Tray.UNFROZEN]
    left = ice_left(dimension, state[base + ItemState.FRACTION])
    dried, depth = 1.0 - left, path(dimension, length, left)
    slope = slope_of_resistance(tray, pressure, air) * depth / (1.0 + tray[Tray.A2] * depth)
    over_ice = ice_pressure(front)
    drop = max(over_ice - pressure + air - food[FoodState.BACK], 0.0) * slope / (tray[Tray.R0] + slope)
    # Beyond the melting of its ice a layer is no layer: its desorption fades, so that the run can end and say so.
    solid = min(max((tray[Tray.THAW] + FADING - front) / FADING, 0.0), 1.0)
    surface = surface_temperature(tray, front, shelf, upper, food)
    food[FoodState.MEAN_TEMPERATURE] = 0.5 * (front + surface)
    through, outside = food[FoodState.THROUGH], food[FoodState.OUTSIDE]
    total = missing = pull = 0.0
    covered = tray[Tray.R0] > COVERED
    for cell in range(CELLS):
        share = min(max(CELLS * dried - cell, 0.0), 1.0)
        food[FoodState.WATER_SLOPE + cell] = 0.0
        if share < LEAST_SHARE or unfrozen <= 0.0:
            continue
        place = path(dimension, length, 1.0 - (cell + 0.5 * share) / CELLS) / depth
        temperature = surface + (front - surface) * place
        vapour = max(over_ice - (1.0 - place) * drop, LEAST_VAPOUR)
        moisture = (state[base + ItemState.WATER + cell] - (1.0 - share) * unfrozen) / share
        moisture = min(max(moisture, 0.0), unfrozen)
        balanced = min(equilibrium(tray, temperature, vapour), unfrozen)
        rate = solid * share * rate_at(tray, slow_rate(tray, temperature), moisture)
        lost = rate * (moisture - balanced)
        if covered:
            pull += (
                rate
                * (min(equilibrium(tray, temperature, (1.0 + NUDGE) * vapour), unfrozen) - balanced)
                / (NUDGE * vapour)
            )
        food[FoodState.WATER_SLOPE + cell] = -lost
        total += lost
        missing += lost * (outside + place * through) / (outside + through)
    per_cell = tray[Tray.SOLIDS] / CELLS
    # What leaves the layer has to pass the surface as well: behind a skin its own pressure holds it back.
    slower = 1.0 / (1.0 + pull * per_cell * tray[Tray.R0] / tray[Tray.OUTER])
    comes = food[FoodState.CONTACT] * (shelf - front) + food[FoodState.ABOVE] * (upper - front)
    most = MOST_HEAT * max(comes, 0.0)
    if slower * missing * per_cell * DESORPTION_HEAT > most:  # the layer then cools instead, until less leaves it
        slower = most / (missing * per_cell * DESORPTION_HEAT)
    total, missing = slower * total, slower * missing
    for cell in range(CELLS):
        food[FoodState.WATER_SLOPE + cell] *= slower
    food[FoodState.DESORPTION] = total * per_cell
    food[FoodState.DESORPTION_SLOPE] = 0.0
    food[FoodState.SINK] = missing * per_cell * DESORPTION_HEAT
    food[FoodState.MORE] = (total - missing) * per_cell * DESORPTION_HEAT
    return food[FoodState.DESORPTION]

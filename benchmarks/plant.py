"""The equations of all trays and the machine once more, in plain NumPy, written from the design.

Nothing of the compiled code is used: only the arrays of parameters, whose columns the engine names. Fronts and chamber
pressure are solved together for all trays at once by a vectorised Newton method that starts from the last solution.
"""

import numpy as np

from drystow.machine.layout import Machine, Tray
from drystow.numerics import Array
from drystow.properties.sorption import HIGHEST_ACTIVITY, HIGHEST_KA

WATER_MOLAR_MASS = 0.018015268
SHORTEST_LAG = 40.0  # of dried food behind its heat supply [s]


def ice_pressure(t: Array) -> Array:
    """Murphy and Koop 2005, eq. 7 [Pa]."""
    return np.exp(9.550426 - 5723.265 / t + 3.53068 * np.log(t) - 0.00728332 * t)


def ice_pressure_slope(t: Array, pressure: Array) -> Array:
    """Derivative of `ice_pressure` [Pa/K]."""
    return pressure * (5723.265 / t**2 + 3.53068 / t - 0.00728332)


def sublimation_heat(t: Array) -> Array:
    """Murphy and Koop 2005, eq. 5 [J/kg]."""
    return (46782.5 + 35.8925 * t - 0.07414 * t**2 + 541.5 * np.exp(-((t / 123.75) ** 2))) / WATER_MOLAR_MASS


def liquid_pressure(t: Array) -> Array:
    """IAPWS saturation line, eq. 2.5 [Pa]."""
    r = 1.0 - t / 647.096
    powers = (1.0, 1.5, 3.0, 3.5, 4.0, 7.5)
    factors = (-7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502)
    return 22.064e6 * np.exp(647.096 / t * sum(a * r**n for a, n in zip(factors, powers, strict=True)))


class Plant:
    """All trays and the machine; remembers the last fronts and pressure as a first guess."""

    def __init__(self, trays: Array, machine: Array) -> None:
        self.columns = {tray: trays[:, tray].copy() for tray in Tray}
        self.m = {entry: float(machine[entry]) for entry in Machine}
        self.count = len(trays)
        shape = self.columns[Tray.SHAPE]
        self.bottom = shape == 0.0
        self.stick = shape == 2.0
        self.sphere = shape == 3.0
        self.fronts = np.full(self.count, 240.0)
        self.pressure = self.m[Machine.HELD_PRESSURE] if self.held else 40.0
        self.calls = 0

    @property
    def held(self) -> bool:
        return self.m[Machine.HELD] > 0.0

    def ice_left(self, u: Array) -> Array:
        return np.where(self.sphere, np.maximum(u, 0.0) ** 1.5, u)

    def moisture(self, u: Array, bound: Array) -> Array:
        c = self.columns
        frozen = self.ice_left(u) * (c[Tray.ICE] + c[Tray.BOUND] * c[Tray.SOLIDS])
        return (frozen + bound) / c[Tray.SOLIDS]

    def conductances(self, u: Array, wet: Array, depth: Array, p: float) -> tuple[Array, Array, Array, Array, Array]:
        """Contact and above conductances [W/K], their slopes with pressure, surface share of the drop from above."""
        c = self.columns
        saturation = 1.0 + c[Tray.KV_SATURATION] * p
        contact = c[Tray.KV_CONSTANT] + c[Tray.KV_GAS] * p / saturation
        contact_slope = c[Tray.KV_GAS] / saturation**2
        layer = c[Tray.KD_VACUUM] + c[Tray.KD_GAS] * p / (p + c[Tray.KD_PRESSURE])
        layer_slope = c[Tray.KD_GAS] * c[Tray.KD_PRESSURE] / (p + c[Tray.KD_PRESSURE]) ** 2
        dried = depth / layer
        dried_slope = -dried * layer_slope / layer
        frozen_below = self.bottom & wet
        below = np.where(frozen_below, c[Tray.LENGTH] * u / c[Tray.K_FROZEN], dried)
        below_slope = np.where(frozen_below, 0.0, dried_slope)
        resistance = 1.0 / contact + below
        lower = c[Tray.CONTACT] / resistance
        lower_slope = lower * (contact_slope / contact**2 - below_slope) / resistance
        heater = np.maximum(c[Tray.H_ABOVE], 1e-12)
        resistance = 1.0 / heater + dried
        upper = np.where(c[Tray.H_ABOVE] > 0.0, c[Tray.ABOVE] / resistance, 0.0)
        upper_slope = -upper * dried_slope / resistance
        return lower, upper, lower_slope, upper_slope, 1.0 / (heater * resistance)

    def desorption(self, u: Array, bound: Array, mean: Array, p: float) -> Array:
        c = self.columns
        vapour = max(p if self.held else p - self.m[Machine.AIR_PRESSURE], 1e-3)
        activity = vapour / liquid_pressure(mean) * np.exp(-c[Tray.SORPTION_HEAT] * (1 / 298.15 - 1 / mean))
        ka = np.minimum(c[Tray.GAB_K] * np.minimum(activity, HIGHEST_ACTIVITY), HIGHEST_KA)
        rest = 1.0 - ka
        equilibrium = c[Tray.MONOLAYER] * c[Tray.GAB_C] * ka / (rest * (rest + c[Tray.GAB_C] * ka))
        rate = c[Tray.DESORPTION_RATE] * np.exp(c[Tray.DESORPTION_ENERGY] * (1 / 303.15 - 1 / mean))
        return rate * (bound - (1.0 - self.ice_left(u)) * c[Tray.SOLIDS] * equilibrium)

    def trap(self, flow: float, ice: float, shelf: float) -> tuple[float, float, float]:
        """Chamber pressure that a flow needs, its slope with flow, evaporator temperature."""
        m = self.m
        heat = 2.8385e6 + 1870.0 * (max(shelf, 250.0) - m[Machine.TRAP_FLOOR]) / 2
        losses = m[Machine.ROOM_CONDUCTANCE] + m[Machine.WALL_CONDUCTANCE]
        per_kelvin = m[Machine.REFRIGERATION] * m[Machine.REFRIGERATION_SLOPE]
        gains = m[Machine.ROOM_CONDUCTANCE] * m[Machine.ROOM] + m[Machine.WALL_CONDUCTANCE] * shelf
        evaporator = flow * heat + gains - m[Machine.REFRIGERATION] + per_kelvin * m[Machine.REFRIGERATION_REFERENCE]
        evaporator, slope = evaporator / (per_kelvin + losses), heat / (per_kelvin + losses)
        if evaporator < m[Machine.TRAP_FLOOR]:
            evaporator, slope = m[Machine.TRAP_FLOOR], 0.0
        thickness = ice / (917.0 * m[Machine.TRAP_AREA])
        crust = heat / m[Machine.TRAP_AREA] * thickness / m[Machine.TRAP_ICE_CONDUCTIVITY]
        surface = min(evaporator + crust * flow, 273.0)
        over_ice = float(ice_pressure(surface))
        open_way = over_ice + flow / m[Machine.VAPOUR_CONDUCTANCE]
        choked = flow / m[Machine.CHOKED_CONDUCTANCE]
        if choked > open_way:
            return choked + m[Machine.AIR_PRESSURE], 1.0 / m[Machine.CHOKED_CONDUCTANCE], evaporator
        steep = float(ice_pressure_slope(surface, over_ice)) * (slope + crust) + 1.0 / m[Machine.VAPOUR_CONDUCTANCE]
        return open_way + m[Machine.AIR_PRESSURE], steep, evaporator

    def solve(
        self, u: Array, bound: Array, food: Array, shelf: float, trap_ice: float, wet: Array
    ) -> tuple[Array, Array, Array, Array, float, float]:
        """Sublimation, desorption [kg/s], heat [W], conductance [W/K] of each tray, pressure [Pa], evaporator [K]."""
        c = self.columns
        overhead = shelf + self.m[Machine.UPPER_OFFSET]
        safe = np.where(wet, np.maximum(u, 1e-9), 1.0)
        length = c[Tray.LENGTH]
        depth = np.where(self.stick, -0.5 * length * np.log(safe), length * (1.0 - safe))
        depth = np.where(self.sphere, length * (safe**-0.5 - 1.0), depth)
        depth = np.where(wet, depth, 0.5 * length)
        weight = (c[Tray.R0] + c[Tray.A1] * depth / (1.0 + c[Tray.A2] * depth)) / c[Tray.OUTER]
        place = np.where(wet, self.fronts, food)
        p = self.pressure
        evaporator = self.m[Machine.TRAP_FLOOR]
        for _ in range(80):
            lower, upper, lower_slope, upper_slope, share = self.conductances(u, wet, depth, p)
            heat = lower * (shelf - place) + upper * (overhead - place)
            by_place = -(lower + upper)
            by_pressure = lower_slope * (shelf - place) + upper_slope * (overhead - place)
            latent = sublimation_heat(place)
            over_ice = ice_pressure(place)
            # front: heat * weight = (p_ice - p) * latent
            miss = np.where(wet, heat * weight - (over_ice - p) * latent, 0.0)
            miss_by_place = by_place * weight - ice_pressure_slope(place, over_ice) * latent
            step = np.where(wet, -miss / miss_by_place, 0.0)
            step_by_pressure = np.where(wet, -(by_pressure * weight + latent) / miss_by_place, 0.0)
            surface = overhead - (overhead - place) * share
            mean = np.where(wet, 0.5 * (place + np.where(c[Tray.H_ABOVE] > 0, surface, place)), food)
            desorbed = self.desorption(u, bound, mean, p)
            sublimed = np.where(wet, heat / latent, 0.0)
            change = 0.0
            if not self.held:
                flow = float(sublimed.sum() + desorbed.sum())
                needed, steep, evaporator = self.trap(max(flow, 0.0), trap_ice, shelf)
                along = float(np.sum(np.where(wet, by_place * step / latent, 0.0)))
                by_p = float(np.sum(np.where(wet, (by_pressure + by_place * step_by_pressure) / latent, 0.0)))
                change = (needed - p + steep * along) / (1.0 - steep * by_p)
                change = min(max(change, -0.6 * p), 2.0 * p + 20.0)
            move = np.clip(step + step_by_pressure * change, -15.0, 15.0) * wet
            place = np.clip(place + move, 150.0, 330.0)
            p += change
            if np.max(np.abs(move)) < 1e-6 and abs(change) < 1e-7 * p:
                self.fronts, self.pressure = place, p
                return sublimed, desorbed, heat, lower + upper, p, evaporator
        raise ArithmeticError("fronts and pressure not found")

    def rates(self, y: Array, setpoint: float, wet: Array) -> Array:
        """Rate of change of (shelf, trap ice, front variables, bound water, food temperatures)."""
        self.calls += 1
        m, c, n = self.m, self.columns, self.count
        shelf, trap_ice = y[0], y[1]
        u, bound, food = y[2 : 2 + n], y[2 + n : 2 + 2 * n], y[2 + 2 * n :]
        sublimed, desorbed, heat, conductance, pressure, evaporator = self.solve(u, bound, food, shelf, trap_ice, wet)
        out = np.zeros_like(y)
        out[1] = sublimed.sum() + desorbed.sum()
        share = sublimed / c[Tray.ICE]
        root = np.sqrt(np.where(wet & self.sphere, np.maximum(u, 1e-12), 1.0))
        out[2 : 2 + n] = -share * np.where(self.sphere, 2.0 / 3.0 / root, 1.0)
        out[2 + n : 2 + 2 * n] = share * c[Tray.BOUND] * c[Tray.SOLIDS] - desorbed
        capacity = c[Tray.SOLIDS] * c[Tray.HEAT_CAPACITY] + bound * 4180.0
        capacity = np.maximum(capacity, SHORTEST_LAG * conductance)
        out[2 + 2 * n :] = np.where(wet, 0.0, (heat - 2.7e6 * desorbed) / capacity)
        if self.held:
            return out
        lost = heat.sum() + m[Machine.WALL_CONDUCTANCE] * (shelf - evaporator)
        wish = m[Machine.SHELF_CAPACITY] * (setpoint - shelf) / m[Machine.CONTROL_TIME] + lost
        limit = m[Machine.PRESSURE_LIMIT]
        allowed = m[Machine.HEATER_POWER]
        if limit > 0.0:
            allowed *= min(max((1.2 * limit - pressure) / (0.2 * limit), 0.0), 1.0)
        out[0] = (min(max(wish, 0.0), allowed) - lost) / m[Machine.SHELF_CAPACITY]
        return out

    def mean_temperature(self, y: Array, wet: Array, tray: int) -> float:
        """Mean temperature of the dried part of a tray whose front variable stands at the state `y`."""
        n = self.count
        u = y[2 : 2 + n]
        self.solve(u, y[2 + n : 2 + 2 * n], y[2 + 2 * n :], y[0], y[1], wet)
        front = float(self.fronts[tray])
        c = self.columns
        if c[Tray.H_ABOVE][tray] <= 0.0:
            return front
        overhead = y[0] + self.m[Machine.UPPER_OFFSET]
        depth = c[Tray.LENGTH][tray] * (u[tray] ** -0.5 - 1.0 if self.sphere[tray] else 1.0 - u[tray])
        if self.stick[tray]:
            depth = -0.5 * c[Tray.LENGTH][tray] * np.log(u[tray])
        rise = self.pressure / (self.pressure + c[Tray.KD_PRESSURE][tray])
        layer = c[Tray.KD_VACUUM][tray] + c[Tray.KD_GAS][tray] * rise
        share = 1.0 / (1.0 + c[Tray.H_ABOVE][tray] * depth / layer)
        return float(0.5 * (front + overhead - (overhead - front) * share))

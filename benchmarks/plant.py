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


CELLS = 3  # of a tray item, from outside to inside


class Plant:
    """All trays and the machine; remembers the last fronts and pressure as a first guess."""

    def __init__(self, trays: Array, machine: Array) -> None:
        self.columns = {tray: trays[:, tray].copy() for tray in Tray}
        self.m = {entry: float(machine[entry]) for entry in Machine}
        self.count = len(trays)
        self.d = self.columns[Tray.DIMENSION]
        self.resting = self.columns[Tray.RESTING] > 0.0
        self.fronts = np.full(self.count, 240.0)
        self.pressure = self.m[Machine.HELD_PRESSURE] if self.held else 40.0
        self.air = self.m[Machine.AIR_PRESSURE]
        self.back = np.zeros(self.count)
        self.calls = 0

    @property
    def held(self) -> bool:
        return self.m[Machine.HELD] > 0.0

    def ice_left(self, u: Array) -> Array:
        return np.maximum(u, 0.0) ** np.maximum(1.0, self.d / 2.0)

    def moisture(self, u: Array, water: Array) -> Array:
        c = self.columns
        return self.ice_left(u) * c[Tray.ICE] / c[Tray.SOLIDS] + water.mean(axis=1)

    def depth(self, left: Array) -> Array:
        """Way through the dried layer per outer area [m]: R ((1-s)^((2-d)/d) - 1) / (d - 2)."""
        length, d = self.columns[Tray.LENGTH], self.d
        round_ = np.abs(d - 2.0) < 1e-9
        other = np.where(round_, 3.0, d)
        return length * np.where(round_, -0.5 * np.log(left), (left ** ((2.0 - other) / other) - 1.0) / (other - 2.0))

    def overhead(self, shelf: float) -> float:
        around = self.m[Machine.SURROUNDINGS]
        return around if around > 0.0 else shelf + self.m[Machine.UPPER_OFFSET]

    def conductances(
        self, left: Array, wet: Array, depth: Array, p: float
    ) -> tuple[Array, Array, Array, Array, Array, Array]:
        """Contact and above conductances [W/K], their slopes with pressure, resistance of the layer and outside it."""
        c = self.columns
        saturation = 1.0 + c[Tray.KV_SATURATION] * p
        contact = c[Tray.KV_CONSTANT] + c[Tray.KV_GAS] * p / saturation
        contact_slope = c[Tray.KV_GAS] / saturation**2
        layer = c[Tray.KD_VACUUM] + c[Tray.KD_GAS] * p / (p + c[Tray.KD_PRESSURE])
        layer_slope = c[Tray.KD_GAS] * c[Tray.KD_PRESSURE] / (p + c[Tray.KD_PRESSURE]) ** 2
        dried = depth / layer
        dried_slope = -dried * layer_slope / layer
        frozen_below = self.resting & wet
        foot = np.where(frozen_below, left ** (1.0 - 1.0 / self.d), 0.0)
        cold = 1.0 / contact + c[Tray.LENGTH] * left ** (1.0 / self.d) / c[Tray.K_FROZEN]
        warm = 1.0 / contact + dried
        lower = c[Tray.CONTACT] * (foot / cold + (1.0 - foot) / warm)
        by_gap = contact_slope / contact**2
        lower_slope = c[Tray.CONTACT] * (foot * by_gap / cold**2 + (1.0 - foot) * (by_gap - dried_slope) / warm**2)
        heater = np.maximum(c[Tray.H_ABOVE], 1e-12)
        resistance = 1.0 / heater + dried
        upper = np.where(c[Tray.H_ABOVE] > 0.0, c[Tray.ABOVE] / resistance, 0.0)
        upper_slope = -upper * dried_slope / resistance
        reached = c[Tray.ABOVE] * c[Tray.H_ABOVE] + np.where(self.resting, 0.0, c[Tray.CONTACT] * contact)
        return lower, upper, lower_slope, upper_slope, dried, c[Tray.OUTER] / np.maximum(reached, 1e-12)

    def slope_of_resistance(self, p: float) -> Array:
        """Vapour flows through the layer's pores and, in series, diffuses through the air in them [1/s]."""
        c = self.columns
        return c[Tray.A1] / (1.0 + c[Tray.VISCOUS] * (p - self.air)) + 1e5 * self.air

    def equilibrium(self, temperature: Array, vapour: Array) -> Array:
        """GAB moisture at a local pressure of vapour; cells by columns."""
        c = {key: value[:, None] for key, value in self.columns.items()}
        activity = vapour / liquid_pressure(temperature)
        fading = c[Tray.SORPTION_HEAT] * np.maximum(1.0 - activity, 0.0)
        activity = activity * np.exp(-fading * (1 / 298.15 - 1 / temperature))
        ka = np.minimum(c[Tray.GAB_K] * np.minimum(activity, HIGHEST_ACTIVITY), HIGHEST_KA)
        return c[Tray.MONOLAYER] * c[Tray.GAB_C] * ka / ((1.0 - ka) * (1.0 - ka + c[Tray.GAB_C] * ka))

    def rate(self, temperature: Array, moisture: Array) -> Array:
        """Slow up to the monolayer, with the cube of the moisture above it, never beyond 40 times or 1/300 s."""
        c = {key: value[:, None] for key, value in self.columns.items()}
        slow = c[Tray.DESORPTION_RATE] * np.exp(c[Tray.DESORPTION_ENERGY] * (1 / 303.15 - 1 / temperature))
        return np.minimum(slow * np.clip((moisture / c[Tray.MONOLAYER]) ** 3, 1.0, 40.0), 1.0 / 300.0)

    def desorption(
        self,
        left: Array,
        water: Array,
        wet: Array,
        place: Array,
        food: Array,
        heat: Array,
        comes: Array,
        depth: Array,
        through: Array,
        outside: Array,
        hottest: float,
        p: float,
    ) -> tuple[Array, Array, Array]:
        """Rates of the cells [1/s], heat missing at the fronts and heat that heaters give beyond [W]; mean of layers.

        place: fronts [K]
        heat: through the layer to the front [W]
        comes: heat to the front from all sides [W]
        """
        c = self.columns
        share = np.clip(CELLS * (1.0 - left)[:, None] - np.arange(CELLS), 0.0, 1.0)
        share = np.where(wet[:, None], np.where(share < 1e-9, 0.0, share), 1.0)
        slope = self.slope_of_resistance(p) * depth / (1.0 + c[Tray.A2] * depth)
        vapour = max(p - self.air, 1e-3)
        over_ice = ice_pressure(place)
        drop = np.maximum(over_ice - p + self.air - self.back, 0.0) * slope / (c[Tray.R0] + slope)
        surface = place + heat * through / c[Tray.OUTER]
        surface = np.where(heat > 0.0, np.minimum(surface, hottest), surface)
        middle = (np.arange(CELLS) + 0.5 * share) / CELLS
        inside = np.stack([self.depth(1.0 - middle[:, cell]) for cell in range(CELLS)], axis=1)
        inside = np.minimum(inside / np.where(wet, np.maximum(depth, 1e-30), 1.0)[:, None], 1.0)
        icy = wet[:, None]
        temperature = np.where(icy, surface[:, None] + (place - surface)[:, None] * inside, food[:, None])
        pressure = np.maximum(over_ice[:, None] - (1.0 - inside) * drop[:, None], 1e-3)
        pressure = np.where(icy, pressure, vapour)
        most = c[Tray.UNFROZEN][:, None]
        part = np.where(share > 0.0, share, 1.0)
        moisture = np.where(icy, np.clip((water - (1.0 - share) * most) / part, 0.0, most), water)
        balanced = self.equilibrium(temperature, pressure)
        balanced = np.where(icy, np.minimum(balanced, most), balanced)
        rate = share * self.rate(temperature, moisture)
        lost = rate * (moisture - balanced)
        more_vapour = np.minimum(self.equilibrium(temperature, 1.0001 * pressure), most)
        pull = (rate * (more_vapour - np.minimum(balanced, most)) / (1e-4 * pressure)).sum(axis=1)
        covered = wet & (c[Tray.R0] > 1e5) & (c[Tray.UNFROZEN] > 0.0)
        solid = np.clip((c[Tray.THAW] + 30.0 - place) / 30.0, 0.0, 1.0)
        lost = np.where(icy, np.where(most <= 0.0, 0.0, solid[:, None] * lost), lost)
        weight = (outside[:, None] + inside * through[:, None]) / (outside + through)[:, None]
        cell_heat = 2.7e6 * c[Tray.SOLIDS][:, None] / CELLS
        passing = c[Tray.SOLIDS] / CELLS * c[Tray.R0] / c[Tray.OUTER]
        solid_pull = pull * np.clip((c[Tray.THAW] + 30.0 - place) / 30.0, 0.0, 1.0)
        lost = lost * np.where(covered, 1.0 / (1.0 + solid_pull * passing), 1.0)[:, None]
        missing = np.where(wet, (lost * weight * cell_heat).sum(axis=1), 0.0)
        most = 0.7 * np.maximum(comes, 0.0)
        slower = np.where(wet & (missing > most), most / np.maximum(missing, 1e-30), 1.0)
        lost, missing = lost * slower[:, None], missing * slower
        more = np.where(wet, (lost * (1.0 - weight) * cell_heat).sum(axis=1), 0.0)
        back = np.where(wet, np.maximum(lost.sum(axis=1) * passing, 0.0), 0.0)
        self.back += (1.0 - self.kept) * (back - self.back)
        self.layer_mean = 0.5 * (place + surface)
        return -lost, missing, more

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
        self, u: Array, water: Array, food: Array, shelf: float, trap_ice: float, wet: Array
    ) -> tuple[Array, Array, Array, Array, Array, float, float]:
        """Sublimation [kg/s], cell rates [1/s], heat in, heat that reaches food without ice [W], conductance [W/K],
        pressure [Pa], evaporator [K]."""
        c = self.columns
        overhead = self.overhead(shelf)
        left = np.where(wet, np.maximum(self.ice_left(u), 1e-30), 1.0)
        depth = np.where(wet, self.depth(left), 0.5 * c[Tray.LENGTH])
        place = np.where(wet, self.fronts, food)
        p = self.pressure
        evaporator = self.m[Machine.TRAP_FLOOR]
        cell_mass = c[Tray.SOLIDS] / CELLS
        for round_ in range(400):
            self.kept = 0.0 if round_ < 8 else 0.8
            lower, upper, lower_slope, upper_slope, through, outside = self.conductances(left, wet, depth, p)
            weight = (c[Tray.R0] + self.slope_of_resistance(p) * depth / (1.0 + c[Tray.A2] * depth)) / c[Tray.OUTER]
            below, above = lower * (shelf - place), upper * (overhead - place)
            crossing = above + np.where(self.resting, 0.0, below)
            slopes, sink, more = self.desorption(
                left, water, wet, place, food, crossing, below + above, depth, through, outside, max(shelf, overhead), p
            )
            heat = below + above - sink
            by_place = -(lower + upper)
            by_pressure = lower_slope * (shelf - place) + upper_slope * (overhead - place)
            latent = sublimation_heat(place)
            over_ice = ice_pressure(place)
            # front: heat * weight = (p_ice - p_vapour) * latent
            miss = np.where(wet, heat * weight - (over_ice - p + self.air - self.back) * latent, 0.0)
            miss_by_place = by_place * weight - ice_pressure_slope(place, over_ice) * latent
            step = np.where(wet, -miss / miss_by_place, 0.0)
            step_by_pressure = np.where(wet, -(by_pressure * weight + latent) / miss_by_place, 0.0)
            desorbed = -(slopes.sum(axis=1) * cell_mass)
            sublimed = np.where(wet, np.maximum(heat, 0.0) / latent, 0.0)
            change = 0.0
            if not self.held:
                flow = float(sublimed.sum() + desorbed.sum())
                needed, steep, evaporator = self.trap(max(flow, 0.0), trap_ice, shelf)
                along = float(np.sum(np.where(wet, by_place * step / latent, 0.0)))
                by_p = float(np.sum(np.where(wet, (by_pressure + by_place * step_by_pressure) / latent, 0.0)))
                change = (needed - p + steep * along) / (1.0 - steep * by_p)
                change = min(max(change, -0.6 * p), 2.0 * p + 20.0)
            whole = 1.0 if round_ < 12 else 0.2  # desorption that answers strongly would go to and fro for ever
            change *= whole
            move = np.clip(whole * step + step_by_pressure * change, -15.0, 15.0) * wet
            place = np.clip(place + move, 150.0, 330.0)
            p += change
            if np.max(np.abs(move)) < 1e-6 and abs(change) < 1e-7 * p:
                self.fronts, self.pressure = place, p
                return sublimed, slopes, below + above + more, below + above, lower + upper, p, evaporator
        raise ArithmeticError("fronts and pressure not found")

    def parts(self, y: Array) -> tuple[Array, Array, Array]:
        """Front variables, water of the cells and food temperatures of a state."""
        n = self.count
        return y[2 : 2 + n], y[2 + n : 2 + (1 + CELLS) * n].reshape(n, CELLS), y[2 + (1 + CELLS) * n :]

    def rates(self, y: Array, setpoint: float, wet: Array) -> Array:
        """Rate of change of (shelf, trap ice, front variables, water of the cells, food temperatures)."""
        self.calls += 1
        m, c, n = self.m, self.columns, self.count
        shelf, trap_ice = y[0], y[1]
        u, water, food = self.parts(y)
        sublimed, slopes, heat, reached, conductance, pressure, evaporator = self.solve(
            u, water, food, shelf, trap_ice, wet
        )
        desorbed = -slopes.sum(axis=1) * c[Tray.SOLIDS] / CELLS
        out = np.zeros_like(y)
        out[1] = sublimed.sum() + desorbed.sum()
        power = np.maximum(1.0, self.d / 2.0)
        steepness = power * np.where(wet, np.maximum(u, 1e-12), 1.0) ** (power - 1.0)
        out[2 : 2 + n] = -sublimed / c[Tray.ICE] / steepness
        out[2 + n : 2 + (1 + CELLS) * n] = slopes.ravel()
        capacity = c[Tray.SOLIDS] * (c[Tray.HEAT_CAPACITY] + water.mean(axis=1) * 4180.0)
        capacity = np.maximum(capacity, SHORTEST_LAG * conductance)
        out[2 + (1 + CELLS) * n :] = np.where(wet, 0.0, (reached - 2.7e6 * desorbed) / capacity)
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
        u, water, food = self.parts(y)
        self.solve(u, water, food, y[0], y[1], wet)
        return float(self.layer_mean[tray])

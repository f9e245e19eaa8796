"""What a batch costs, in the currency of the prices that go in."""

from dataclasses import dataclass

from drystow.errors import check_range
from drystow.machine.result import LoadResult
from drystow.messages import msg

JOULES_PER_KWH = 3.6e6
"""One kilowatt-hour [J]. Source: definition."""


@dataclass(frozen=True)
class Prices:
    """What things cost; all in one currency, the user's own.

    energy: of electricity, per kilowatt-hour [currency/kWh]
    food: of the fresh food of the whole batch [currency]
    packages: of all pouches, jars or cans with lids [currency]
    absorbers: of all absorbers [currency]
    upkeep: of pump oil, wear and the like for this batch [currency]
    """

    energy: float
    food: float
    packages: float = 0.0
    absorbers: float = 0.0
    upkeep: float = 0.0

    def __post_init__(self) -> None:
        for name in ("energy", "food", "packages", "absorbers", "upkeep"):
            check_range(name, getattr(self, name), 0, 1e7, "", hint=msg("a price in your own currency"))


@dataclass(frozen=True)
class BatchCost:
    """What a batch costs; money is in the currency of the prices.

    energy: electricity [currency]
    food: fresh food [currency]
    packaging: packages and absorbers [currency]
    upkeep: oil, wear [currency]
    total: of the batch [currency]
    per_kg_dry: per kilogram of dried food [currency/kg]
    per_kg_water: electricity per kilogram of water removed [currency/kg]
    energy_per_kg_water: electricity per kilogram of water removed [J/kg]
    per_serving: per serving [currency]
    saving: what the same food would have cost in the shop minus the total, None without a shop price [currency]
    notes: sentences on assumptions
    """

    energy: float
    food: float
    packaging: float
    upkeep: float
    total: float
    per_kg_dry: float
    per_kg_water: float
    energy_per_kg_water: float
    per_serving: float
    saving: float | None
    notes: tuple[str, ...]


def batch_cost(
    prices: Prices,
    energy: float,
    dry_mass: float,
    water_removed: float,
    servings: float,
    shop_price: float | None = None,
) -> BatchCost:
    """Return what a batch costs, by part and per serving.

    prices: what things cost
    energy: electricity of the whole run [J]
    dry_mass: dried food [kg]
    water_removed: from fresh to dried [kg]
    servings: from the whole batch [-]
    shop_price: of the same dried food in a shop, per kilogram of dried food [currency/kg]
    """
    check_range("energy", energy, 0, 1e12, "J", hint=msg("1 kWh is 3600000 J"))
    check_range("dry_mass", dry_mass, 0, 1e5, "mass", above=True)
    check_range("water_removed", water_removed, 0, 1e6, "mass", above=True)
    check_range("servings", servings, 0, 1e6, "", above=True)
    if shop_price is not None:
        check_range("shop_price", shop_price, 0, 1e6, "", hint=msg("a price per kilogram of dried food"))
    electricity = energy / JOULES_PER_KWH * prices.energy
    packaging = prices.packages + prices.absorbers
    total = electricity + prices.food + packaging + prices.upkeep
    return BatchCost(
        energy=electricity,
        food=prices.food,
        packaging=packaging,
        upkeep=prices.upkeep,
        total=total,
        per_kg_dry=total / dry_mass,
        per_kg_water=electricity / water_removed,
        energy_per_kg_water=energy / water_removed,
        per_serving=total / servings,
        saving=None if shop_price is None else shop_price * dry_mass - total,
        notes=(msg("Not counted: the price of the dryer and your own time."),),
    )


def load_cost(prices: Prices, load: LoadResult, servings: float, shop_price: float | None = None) -> BatchCost:
    """Return what a simulated load costs, with its own energy, dried mass and water.

    prices: what things cost
    load: the simulated load
    servings: from the whole load [-]
    shop_price: of the same dried food in a shop, per kilogram of dried food [currency/kg]
    """
    dry = sum(tray.solids / (1 - tray.residual_moisture) for tray in load.trays)
    water = sum(tray.mass for tray in load.trays) - dry
    return batch_cost(prices, load.machine.energy, dry, water, servings, shop_price)


def machine_payback(price: float, saving_per_batch: float, batches_per_year: float) -> float | None:
    """Time until savings have paid for the dryer [s], None when batches save nothing.

    price: of the dryer [currency]
    saving_per_batch: against the shop [currency]
    batches_per_year: how often it runs [1/year]
    Valid: without interest.
    Source: definition.

    >>> print(f"{machine_payback(2500.0, 25.0, 50.0) / 86400 / 365.25:.1f} years")
    2.0 years
    """
    check_range("price", price, 0, 1e7, "")
    check_range("batches_per_year", batches_per_year, 0, 1e4, "")
    yearly = saving_per_batch * batches_per_year
    return price / yearly * 365.25 * 86400 if yearly > 0 else None

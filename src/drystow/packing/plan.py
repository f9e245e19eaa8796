"""The packing plan: how many containers, how much oxygen, which absorbers, what to watch."""

from dataclasses import dataclass
from math import inf, isfinite

from drystow.constants import NO_GROWTH
from drystow.foods.marks import raw_cautions
from drystow.messages import msg, msg_many
from drystow.packing.containers import Container, Filling, choose, dried_bulk_density, fill
from drystow.packing.moisture import open_time_limit
from drystow.packing.oxygen import (
    ABSORBER_CAUTIONS,
    AbsorberChoice,
    absorbers_for,
    check_air_left,
    grain_rule_warning,
    oxygen_ingress,
    oxygen_volume_ml,
    pressure_at_altitude,
    void_volume,
)
from drystow.packing.packfile import PackSpec
from drystow.packing.seasons import DAY, YEAR
from drystow.properties.sorption import Isotherm, gab_moisture, gab_water_activity, isotherm_for
from drystow.properties.thermal import true_density

FRESH_BULK_DENSITY = 550.0
"""Of fresh pieces, loosely filled [kg/m3]. Source: drystow-default."""

POWDER_BULK_DENSITY = 350.0
"""Of freeze-dried food ground to powder [kg/m3]. Source: drystow-default."""

RAW_PACKAGES = msg(
    'Raw animal food: freeze-drying does not kill germs. Mark every package "RAW - COOK '
    'BEFORE EATING", and keep it and its crumbs away from ready-to-eat food.'
)
"""Source: fd-no-kill."""

MOIST = 0.10
"""Home-storage leaflets allow reduced-oxygen packs up to this moisture [-]. Source: home-storage-sheet."""

LAYER = 0.02
"""Depth of the food while it lies open [m]. Source: drystow-default."""

OPEN_GAIN = 0.005
"""Moisture it may gain meanwhile, dry basis [-]. Source: drystow-default."""


@dataclass(frozen=True)
class PackPlan:
    """How a batch is packed; volumes of oxygen are per container, at 23 °C and one atmosphere.

    pack: what was asked
    filling: which containers, how many
    isotherm: of the food
    moisture: when packed, dry basis [-]
    water_activity: when packed [-]
    true_density: of the dried solid without pores [kg/m3]
    void: air in one container [m3]
    oxygen_ml: oxygen left in one container when it is closed [mL]
    ingress: oxygen that comes in afterwards [m3/s]
    ingress_ml: of that within the wished keeping time [mL]
    absorbers: sachets for one container, none when they would be of no use or not safe
    absorber_time: until the sachets are used up, 0 without any [s]
    open_limit: how long the food may lie open while packing, an estimate [s]
    warnings: sentences that may not be overlooked
    cautions: sentences on safe handling
    notes: practical sentences and assumptions
    sources: keys in sources.toml
    """

    pack: PackSpec
    filling: Filling
    isotherm: Isotherm
    moisture: float
    water_activity: float
    true_density: float
    void: float
    oxygen_ml: float
    ingress: float
    ingress_ml: float
    absorbers: AbsorberChoice
    absorber_time: float
    open_limit: float
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    sources: tuple[str, ...]

    @property
    def container(self) -> Container:
        """Return the kind of container. Source: definition."""
        return self.filling.container


def pack_batch(pack: PackSpec) -> PackPlan:
    """Return the plan for a batch.

    pack: what is packed, into what, where it is stored
    """
    check_air_left(pack.air_left)
    bulk, notes = _bulk_density(pack)
    if pack.container is None:
        filling = choose(pack.dry_mass, bulk, pack.powder, ("pouch", "can", "jar"))[0]
    else:
        filling = fill(pack.container, pack.dry_mass, bulk, pack.powder, pack.count)
    box = filling.container
    isotherm = isotherm_for(pack.food)
    moisture = pack.residual_moisture / (1 - pack.residual_moisture)
    activity = min(float(gab_water_activity(moisture, isotherm.monolayer, isotherm.c, isotherm.k)), 1.0)
    solid = true_density(pack.food.composition, pack.residual_moisture)
    void = float(void_volume(box.inside, filling.mass_each, solid))
    oxygen = pack.air_left * float(
        oxygen_volume_ml(box.inside, filling.mass_each, solid, pack.altitude, pack.temperature)
    )
    pressure = float(pressure_at_altitude(pack.altitude))
    ingress = oxygen_ingress(box.material.oxygen, box.area, box.leak, pressure)
    ingress_ml = ingress * pack.keep_for * 1e6
    dry_enough = activity < NO_GROWTH and pack.residual_moisture <= MOIST
    absorbers = absorbers_for(0.0)
    if pack.absorbers and dry_enough and box.oxygen_barrier:
        absorbers = absorbers_for(oxygen + ingress_ml, pack.margin)
    lasting = inf if ingress == 0 else max(absorbers.capacity_ml - oxygen, 0) * 1e-6 / ingress
    return PackPlan(
        pack=pack,
        filling=filling,
        isotherm=isotherm,
        moisture=moisture,
        water_activity=activity,
        true_density=solid,
        void=void,
        oxygen_ml=oxygen,
        ingress=ingress,
        ingress_ml=ingress_ml,
        absorbers=absorbers,
        absorber_time=lasting if absorbers.sachets else 0.0,
        open_limit=_open_limit(pack, bulk, isotherm, moisture, activity),
        warnings=_warnings(pack, box, oxygen, ingress, activity, dry_enough),
        cautions=_cautions(pack, absorbers),
        notes=(*pack.notes, *filling.notes, *notes, *_assumptions(pack, box, isotherm, activity)),
        sources=tuple(
            dict.fromkeys(
                (
                    box.source,
                    box.material.source,
                    isotherm.source,
                    "us-standard-atmosphere",
                    "choi-okos",
                    "yam-scavengers",
                )
            )
        ),
    )


def _bulk_density(pack: PackSpec) -> tuple[float, tuple[str, ...]]:
    if pack.bulk_density is not None:
        return pack.bulk_density, ()
    note = msg("The space the food takes is estimated, so have one more container ready.")
    if pack.powder:
        return POWDER_BULK_DENSITY, (note,)
    water = max(pack.food.composition.water, pack.residual_moisture)
    return dried_bulk_density(FRESH_BULK_DENSITY, water, pack.residual_moisture), (note,)


def _open_limit(pack: PackSpec, bulk: float, isotherm: Isotherm, moisture: float, activity: float) -> float:
    room = 0.5
    area = pack.dry_mass / bulk / LAYER
    gain = min(
        OPEN_GAIN, 2 * max(float(gab_moisture(0.3, isotherm.monolayer, isotherm.c, isotherm.k)) - moisture, 0.001)
    )
    return open_time_limit(area, pack.dry_mass * (1 - pack.residual_moisture), gain, activity, pack.temperature, room)


def _warnings(
    pack: PackSpec, box: Container, oxygen: float, ingress: float, activity: float, dry_enough: bool
) -> tuple[str, ...]:
    warnings: list[str] = []
    if not dry_enough:
        warnings.append(
            msg(
                "Not dry enough to seal without oxygen (moisture {moisture:.0%}, estimated water "
                "activity {activity:.2f}). Moist food packed this way can grow the botulism germ. Keep "
                "drying before you pack.",
                moisture=pack.residual_moisture,
                activity=activity,
            )
        )
    if rule := grain_rule_warning(oxygen, box.inside):
        warnings.append(rule)
    if not box.oxygen_barrier:
        days = 300e-6 / ingress / DAY if ingress else inf
        lasting = msg_many("{count} day", "{count} days", round(days)) if days >= 1.5 else msg("about a day")
        warnings.append(
            msg(
                "'{container}' lets in so much oxygen that a 300 cc absorber is used up in {lasting}, so "
                "none is put in.",
                container=box.name,
                lasting=lasting,
            )
        )
    return tuple(warnings)


def _cautions(pack: PackSpec, absorbers: AbsorberChoice) -> tuple[str, ...]:
    cautions = list(ABSORBER_CAUTIONS) if absorbers.sachets else []
    return (*cautions, *raw_cautions(pack.food.raw_animal, (RAW_PACKAGES,)))


def _assumptions(pack: PackSpec, box: Container, isotherm: Isotherm, activity: float) -> tuple[str, ...]:
    notes = []
    if not pack.moisture_given:
        notes.append(msg("No moisture was given, so 3% is assumed. To know it, weigh, keep drying, and weigh again."))
    if isotherm.mark == "class default":
        notes.append(
            msg(
                "Water activity is a typical value for {food_class}, not a measurement.",
                food_class=msg(pack.food.food_class),
            )
        )
    if isotherm.note:
        notes.append(msg("How it holds water was {note}.", note=isotherm.note))
    if activity < isotherm.low:
        notes.append(
            msg(
                "So dry, water activity was never measured for its kind; {activity:.2f} may be half or twice that.",
                activity=activity,
            )
        )
    if pack.air_left < 1 and box.kind == "can":
        notes.append(msg("Household vacuum sealers do not work on cans; the air left in them is used as entered."))
    if box.material.spread > 1:
        notes.append(
            msg(
                "Barrier of '{container}': {wall}, figures within a factor of {spread:g}.",
                container=box.name,
                wall=box.material.name,
                spread=box.material.spread,
            )
        )
    return tuple(notes)


def describe_time(time: float) -> str:
    """Return a time in words, in days, months or years.

    time: the time [s]
    """
    if not isfinite(time) or time > 25 * YEAR:
        return msg("more than 25 years")
    if time < 60 * DAY:
        return msg_many("{count} day", "{count} days", round(time / DAY))
    if time < 2 * YEAR:
        return msg_many("{count} month", "{count} months", round(time / DAY / 30.4))
    return msg_many("{count} year", "{count} years", round(time / YEAR))

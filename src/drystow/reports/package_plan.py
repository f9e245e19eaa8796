"""One package from closing to the plate: packing, keeping and serving of a PACK.toml together, and its labels."""

from dataclasses import dataclass, replace
from datetime import date
from math import isfinite
from typing import Any

from drystow.days import day_text
from drystow.errors import InputError
from drystow.foods.marks import raw_line
from drystow.keeping.limits import Limit, evidence_word
from drystow.keeping.shelf_life import UNKNOWN, KeepingResult, Keeps, date_words, keeps_closed, shelf_life
from drystow.keeping.vitamins import VitaminLeft
from drystow.messages import ends, msg
from drystow.packing.packfile import PackSpec
from drystow.packing.plan import PackPlan, describe_time, pack_batch
from drystow.packing.seasons import DAY
from drystow.reports.labels import Label
from drystow.reports.text import duration_text, mass_text, water_back
from drystow.serving.cautions import serving_cautions
from drystow.serving.rehydration import RehydrationTime, fresh_equivalent, rehydration_time, water_to_add
from drystow.shown import quantity
from drystow.sources import cite


@dataclass(frozen=True)
class PackagePlan:
    """How a batch is packed, how long it keeps and how it is served.

    packing: containers, oxygen and absorbers
    keeping: time to the first limit, with its evidence
    water_to_add: for one package, None when the dried food is no drier than the fresh [kg]
    fresh_equivalent: fresh food in one package, None likewise [kg]
    soaking: time in cold and in hot water
    serving: cautions before water goes back in
    """

    packing: PackPlan
    keeping: KeepingResult
    water_to_add: float | None
    fresh_equivalent: float | None
    soaking: tuple[RehydrationTime, RehydrationTime]
    serving: tuple[str, ...]

    @property
    def keeps(self) -> Keeps | None:
        """How long one closed package keeps, None without a day of packing or when it is too moist to keep."""
        return keeps_closed(self.keeping, self.packing.pack.packed_on)

    @property
    def cautions(self) -> tuple[str, ...]:
        """Every caution once, packing first."""
        return tuple(dict.fromkeys((*self.packing.cautions, *self.keeping.cautions, *self.serving)))

    @property
    def notes(self) -> tuple[str, ...]:
        """Every note once, packing first."""
        soaking = [note for time in self.soaking for note in time.notes]
        return tuple(dict.fromkeys((*self.packing.notes, *self.keeping.notes, *soaking)))

    @property
    def sources(self) -> tuple[str, ...]:
        """Every source key once."""
        used = ("rehydration-terms", "rehydration-practice")
        return tuple(dict.fromkeys((*self.packing.sources, *self.keeping.sources, *used)))

    def as_dict(self) -> dict[str, Any]:
        """Return the plan as plain data with units in the names, for JSON."""
        plan, keeping, keeps, box = self.packing, self.keeping, self.keeps, self.packing.container
        low, central, high = keeping.days
        return {
            "title": plan.pack.title,
            "lot": plan.pack.lot,
            "food": plan.pack.food.name,
            "raw_animal": plan.pack.food.raw_animal,
            "allergens": list(plan.pack.food.allergens),
            "containers": {
                "kind": box.id,
                "name": box.name,
                "count": plan.filling.count,
                "dry_mass_each_kg": plan.filling.mass_each,
                "fill": plan.filling.fill,
            },
            "residual_moisture": plan.pack.residual_moisture,
            "water_activity": plan.water_activity,
            "oxygen": {
                "at_closing_ml": plan.oxygen_ml,
                "comes_in_ml": plan.ingress_ml,
                "void_ml": plan.void * 1e6,
            },
            "absorbers": {
                "each": plan.absorbers.text,
                "sachets_cc": list(plan.absorbers.sachets),
                "needed_ml": plan.absorbers.needed_ml,
                "capacity_ml": plan.absorbers.capacity_ml,
                "last_days": _days(plan.absorber_time),
            },
            "open_limit_min": plan.open_limit / 60 if isfinite(plan.open_limit) else None,
            "keeping": {
                "text": keeping.text if keeping.keeps else "",
                "verdict": keeping.verdict,
                "limit": keeping.limit,
                "evidence": keeping.evidence,
                "best_before": keeps.best_before.isoformat() if keeps else None,
                "low_days": low,
                "central_days": central,
                "high_days": high,
                "limits": [_limit(limit) for limit in keeping.limits],
                "practice_years": list(keeping.practice),
                "vitamins": [_vitamin(one) for one in keeping.vitamins],
            },
            "serving": {
                "water_to_add_kg": self.water_to_add,
                "fresh_equivalent_kg": self.fresh_equivalent,
                "soaking": [
                    {"water": "hot" if time.hot else "cold", "low_min": time.low / 60, "high_min": time.high / 60}
                    for time in self.soaking
                ],
                "how": self.soaking[0].how,
            },
            "warnings": list(plan.warnings),
            "cautions": list(self.cautions),
            "notes": list(self.notes),
            "sources": [{"key": key, "text": cite(key).text, "mark": cite(key).mark} for key in self.sources],
        }


def package_plan(pack: PackSpec) -> PackagePlan:
    """Return packing, keeping and serving of one batch."""
    packing = pack_batch(pack)
    fresh, dry, each = pack.food.composition.water, pack.residual_moisture, packing.filling.mass_each
    drier = dry < fresh < 1.0
    cold, hot = (rehydration_time(pack.food.food_class, pack.size, warm, pack.powder) for warm in (False, True))
    return PackagePlan(
        packing=packing,
        keeping=shelf_life(packing),
        water_to_add=float(water_to_add(each, dry, fresh)) if drier else None,
        fresh_equivalent=float(fresh_equivalent(each, dry, fresh)) if drier else None,
        soaking=(cold, hot),
        serving=serving_cautions(pack.food),
    )


def oxygen_reason(plan: PackagePlan) -> str:
    """Return in a sentence how much oxygen there is, which is why the absorber is as large as it is."""
    packing = plan.packing
    return msg(
        "The absorber must bind the {closed} of oxygen in each when sealed, and {later} more"
        " that gets in within {time}."
        if packing.absorbers.sachets
        else "Each holds {closed} of oxygen when sealed; {later} more gets in within {time}.",
        closed=quantity(packing.oxygen_ml / 1e6, "gas"),
        later=quantity(packing.ingress_ml / 1e6, "gas"),
        time=describe_time(packing.pack.keep_for),
    )


def plan_sentences(plan: PackagePlan, units: str = "us") -> list[str]:
    """Return the plan in plain sentences; warnings, cautions and notes stand in the plan beside them."""
    packing, keeping = plan.packing, plan.keeping
    filling = packing.filling
    lines: list[str] = [
        msg(
            "{count} × {container}, {mass} of dried food in each, {fill:.0%} full.",
            count=filling.count,
            container=packing.container.name,
            mass=mass_text(filling.mass_each, units),
            fill=filling.fill,
        ),
    ]
    if packing.absorbers.sachets:
        lines.append(msg("Oxygen absorbers in each: {absorbers}.", absorbers=packing.absorbers.text))
    else:
        lines.append(msg("No oxygen absorber."))
    if packing.open_limit < DAY:
        longest = duration_text(packing.open_limit)
        lines.append(msg("Do not leave the food open longer than about {time}.", time=longest))
    if not keeping.keeps:
        lines.append(msg("It is too moist to keep, so it gets no best-before date."))
    elif keeping.verdict == UNKNOWN:
        lines.append(msg("How long it keeps is {time}.", time=keeping.text))
    else:
        lines.append(msg("Keeps {time}.", time=keeping.text))
    if keeps := plan.keeps:
        date_line = date_words(day_text(keeps.best_before), keeps.evidence)
        lines.append(msg("{date} ({evidence}).", date=date_line, evidence=evidence_word(keeps.evidence)))
    if plan.water_to_add is not None:
        dry, water, fresh = water_back(filling.mass_each, plan.water_to_add, units)
        lines.append(
            msg(
                "To serve one package of {dry}, add up to {water} of water. It makes {mass} of fresh food.",
                dry=dry,
                water=water,
                mass=fresh,
            )
        )
    for time in plan.soaking:
        low, high = ends(duration_text(time.low), duration_text(time.high))
        if time.hot:
            lines.append(msg("In hot water, about {low} to {high}.", low=low, high=high))
        else:
            lines.append(msg("In cold water, about {low} to {high}.", low=low, high=high))
    return lines


def package_labels(
    plan: PackagePlan,
    *,
    packed_on: date | None = None,
    lot: str = "",
    count: int = 0,
    ingredients: str = "",
    qr_prefix: str = "",
    gs1: bool = False,
    gtin: str = "",
) -> list[Label]:
    """Return one label for every package.

    plan: of the batch
    packed_on: day of packing, in place of the pack file's
    lot: lot, in place of the pack file's
    count: number of labels, 0 for one per container
    ingredients, qr_prefix, gs1, gtin: as in `Label`
    """
    pack = plan.packing.pack
    day = packed_on or pack.packed_on
    if day is None:
        raise InputError("packed_on", msg("a label needs the day of packing; write packed_on = 2027-03-12"))
    if packed_on is not None and packed_on != pack.packed_on:
        plan = package_plan(replace(pack, packed_on=packed_on))
    keeps = plan.keeps
    label = Label(
        food=pack.food.name,
        packed_on=day,
        lot=lot or pack.lot,
        net_mass=plan.packing.filling.mass_each,
        best_before=keeps.best_before if keeps else None,
        best_before_basis=keeps.evidence if keeps else "",
        water_to_add=plan.water_to_add,
        allergens=pack.food.allergens,
        cautions=tuple(filter(None, (raw_line(pack.food.raw_animal),))),
        absorber=bool(plan.packing.absorbers.sachets),
        ingredients=ingredients,
        extra=pack.label_notes,
        qr_prefix=qr_prefix,
        gs1=gs1,
        gtin=gtin,
    )
    return [label] * (count or plan.packing.filling.count)


def _limit(limit: Limit) -> dict[str, Any]:
    return {
        "name": limit.name,
        "low_days": _days(limit.low),
        "central_days": _days(limit.central),
        "high_days": _days(limit.high),
        "basis": limit.basis,
        "evidence": limit.evidence,
    }


def _vitamin(one: VitaminLeft) -> dict[str, Any]:
    return {"name": one.name, "left": one.left, "text": one.text}


def _days(time: float) -> float | None:
    """Return a time in days, None when it has no end."""
    return time / DAY if isfinite(time) else None

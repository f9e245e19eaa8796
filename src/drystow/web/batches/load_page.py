"""What the load page shows, as text: the engine's numbers in the wished units, nothing left to compute."""

import math
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from drystow.foods.model import Food
from drystow.machine.ensemble import Spread
from drystow.machine.item import TrayItem
from drystow.machine.load import Load
from drystow.machine.result import LoadResult, TrayResult
from drystow.messages import msg
from drystow.numerics import Array
from drystow.reports.charts import COLOURS, DASHES
from drystow.reports.text import duration_text, mass_text, unending_text
from drystow.reports.timeline import TimelineRow, program_words, timeline
from drystow.serving.cautions import serving_cautions
from drystow.shown import quantity, show
from drystow.sources import MARKS, cite
from drystow.web.batches.bars import Bar, Tick, hour_ticks, tray_bars
from drystow.web.kit.reader import reader
from drystow.web.kit.words import in_words, sentence_words

WHOLE_HOURS = 9.9 * 3600.0  # from here on minutes say more than anybody knows [s]
SIZES = {
    "slab": msg("layer {size} thick", size="{size}"),
    "stick": msg("sticks {size} thick", size="{size}"),
    "sphere": msg("round pieces {size} across", size="{size}"),
    "cube": msg("cubes of {size}", size="{size}"),
}
FRANK = msg(
    "A mixed load under {size} thick takes about a day in a home dryer (common practice). "
    "These are typical numbers of a made-up dryer. Yours will differ, so weigh your trays.",
    size=quantity(0.012, "length", 1, short=True),
)
"""What nobody has published: half an inch, rounded for both readers."""


@dataclass(frozen=True)
class TrayRow:
    """One tray in words.

    number: of the tray, from 1
    name: of the food
    facts: what lies on the tray
    ready: when it is dry
    range: the same for 8 runs in 10
    steps: frozen, ice gone, dry, with their times
    limit: its limit and how warm its ice gets
    over: its ice got warmer than the limit
    weight: what the food on the tray weighs when it is dry enough
    target: wished moisture
    bars: its course as pieces of a bar
    line: which line of the charts is its own
    colour: of this line on a light screen
    dash: of this line
    notes: of the simulation, in full
    cautions: before anybody eats it
    """

    number: int
    name: str
    facts: tuple[str, ...]
    ready: str
    range: str
    steps: tuple[tuple[str, str], ...]
    limit: str
    over: bool
    weight: str
    target: str
    bars: tuple[Bar, ...]
    line: int
    colour: str
    dash: str
    notes: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class LoadPage:
    """The load page in words.

    title: of the load
    ready: when the whole load is dry
    range: the same for 8 runs in 10
    unending: said in place of the range where not all of these end, else nothing
    members: how many runs are behind the ranges
    last: food that is dry last
    over: foods whose ice gets warmer than its limit
    ended: sentence when the run did not end with dry food, else empty
    mass: of the fresh food
    dry_mass: of the dry food
    energy: electricity of the run
    energy_parts: who uses it
    ice: on the trap at the end
    ice_capacity: that the trap holds
    ice_share: of the capacity, 0 to 100
    peaks: highest vapour flow and pressure
    dryer: its kind, in words
    program: the steps that the operator sets
    trays: one row each
    ticks: hours below the bars
    timeline: the course in sentences
    notes: on the whole load
    sources: reference and how its value got here
    """

    title: str
    ready: str
    range: str
    unending: str
    members: int
    last: str
    over: tuple[str, ...]
    ended: str
    mass: str
    dry_mass: str
    energy: str
    energy_parts: tuple[tuple[str, str], ...]
    ice: str
    ice_capacity: str
    ice_share: int
    peaks: tuple[tuple[str, str], ...]
    dryer: str
    program: tuple[str, ...]
    trays: tuple[TrayRow, ...]
    ticks: tuple[Tick, ...]
    timeline: tuple[TimelineRow, ...]
    notes: tuple[str, ...]
    sources: tuple[tuple[str, str], ...]

    @property
    def frank(self) -> str:
        """What nobody has published, in the reader's units."""
        return in_words(FRANK)


def load_page(load: Load, result: LoadResult, spread: Spread, units: str) -> LoadPage:
    """Return the load page.

    load: food, dryer and program
    result: of the load with the central numbers
    spread: how sure the times are
    units: ``us`` or ``si``
    """
    machine = result.machine
    last, _tray_result = max(
        enumerate(result.trays), key=lambda pair: math.inf if pair[1].dry_end is None else pair[1].dry_end
    )
    return LoadPage(
        title=result.title,
        ready=_hours(result.total_time),
        range=_range(spread.total),
        unending=in_words(unending_text(float(spread.total[0]), float(spread.total[-1]))),
        members=spread.members,
        last=in_words(msg("tray {number}, {food}", number=result.trays[last].tray, food=result.trays[last].name)),
        over=tuple(tray.name for tray in result.trays if tray.front_temperature_max > tray.limit),
        ended="" if result.ended_by == "dry" else sentence_words(result.ended_text),
        mass=in_words(mass_text(sum(tray.mass for tray in result.trays), units)),
        dry_mass=in_words(mass_text(sum(tray.solids / (1.0 - tray.residual_moisture) for tray in result.trays), units)),
        energy=in_words(show(machine.energy, "energy", units)),
        energy_parts=(
            (_("Compressor"), in_words(show(machine.compressor_energy, "energy", units))),
            (_("Vacuum pump"), in_words(show(machine.pump_energy, "energy", units))),
            (_("Shelf heaters"), in_words(show(machine.heater_energy, "energy", units))),
        ),
        ice=in_words(mass_text(machine.trap_ice, units)),
        ice_capacity=in_words(mass_text(machine.trap_capacity, units)),
        ice_share=round(100 * min(machine.trap_ice / machine.trap_capacity, 1.0)),
        peaks=(
            (_("Most vapor"), in_words(show(machine.peak_vapour, "mass flow", units))),
            (_("Highest pressure"), in_words(show(machine.peak_pressure, "pressure", units))),
        ),
        dryer=sentence_words(load.rig.dryer.words),
        program=tuple(in_words(step) for step in program_words(load, units)),
        trays=tuple(_tray(number, item, result, spread, units) for number, item in enumerate(load.items)),
        ticks=hour_ticks(result.total_time),
        timeline=tuple(
            replace(row, when=_hours(row.time) if row.time else row.when, what=sentence_words(row.what))
            for row in timeline(result, units, translate=reader())
        ),
        notes=tuple(sentence_words(note) for note in (*load.notes, *result.notes)),
        sources=tuple((cite(key).text, in_words(MARKS[cite(key).mark])) for key in result.sources),
    )


def certainty(page: LoadPage) -> str:
    """Return how sure the times of a load are, for its sheet."""
    if page.unending:
        return page.unending
    words = _("In 8 of 10 simulated runs it takes {range} ({members} runs).")
    return words.format(range=page.range, members=page.members)


def _tray(number: int, item: TrayItem, result: LoadResult, spread: Spread, units: str) -> TrayRow:
    tray = result.trays[number]
    warmest, limit = (in_words(show(value, "temperature", units)) for value in (tray.front_temperature_max, tray.limit))
    over = tray.front_temperature_max > tray.limit
    steps = [(_("Frozen"), tray.freezing_end or None), (_("Ice gone"), tray.primary_end), (_("Dry"), tray.dry_end)]
    return TrayRow(
        number=tray.tray,
        name=tray.name,
        facts=_facts(item, tray, units),
        ready=_("not dry") if tray.dry_end is None else _hours(tray.dry_end),
        range="" if tray.dry_end is None else _range(spread.dry_end[number]),
        steps=tuple((word, _hours(time)) for word, time in steps if time is not None),
        limit=_("Warmest ice {warmest}, limit {limit}").format(warmest=warmest, limit=limit),
        over=over,
        weight=in_words(mass_text(tray.solids / (1.0 - tray.target_moisture), units)),
        target=in_words(show(tray.target_moisture, "fraction", units)),
        bars=tray_bars(tray, result.drying_start, result.total_time),
        line=number % len(COLOURS) + 1,
        colour=COLOURS[number % len(COLOURS)],
        dash=" ".join(str(length) for length in DASHES[number % len(DASHES)]),
        notes=tuple(sentence_words(note) for note in tray.notes),
        cautions=_cautions(item.food),
    )


def _facts(item: TrayItem, tray: TrayResult, units: str) -> tuple[str, ...]:
    size = msg(SIZES[item.cut.shape].template, size=show(item.cut.size, "length", units))
    start = show(item.start_temperature, "temperature", units)
    facts = (
        mass_text(tray.mass, units),
        msg("{mass} of it water", mass=mass_text(tray.water_start, units)),
        msg("{size}, drying from both sides", size=size) if item.cut.faces == 2 and item.cut.shape == "slab" else size,
        msg("loaded frozen at {start}", start=start) if item.frozen else msg("loaded at {start}", start=start),
    )
    return tuple(in_words(fact) for fact in facts)


def _hours(seconds: float) -> str:
    """Return a time in hours, as on the axis of the charts; only short ones with their minutes."""
    return duration_text(seconds) if seconds < WHOLE_HOURS else show(seconds, "time", decimals=0)


def _cautions(food: Food) -> tuple[str, ...]:
    return () if not food.may_be_raw and food.allergens_stated else tuple(map(in_words, serving_cautions(food)))


def _range(three: Array) -> str:
    low, high = float(three[0]), float(three[-1])
    if not math.isfinite(low):
        return _("hardly ever dry")
    if not math.isfinite(high):
        return _("{low} or more, sometimes never").format(low=_hours(low))
    return _("{low} to {high}").format(low=_hours(low), high=_hours(high))

"""``drystow pack``, ``label`` and ``rehydrate``: dry food into a closed, labeled, dated package, and back to food."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drystow.cli.output import (
    JsonOption,
    Units,
    UnitsOption,
    console,
    here,
    print_json,
    print_remarks,
    reader,
    table,
    tell,
    write_whole,
)
from drystow.messages import msg, msg_many, ranged

if TYPE_CHECKING:
    from drystow.reports.package_plan import PackagePlan

PackArgument = Annotated[Path, typer.Argument(help="Pack file (TOML), see docs/pack-file.md.", metavar="PACK.toml")]


def pack_command(pack_file: PackArgument, as_json: JsonOption = False, units: UnitsOption = Units.US) -> None:
    """Choose containers and absorbers; tells how long the food keeps and how to serve it."""
    from drystow.packing.packfile import read_packs
    from drystow.reports.package_plan import package_plan
    from drystow.shown import show

    read = read_packs(pack_file)
    plans = [package_plan(pack) for pack in read.packs]
    packed = sum(pack.dry_mass for pack in read.packs)
    if as_json:
        one, several = len(plans) == 1 and not read.left, [plan.as_dict() for plan in plans]
        print_json(several[0] if one else {"packages": several, "packed_kg": packed, "left_kg": read.left})
        return
    for plan in plans:
        _tell(plan, units.value)
    if len(plans) > 1 or read.left:
        out, system = console(), units.value
        tell(out, msg("Packed in all: {mass}.", mass=show(packed, "small mass", system)))
        if read.left:
            tell(out, msg("NOT PACKED YET: {mass}.", mass=show(read.left, "small mass", system)), "bold")


def label_command(
    pack_file: PackArgument,
    output: Annotated[Path, typer.Option("--output", "-o", help="PDF to write.")] = Path("labels.pdf"),
    sheet: Annotated[str, typer.Option(help="Label sheet or roll by name.")] = "letter-3x10",
    size: Annotated[str, typer.Option(help="Your own label: width x height, such as '70 mm x 37 mm'.")] = "",
    grid: Annotated[str, typer.Option(help="Your own sheet: columns x rows, such as 3x8.")] = "",
    paper: Annotated[str, typer.Option(help="Your own sheet: letter or a4.")] = "",
    margin: Annotated[str, typer.Option(help="Your own sheet: left x top margin, such as '5 mm x 12 mm'.")] = "",
    gap: Annotated[str, typer.Option(help="Your own sheet: gap between columns x rows, such as '3 mm x 0 mm'.")] = "",
    skip: Annotated[int, typer.Option(min=0, help="Labels already used on the first sheet.")] = 0,
    count: Annotated[int, typer.Option(min=0, max=100000, help="How many labels; 0 for one per package.")] = 0,
    lot: Annotated[str, typer.Option(help="Lot, instead of the pack file's.")] = "",
    packed_on: Annotated[
        datetime | None, typer.Option(formats=["%Y-%m-%d"], help="Packing date, instead of the pack file's.")
    ] = None,
    ingredients: Annotated[str, typer.Option(help="Ingredients, heaviest first.")] = "",
    qr_prefix: Annotated[str, typer.Option(help="Web address before the lot in the square code.")] = "",
    gs1: Annotated[bool, typer.Option("--gs1", help="GS1 code: lot, dates, net weight.")] = False,
    gtin: Annotated[str, typer.Option(help="14-digit article number for the GS1 code.")] = "",
    as_json: JsonOption = False,
    units: UnitsOption = Units.US,
) -> None:
    """Print labels for the packages of a pack file to a PDF."""
    from drystow.packing.packfile import read_packs
    from drystow.reports.labels import print_labels
    from drystow.reports.package_plan import package_labels, package_plan
    from drystow.reports.sheets import sheet_from

    numbers: dict[str, object] = {"skip": skip}
    own = {"size": size, "grid": grid, "paper": paper, "margin": margin, "gap": gap}
    numbers |= _own_sheet(own) if any(own.values()) else {"sheet": sheet}
    labels = [
        label
        for pack in read_packs(pack_file).packs
        for label in package_labels(
            package_plan(pack),
            packed_on=packed_on.date() if packed_on else None,
            lot=lot,
            count=count,
            ingredients=ingredients,
            qr_prefix=qr_prefix,
            gs1=gs1,
            gtin=gtin,
        )
    ]
    printed = print_labels(labels, sheet_from(numbers), units.value, reader())
    write_whole(output, printed.pdf)
    if as_json:
        print_json({"file": str(output), "labels": len(labels), "pages": printed.pages, "notes": list(printed.notes)})
        return
    out = console()
    labeled = msg_many("{count} label", "{count} labels", len(labels))
    paged = msg_many("{count} page", "{count} pages", printed.pages)
    tell(out, msg("{labels} on {pages}: {file}", labels=labeled, pages=paged, file=str(output)))
    print_remarks(out, "Note", printed.notes)


def _own_sheet(own: dict[str, str]) -> dict[str, object]:
    from drystow.errors import InputError

    names = {
        "size": ("label_width", "label_height"),
        "grid": ("columns", "rows"),
        "margin": ("left", "top"),
        "gap": ("column_gap", "row_gap"),
    }
    numbers: dict[str, object] = {"paper": own["paper"]} if own["paper"] else {}
    for option, (across, down) in names.items():
        if own[option]:
            parts = [part.strip() for part in own[option].lower().replace("×", "x").split("x")]
            if len(parts) != 2 or not all(parts):
                raise InputError(
                    f"--{option}", msg("'{given}' is not two values; write width x height", given=own[option])
                )
            numbers |= {across: parts[0], down: parts[1]}
    return numbers


def _tell(plan: "PackagePlan", units: str) -> None:
    from drystow.packing.plan import describe_time
    from drystow.reports.package_plan import oxygen_reason, plan_sentences

    out = console()
    out.print(plan.packing.pack.title, style="bold", markup=False)
    for warning in plan.packing.warnings:
        tell(out, msg("{heading}: {line}", heading="WARNING", line=warning), "bold")
    for line in plan_sentences(plan, units):
        tell(out, line)
    rows = table("", "Limit", ">At least", ">Likely", "Evidence")
    for limit in plan.keeping.limits:
        low, central = describe_time(limit.low), describe_time(limit.central)
        rows.add_row(here(limit.name), here(low), here(central), limit.evidence)
    out.print()
    out.print(rows)
    print_remarks(out, "Caution", plan.cautions)
    print_remarks(out, "Note", (oxygen_reason(plan), *plan.notes))


def rehydrate_command(
    food: Annotated[list[str], typer.Argument(help="Name or id of the food.")],
    fresh: Annotated[str, typer.Option(help="Fresh amount the recipe calls for, such as '2 lb'.")],
    moisture: Annotated[str, typer.Option(help="Moisture left in the dried food.")] = "3%",
    hot: Annotated[bool, typer.Option("--hot", help="Soak in hot water.")] = False,
    powder: Annotated[bool, typer.Option("--powder", help="The dried food is ground to powder.")] = False,
    as_json: JsonOption = False,
    units: UnitsOption = Units.US,
) -> None:
    """Tell how much dried food and water replace a fresh amount in a recipe."""
    from drystow.cli.food import one_food
    from drystow.reports.text import duration_text, water_back
    from drystow.serving.recipe import replace_fresh
    from drystow.shown import show
    from drystow.units import parse

    chosen = one_food(" ".join(food))
    amount = parse(fresh, "mass", "--fresh")
    swap = replace_fresh(chosen, amount, parse(moisture, "fraction", "--moisture"), hot=hot, powder=powder)
    if as_json:
        print_json(
            {
                "food": chosen.name,
                "fresh_kg": amount,
                "dried_kg": swap.dried_mass,
                "dried_ml": swap.dried_volume * 1e6 if swap.dried_volume else None,
                "water_kg": swap.water_mass,
                "water_ml": swap.water_volume * 1e6,
                "minutes": {"low": swap.time.low / 60, "high": swap.time.high / 60},
                "notes": [*swap.time.notes, *swap.notes],
                "cautions": list(swap.cautions),
            }
        )
        return
    out = console()
    dry, water, total = water_back(swap.dried_mass, swap.water_mass, units.value)
    take = msg(
        "{total} of fresh {food}: take {dry} dried and {water} water."
        if not swap.dried_volume
        else "{total} of fresh {food}: take {dry} dried (about {volume}) and {water} water.",
        total=total,
        food=chosen.name,
        dry=dry,
        water=water,
        volume=show(swap.dried_volume or 0.0, "volume", units.value),
    )
    tell(out, take)
    span = ranged(duration_text(swap.time.low), duration_text(swap.time.high))
    wait = msg(
        "In hot water about {span} (an estimate)." if swap.time.hot else "In cold water about {span} (an estimate).",
        span=span,
    )
    tell(out, wait)
    print_remarks(out, "Note", (*swap.time.notes, *swap.notes))
    print_remarks(out, "Caution", swap.cautions)

"""``drystow rehydrate``: a recipe's fresh amount -> dried food and water."""

from typing import Annotated

import typer

from drystow.cli.output import (
    JsonOption,
    Units,
    UnitsOption,
    console,
    print_json,
    print_remarks,
    tell,
)
from drystow.messages import msg, ranged


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

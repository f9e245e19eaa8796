"""``drystow food``: find a food in the food list, show what is known about it."""

from typing import Annotated, Any

import typer

from drystow.cli.output import (
    JsonOption,
    Units,
    UnitsOption,
    console,
    echo,
    here,
    print_json,
    print_remarks,
    table,
    tell,
)
from drystow.messages import listed, msg

app = typer.Typer(no_args_is_help=True, help="Find a food and see what it is made of.", rich_markup_mode=None)


@app.command("find")
def find_command(
    text: Annotated[list[str], typer.Argument(help="Words of the name; spelling need not be exact.")],
    limit: Annotated[int, typer.Option(min=1, max=100, help="Most matches to show.")] = 10,
    as_json: JsonOption = False,
) -> None:
    """Search the food list, best matches first."""
    from drystow.errors import InputError
    from drystow.foods.table import find
    from drystow.shown import percent

    words = " ".join(text)
    foods = find(words, limit)
    if not foods:
        raise InputError(
            "text", msg("nothing in the table resembles '{words}'; try fewer or simpler words", words=words[:60])
        )
    if as_json:
        from drystow.reports.plain_data import food_summary

        print_json({"query": words, "foods": [food_summary(food) for food in foods]})
        return
    rows = table("", "Id", "Food", ">Water", "Class")
    for food in foods:
        rows.add_row(food.id, food.name, percent(food.composition.water, 1), food.food_class)
    console().print(rows)


@app.command("show")
def show_command(
    name: Annotated[list[str], typer.Argument(help="Name or id of one food.")],
    as_json: JsonOption = False,
    units: UnitsOption = Units.US,
) -> None:
    """Show what one food is made of, whether it dries well, its limits and cautions."""
    data = _whole(one_food(" ".join(name)))
    if as_json:
        print_json(data)
        return
    _tell(data, units.value)


def one_food(words: str) -> Any:
    """Return the food called exactly so, or the best answer whose name has every word."""
    from drystow.errors import InputError
    from drystow.foods.table import find, get

    try:
        return get(words)
    except InputError:
        best = find(words, 1)
        if best and all(word.strip(",") in best[0].name.lower() for word in words.lower().split()):
            echo(msg("Best match for '{words}': {food}", words=words, food=best[0].name), err=True)
            return best[0]
        raise


def _whole(food: Any) -> dict[str, Any]:
    from dataclasses import asdict

    from drystow.drying.layer import target_moisture
    from drystow.errors import InputError
    from drystow.properties.glass import collapse_limits
    from drystow.properties.ice import initial_freezing_point
    from drystow.properties.suitability import suitability
    from drystow.reports.plain_data import food_summary
    from drystow.units import celsius

    verdict = suitability(food)
    data = food_summary(food) | {
        "composition": asdict(food.composition),
        "allergens_to_confirm": list(food.allergens),
        "raw_animal": food.raw_animal,
        "verdict": verdict.verdict,
        "reasons": list(verdict.reasons),
        "cautions": list(verdict.cautions),
        "preparation": list(verdict.preparation),
        "target_moisture": target_moisture(food),
        "freezing_point_c": None,
        "limits_c": None,
        "per_100_g": dict(food.nutrients),
        "source": food.source,
    }
    try:
        data["freezing_point_c"] = celsius(initial_freezing_point(food.composition, food.food_class, food.like))
        limits = collapse_limits(food.composition, food.food_class, food.like)
        data["limits_c"] = {
            "collapse": celsius(limits.collapse),
            "melting_onset": celsius(limits.melting_onset),
            "glass_transition": celsius(limits.glass_transition),
            "known": limits.known,
            "spread_k": limits.spread,
            "basis": limits.basis,
            "mark": limits.mark,
        }
    except InputError as problem:
        data["cautions"].append(msg("no freezing point or limit: {why}", why=problem.message))
    return data


def _tell(data: dict[str, Any], units: str) -> None:
    from drystow.foods.model import part_word
    from drystow.shown import percent, show
    from drystow.sources import SHORT_MARKS
    from drystow.units import kelvin

    out = console()
    out.print(f"[bold]{data['name']}[/]  ({data['id']}, {data['like']})", markup=True)
    composition = data["composition"]
    parts = ("water", "protein", "fat", "carbohydrate", "sugars", "fibre", "ash", "salt")
    rows = table("", "Part", ">Share")
    for part in parts:
        share = percent(composition[part], 1)
        rows.add_row(
            here(part_word(part)), f"{share} ± {percent(2 * composition['water_sd'], 1)}" if part == "water" else share
        )
    out.print(rows)
    out.print()
    tell(out, msg("Freeze-drying: {verdict}", verdict=data["verdict"]), "bold")
    for reason in data["reasons"]:
        out.print(f"  {here(reason)}")
    print_remarks(out, "Prepare", data["preparation"])
    print_remarks(out, "Caution", data["cautions"])
    if data["limits_c"]:
        limits = data["limits_c"]
        tell(out, msg("Dry to {moisture:.1%} moisture (common practice).", moisture=data["target_moisture"]))
        words = msg(
            "It starts to freeze at {freezing}. Keep the ice colder than {limit} while drying ({mark}).",
            freezing=show(kelvin(data["freezing_point_c"]), "temperature", units),
            limit=show(kelvin(limits["collapse"]), "temperature", units),
            mark=SHORT_MARKS[limits["mark"]],
        )
        tell(out, f"{here(words)} {here(limits['basis'])}")
    if data["allergens_to_confirm"]:
        tell(out, msg("Allergens to confirm: {allergens}", allergens=listed(data["allergens_to_confirm"])))
    out.print(f"Source: {data['source']}", style="dim")

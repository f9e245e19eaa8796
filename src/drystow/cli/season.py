"""``drystow season``: a garden and some choices of dryers -> is one enough, would a larger one pay."""

from dataclasses import replace
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
    progress_bar,
    table,
)
from drystow.said import say_many

if TYPE_CHECKING:
    from drystow.planning.season import Range
    from drystow.planning.season_answer import Answer, ChoiceAnswer
    from drystow.planning.season_money import Pay

WEEKS_TOLD = 3


def season_command(
    garden_file: Annotated[
        Path, typer.Argument(help="Garden file (TOML), see docs/garden-file.md.", metavar="GARDEN.toml")
    ],
    rounds: Annotated[
        int | None, typer.Option(min=1, max=200, help="Seasons to test, instead of the number in the file.")
    ] = None,
    seed: Annotated[
        int | None,
        typer.Option(
            min=0,
            help="Random number to start from, instead of the one in the file; the same one gives the same answer.",
        ),
    ] = None,
    as_json: JsonOption = False,
    units: UnitsOption = Units.US,
) -> None:
    """Test garden seasons: is one dryer enough, and would a larger one pay for itself?"""
    from drystow.planning.season_answer import try_seasons
    from drystow.planning.seasonfile import read_garden
    from drystow.reports.season_json import season_dict

    garden = read_garden(garden_file)
    garden = replace(
        garden,
        rounds=garden.rounds if rounds is None else rounds,
        seed=garden.seed if seed is None else seed,
    )
    with progress_bar() as progress:
        task = progress.add_task("Drying seasons", total=1.0)
        answer = try_seasons(garden, lambda share: progress.update(task, completed=share))
    if as_json:
        print_json(season_dict(answer))
        return
    _tell(answer, units.value)


def _tell(answer: "Answer", units: str) -> None:
    from drystow.figures import fixed
    from drystow.shown import percent, show, to_display

    out = console()
    mass = "lb" if units == "us" else "kg"
    rows = table(
        f"{answer.title}: "
        + say_many(
            "one season, {mass}",
            "{count} seasons, {mass} in half of them",
            answer.seasons,
            mass=show(answer.came.middle, "mass", units),
        ),
        "Choice",
        ">Enough in",
        f">Dried ({mass})",
        f">Lost ({mass})",
        ">Lost value",
        ">Batches",
        ">Electricity (kWh)",
        ">Cost",
        ">Freezer",
    )
    for one in answer.choices:
        rows.add_row(
            one.name,
            f"{one.enough} of {answer.seasons}",
            *(
                "{1} ({0} to {2})".format(
                    *(fixed(to_display(value, "mass", units), 0) for value in (part.low, part.middle, part.high))
                )
                for part in (one.dried, one.lost)
            ),
            f"{percent(one.share.middle)}, at most {percent(one.share.high)}",
            fixed(one.batches.middle, 0),
            fixed(one.energy.middle / 3.6e6, 0),
            fixed(one.cost.middle, 0) if answer.priced else "not counted",
            percent(one.freezer.middle),
        )
    out.print(rows)
    out.print(
        "Three numbers: one season in ten is below the first, half below the second, nine in ten below the third."
    )
    if not answer.priced:
        out.print("Electricity: not counted: no tariff set.")
    out.print()
    for one in answer.choices:
        for line in _lines(one, answer, units):
            out.print(line, markup=False)
    print_remarks(out, "Caution", answer.cautions)
    print_remarks(out, "Note", answer.notes)


def _lines(one: "ChoiceAnswer", answer: "Answer", units: str) -> list[str]:
    from drystow.days import day_text
    from drystow.shown import percent

    lines: list[str] = [
        say_many(
            "{name}: enough in {enough} of one season (at most 2% of the food's value lost).",
            "{name}: enough in {enough} of {count} seasons (at most 2% of the food's value lost).",
            answer.seasons,
            name=one.name,
            enough=one.enough,
        )
    ]
    tight = ", ".join(
        f"{here(day_text(week.begin, 'month_day'))} ({percent(week.tight)} of the seasons)"
        for week in one.tight_weeks[:WEEKS_TOLD]
    )
    if tight:
        lines.append(f"  Most is lost in the weeks from {tight}.")
    if one.per_kg:
        what = "Price and electricity" if answer.priced else "Price, without electricity,"
        lines.append(f"  {what} for all that is dried: {_per(one.per_kg, units)}.")
    if one.pay is not None:
        lines += [f"  {line}" for line in _pays(one.pay, answer.choices[0].name, units)]
    return lines


def _pays(pay: "Pay", first: str, units: str) -> list[str]:
    from drystow.figures import fixed
    from drystow.shown import show

    if pay.price is None or pay.value is None or pay.prices is None:
        return [f"Nothing more is dried than with '{first}'; it costs {fixed(pay.cost.mean, 0)} more a year."]
    more = show(pay.more.mean, "mass", units)
    lines: list[str] = [
        f"Dries {more} more a year than '{first}' at {_per(pay.price, units)} ({_from_to(pay.prices, units)}).",
        f"It pays when what is saved is worth {_per(pay.price, units)}; it is worth {_per(pay.value, units)}.",
    ]
    if pay.years is None:
        return [*lines, "It never pays for itself."]
    after = f"Paid back after {fixed(pay.years, 1)} years"
    return [*lines, f"{after}: it pays." if pay.pays else f"{after}, longer than it lasts: it does not pay."]


def _per(price: float, units: str) -> str:
    """Return a price for a kilogram, or for a pound."""
    from drystow.figures import fixed
    from drystow.shown import to_display

    return f"{fixed(price / to_display(1.0, 'mass', units), 2)} a {'lb' if units == 'us' else 'kg'}"


def _from_to(prices: "Range", units: str) -> str:
    """Return prices season by season, of which the high one has no end where nothing more is dried."""
    from math import isfinite

    if not isfinite(prices.low):
        return "in most seasons nothing more"
    low = _per(prices.low, units)
    return f"{low} to {_per(prices.high, units)}" if isfinite(prices.high) else f"{low} or more, some seasons nothing"

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
    tell,
)
from drystow.messages import listed, msg, msg_many

if TYPE_CHECKING:
    from drystow.planning.season.answer import ChoiceAnswer, Pay, SeasonAnswer
    from drystow.planning.season.garden import OverSeasons

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
    from drystow.planning.season.answer import try_seasons
    from drystow.planning.season.garden_file import read_garden
    from drystow.reports.plain_data import season_dict

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


def _tell(answer: "SeasonAnswer", units: str) -> None:
    from drystow.figures import fixed
    from drystow.shown import percent, show, to_display

    out = console()
    mass = "lb" if units == "us" else "kg"
    rows = table(
        here(
            msg_many(
                "{title}: one season, {mass}",
                "{title}: {count} seasons, {mass} in half of them",
                answer.seasons,
                title=answer.title,
                mass=show(answer.came.middle, "mass", units),
            )
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
            here(msg("{enough} of {count}", enough=one.enough, count=answer.seasons)),
            *(
                here(
                    msg(
                        "{middle:.0f} ({low:.0f} to {high:.0f})",
                        low=to_display(part.low, "mass", units),
                        middle=to_display(part.middle, "mass", units),
                        high=to_display(part.high, "mass", units),
                    )
                )
                for part in (one.dried, one.lost)
            ),
            here(msg("{middle:.0%}, at most {high:.0%}", middle=one.share.middle, high=one.share.high)),
            fixed(one.batches.middle, 0),
            fixed(one.energy.middle / 3.6e6, 0),
            fixed(one.cost.middle, 0) if answer.priced else here(msg("not counted")),
            percent(one.freezer.middle),
        )
    out.print(rows)
    tell(out, msg("Half of the seasons are below the first number; 8 in 10 are within the range in brackets."))
    if not answer.priced:
        tell(out, msg("Electricity is not counted; no price is set."))
    out.print()
    for one in answer.choices:
        first, *more = _lines(one, answer, units)
        tell(out, first)
        for line in more:
            out.print(f"  {here(line)}", markup=False)
    print_remarks(out, "Caution", answer.cautions)
    print_remarks(out, "Note", answer.notes)


def _lines(one: "ChoiceAnswer", answer: "SeasonAnswer", units: str) -> list[str]:
    from drystow.days import day_text

    lines: list[str] = [
        msg_many(
            "{name}: enough in {enough} of one season (at most 2% of the food's value lost).",
            "{name}: enough in {enough} of {count} seasons (at most 2% of the food's value lost).",
            answer.seasons,
            name=one.name,
            enough=one.enough,
        )
    ]
    tight = [
        msg("{day} ({share:.0%} of the seasons)", day=day_text(week.begin, "month_day"), share=week.tight)
        for week in one.tight_weeks[:WEEKS_TOLD]
    ]
    if tight:
        lines.append(msg("Most is lost in the weeks from {weeks}.", weeks=listed(tight)))
    if one.per_kg:
        price = _per(one.per_kg, units)
        lines.append(
            msg("Price and electricity for all that is dried: {price}.", price=price)
            if answer.priced
            else msg("Price, without electricity, for all that is dried: {price}.", price=price)
        )
    return lines if one.pay is None else [*lines, *_pays(one.pay, answer.choices[0].name, units)]


def _pays(pay: "Pay", first: str, units: str) -> list[str]:
    from drystow.shown import show

    if pay.price is None or pay.value is None or pay.prices is None:
        cost = pay.cost.mean
        return [
            msg("Nothing more is dried than with '{first}'; it costs {cost:.0f} more a year.", first=first, cost=cost)
        ]
    lines: list[str] = [
        msg(
            "Dries {mass} more a year than '{first}' at {price} ({span}).",
            mass=show(pay.more.mean, "mass", units),
            first=first,
            price=_per(pay.price, units),
            span=_from_to(pay.prices, units),
        ),
        msg(
            "It pays when what is saved is worth {price}; it is worth {value}.",
            price=_per(pay.price, units),
            value=_per(pay.value, units),
        ),
    ]
    if pay.years is None:
        return [*lines, msg("It never pays for itself.")]
    after = msg(
        "It will pay for itself after {years:.1f} years."
        if pay.pays
        else "It would pay for itself after {years:.1f} years, longer than it lasts; it does not pay.",
        years=pay.years,
    )
    return [*lines, after]


def _per(price: float, units: str) -> str:
    """Return a price for a kilogram, or for a pound."""
    from drystow.shown import to_display

    each = price / to_display(1.0, "mass", units)
    return msg("{price:.2f} a lb" if units == "us" else "{price:.2f} a kg", price=each)


def _from_to(prices: "OverSeasons", units: str) -> str:
    """Return prices season by season, of which the high one has no end where nothing more is dried."""
    from math import isfinite

    if not isfinite(prices.low):
        return msg("in most seasons nothing more")
    low = _per(prices.low, units)
    if isfinite(prices.high):
        return msg("{low} to {high}", low=low, high=_per(prices.high, units))
    return msg("{price} or more, some seasons nothing", price=low)

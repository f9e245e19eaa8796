"""A season tried out as plain data with units in the names, for JSON."""

import math
from typing import Any

from drystow.planning.season.answer import ChoiceAnswer, SeasonAnswer
from drystow.planning.season.garden import Range
from drystow.planning.season.money import Pay


def season_dict(answer: SeasonAnswer) -> dict[str, Any]:
    """Return the answer; a range is {p10, p50, p90, mean}, what never ends or cannot be told is null."""
    return {
        "title": answer.title,
        "begin": answer.begin.isoformat(),
        "seasons": answer.seasons,
        "came_kg": _range(answer.came),
        "value": _range(answer.value),
        "choices": [_choice(one) for one in answer.choices],
        "notes": list(answer.notes),
        "cautions": list(answer.cautions),
        "sources": list(answer.sources),
    }


def _range(one: Range, unit: float = 1.0) -> dict[str, float | None]:
    values = {"p10": one.low, "p50": one.middle, "p90": one.high, "mean": one.mean}
    return {name: value / unit if math.isfinite(value) else None for name, value in values.items()}


def _choice(one: ChoiceAnswer) -> dict[str, Any]:
    return {
        "name": one.name,
        "dryers": list(one.dryers),
        "price": one.price,
        "years": one.years,
        "enough_seasons": one.enough,
        "dried_kg": _range(one.dried),
        "lost_kg": _range(one.lost),
        "lost_value": _range(one.value),
        "lost_share": _range(one.share),
        "batches": _range(one.batches),
        "running_h": _range(one.time, 3600.0),
        "electricity_kwh": _range(one.energy, 3.6e6),
        "electricity_cost": _range(one.cost),
        "freezer_share": _range(one.freezer),
        "freezer_full_days": _range(one.freezer_days),
        "weeks_with_losses": _range(one.weeks_lost),
        "cost_per_kg": one.per_kg,
        "weeks": [
            {
                "begin": week.begin.isoformat(),
                "came_kg": _range(week.came),
                "dried_kg": _range(week.dried),
                "lost_kg": _range(week.lost),
                "seasons_with_losses": week.tight,
            }
            for week in one.weeks
        ],
        "crops": [
            {
                "name": crop.name,
                "came_kg": _range(crop.came),
                "lost_kg": _range(crop.lost),
                "never_dry_in": list(crop.never),
            }
            for crop in one.crops
        ],
        "pay": None if one.pay is None else _pay(one.pay),
    }


def _pay(pay: Pay) -> dict[str, Any]:
    return {
        "more_kg": _range(pay.more),
        "more_value": pay.worth,
        "more_cost": _range(pay.cost),
        "price_per_more_kg": pay.price,
        "prices_per_more_kg": None if pay.prices is None else _range(pay.prices),
        "value_per_more_kg": pay.value,
        "break_even_per_kg": pay.price,
        "years_until_paid_back": pay.years,
        "pays": pay.pays,
    }

"""A composition as people write it in a TOML table."""

from drystow.errors import InputError
from drystow.fields import Fields
from drystow.foods.model import PARTS, Composition
from drystow.said import say

COMPOSITION_FIELDS = (*PARTS, "sugars", "salt")


def written_composition(parts: Fields) -> Composition | None:
    """Return the composition written in a table of mass fractions, or None after noting its problems.

    parts: the table; what is missing to the whole counts as carbohydrate when no carbohydrate is written
    """
    if not parts.readable:
        return None
    before = len(parts.problems)
    values = {
        part: parts.quantity(part, "fraction", 0.0, 0.0, 1.0, say("0 to 100 %"))
        for part in COMPOSITION_FIELDS
        if parts.has(part)
    }
    if "water" not in values:
        parts.problem("water", say("the water is missing; write water = 0.85 or '85 %'"))
    if len(parts.problems) > before:
        return None
    rest = 1.0 - sum(values.get(part, 0.0) for part in PARTS)
    if "carbohydrate" not in values and rest > 0.0:
        values["carbohydrate"] = rest
    if values.get("sugars", 0.0) > values.get("carbohydrate", 0.0) + 1e-9:
        carbohydrate = values.get("carbohydrate", 0.0)
        parts.problem(
            "sugars",
            say(
                "is more than all carbohydrate ({carbohydrate:.3g}), of which sugars are a part",
                carbohydrate=carbohydrate,
            ),
        )
        return None
    try:
        return Composition(**values)
    except InputError as error:
        whole = error.field == "composition"
        parts.problems.append(InputError(parts.prefix, error.message) if whole else error.under(parts.prefix))
        return None

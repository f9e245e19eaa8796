"""A composition as people write it in a TOML table."""

from drystow.errors import InputError
from drystow.fields import Fields
from drystow.foods.model import PARTS, Composition

COMPOSITION_FIELDS = (*PARTS, "sugars", "salt")


def written_composition(parts: Fields) -> Composition | None:
    """Return the composition written in a table of mass fractions, or None after noting its problems.

    parts: the table; what is missing to the whole counts as carbohydrate when no carbohydrate is written
    """
    before = len(parts.problems)
    values = {
        part: parts.quantity(part, "fraction", 0.0, 0.0, 1.0, "0 to 100 %")
        for part in COMPOSITION_FIELDS
        if parts.has(part)
    }
    if "water" not in values:
        parts.problem("water", "the water is missing; write water = 0.85 or '85 %'")
    if len(parts.problems) > before:
        return None
    rest = 1.0 - sum(values.get(part, 0.0) for part in PARTS)
    if "carbohydrate" not in values and rest > 0.0:
        values["carbohydrate"] = rest
    try:
        return Composition(**values)
    except InputError as error:
        parts.problems.append(InputError(parts.prefix, error.message))
        return None

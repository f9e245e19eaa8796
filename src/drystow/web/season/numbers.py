"""The table of a season: one line for each number, one column for each choice of dryers."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from drystow.figures import fixed
from drystow.messages import ranged
from drystow.shown import money as money_text
from drystow.shown import percent, show, to_display
from drystow.web.kit.reader import reader
from drystow.web.kit.words import in_words
from drystow.web.plans.lotforms import PER

Row = Mapping[str, Any]
"""A choice as it was kept."""


@dataclass(frozen=True)
class NumberRow:
    """One line of the table.

    label: what it tells
    cells: for each choice, the number and below it its range or more, in words
    choices: their names
    """

    label: str
    cells: tuple[tuple[str, str], ...]
    choices: tuple[str, ...]

    @property
    def named_cells(self) -> tuple[tuple[str, str, str], ...]:
        """The cells, each behind the name of its choice, as a narrow screen shows them."""
        return tuple((name, *cell) for name, cell in zip(self.choices, self.cells, strict=True))


def number_rows(choices: Sequence[Row], units: str, currency: str) -> tuple[NumberRow, ...]:
    """Return the table in the reader's units.

    choices: as they were kept
    units: of the reader
    currency: sign of the house
    """

    def mass(value: float) -> str:
        return rough_mass(value, units)

    def money(value: float) -> str:
        return in_words(money_text(value, currency, 0))

    def row(label: str, cell: Callable[[Row], tuple[str, str]]) -> NumberRow:
        return NumberRow(label, tuple(cell(choice) for choice in choices), names)

    names = tuple(str(choice["name"]) for choice in choices)
    each = _("Total cost per pound") if units == "us" else _("Total cost per kilogram")
    return (
        row(_("Dried"), lambda one: _spread(one["dried_kg"], mass)),
        row(_("Lost"), lambda one: _spread(one["lost_kg"], mass)),
        row(_("Worth of what is lost"), lambda one: _spread(one["lost_value"], money)),
        row(_("Weeks with losses"), lambda one: _spread(one["weeks_with_losses"], _whole)),
        row(_("Batches"), lambda one: _spread(one["batches"], _whole)),
        row(_("Total hours the dryers run"), lambda one: _spread(one["running_h"], _whole)),
        row(_("Electricity"), lambda one: _spread(one["electricity_kwh"], _energy)),
        row(_("Its cost"), lambda one: _spread(one["electricity_cost"], money)),
        row(
            _("Freezer at its fullest"),
            lambda one: (
                in_words(percent(one["freezer_share"]["p50"])),
                _("days when it is full: %(days)s") % {"days": _range(one["freezer_full_days"], _whole)},
            ),
        ),
        row(
            each,
            lambda one: (
                ("–", "")
                if one["cost_per_kg"] is None
                else (in_words(money_text(one["cost_per_kg"] * PER[units], currency)), "")
            ),
        ),
    )


def rough_mass(mass: float, units: str) -> str:
    """Return a mass as one says it of a whole season, without the digits that are only drawn.

    mass: [kg]
    units: of the reader
    """
    return in_words(show(mass, "mass", units, 0 if abs(to_display(mass, "mass", units)) >= 10 else 1))


def _spread(kept: Mapping[str, float], words: Callable[[float], str]) -> tuple[str, str]:
    return words(kept["p50"]), _range(kept, words)


def _range(kept: Mapping[str, float], words: Callable[[float], str]) -> str:
    """Return what one season in ten stays under and goes over, as one number where both read the same."""
    low, high = words(kept["p10"]), words(kept["p90"])
    return in_words(ranged(low, high))


def _whole(value: float) -> str:
    return fixed(value, 0, reader().signs)


def _energy(kilowatt_hours: float) -> str:
    return in_words(show(kilowatt_hours * 3.6e6, "energy", decimals=0))

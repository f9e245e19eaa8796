"""Form fields for hours of a day, freezer space and moments."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.fields import Problems
from drystow.figures import typed
from drystow.planning.hours import read_home
from drystow.planning.schedule.arrivals import VOLUME
from drystow.units import parse
from drystow.web.kit.forms import MoneyField, QuantityField, reader_language
from drystow.web.kit.reader import reader
from drystow.web.kit.words import in_words

HALF_DAY = re.compile(r"(\d{1,2})(:\d{2})?\s*([ap])\.?\s?m\b\.?", re.IGNORECASE)
NOBODY = ("–", "-", "0")
MOST_SPACE = 10.0  # [m3], as the plan file allows
UNITS = {"us": ("ft³", 0.028316846592), "si": ("L", 1e-3)}  # international foot


class HoursField(forms.CharField):
    """Parts of a day such as ``6:30-8:30, 17-22``; gives them as a plan file writes them, None when it is empty."""

    def __init__(self, **options: Any) -> None:
        super().__init__(required=False, max_length=120, **options)
        self.widget.attrs |= {"autocomplete": "off"}

    def clean(self, value: Any) -> Any:
        """Return the parts as texts, none of them for a dash."""
        text = str(super().clean(value)).strip()
        if not text:
            return None
        if text in NOBODY:
            return []
        written = HALF_DAY.sub(_of_24, text).replace("–", "-").replace("—", "-")
        parts = ["".join(part.split()) for part in re.split(r"[,;]", written) if part.strip()]
        problems = Problems()
        read_home({"daily": parts}, problems)
        if problems:
            raise ValidationError([in_words(problem.message) for problem in problems])
        return parts

    def prepare_value(self, value: Any) -> Any:
        """Return parts as they are written into the input."""
        if not isinstance(value, list):
            return value
        return ", ".join(value) if value else NOBODY[0]


def _of_24(match: re.Match[str]) -> str:
    hour = int(match[1]) % 12 + (12 if match[3].lower() == "p" else 0)
    return f"{hour}{match[2] or ''}"


class SpaceField(QuantityField):
    """Space in a freezer, as a volume or as the mass of food that fits in; gives m3."""

    def __init__(self, **options: Any) -> None:
        super().__init__("volume", low=0.0, high=MOST_SPACE, required=False, **options)

    def clean(self, value: Any) -> Any:
        """Return the volume, None when it is empty."""
        text = str(value or "").strip()
        if not text:
            return None
        standing = self.standing(text)
        space = self.read(text) if standing is None else standing
        if not 0.0 <= space <= MOST_SPACE:
            values = {"text": value, "high": self._shown(MOST_SPACE)}
            raise ValidationError(_("'{text}' is too much; enter at most {high}").format_map(values))
        return space

    def read(self, text: str) -> float:
        """Return the volume of a text, also by the mass of food that fits in."""
        try:
            return VOLUME * parse(text, "mass", "", language=reader_language())
        except InputError:
            return super().read(text)

    def from_column(self, space: float) -> float | None:
        """Return the space, None where there is none."""
        return space or None

    def to_column(self, space: float | None) -> float:
        """Return the space, 0 where there is none."""
        return space or 0.0

    @property
    def unit(self) -> str:
        """Return the unit that a bare number counts in."""
        return {"us": "ft^3", "si": "L"}[self.units]

    def _shown(self, value: float, system: str = "") -> str:
        return space_words(value, system or self.units)


PER = {"us": 0.45359237, "si": 1.0}
"""Mass for which the worth is told [kg]; the international pound."""


class WorthField(MoneyField):
    """What food is worth, for a pound or a kilogram as the reader's units have it; its column is for a kilogram."""

    units = "si"

    def from_column(self, worth: float | None) -> float | None:
        """Return the worth as it is told."""
        return None if worth is None else round(worth * PER[self.units], 2)

    def to_column(self, told: float) -> float:
        """Return the worth of a kilogram."""
        return float(told / PER[self.units])


class MomentField(forms.DateTimeField):
    """A day with its time, by the browser's own clock and calendar."""

    def __init__(self, **options: Any) -> None:
        clock = forms.DateTimeInput({"type": "datetime-local", "step": 60}, format="%Y-%m-%dT%H:%M")
        super().__init__(widget=clock, **options)


def day_field(**options: Any) -> forms.DateField:
    """Return a field for a day, by the browser's own calendar."""
    return forms.DateField(widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"), **options)


def space_words(value: float, units: str) -> str:
    """Return a freezer space in words.

    value: [m3]
    units: of the reader
    """
    unit, size = UNITS[units]
    return f"{typed(value / size, 3, reader().signs)} {unit}"

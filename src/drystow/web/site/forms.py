"""Form fields that take quantities as people write them, and the base of all forms."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.shown import to_display
from drystow.units import parse
from drystow.web.site.words import in_words

HOUSE_UNITS = {
    # kind: {system: unit that a bare number counts in}
    "mass": {"us": "lb", "si": "kg"},
    "small mass": {"us": "oz", "si": "g"},
    "length": {"us": "inch", "si": "mm"},
    "temperature": {"us": "degF", "si": "degC"},
    "altitude": {"us": "ft", "si": "m"},
    "time": {"us": "h", "si": "h"},
    "volume": {"us": "cup", "si": "mL"},
    "energy": {"us": "kWh", "si": "kWh"},
    "pressure": {"us": "mTorr", "si": "Pa"},
    "power": {"us": "W", "si": "W"},
    "fraction": {"us": "%", "si": "%"},
}


FINEST = {"mass": 2, "small mass": 2, "volume": 2, "pressure": 1}
"""Decimals that nobody measures finer than."""


class QuantityField(forms.CharField):
    """A quantity with or without its unit; gives SI, takes SI as its initial value.

    kind: of `drystow.units.KINDS` (or small mass)
    units: system in which a bare number counts, set by the form
    """

    def __init__(self, kind: str, *, low: float, high: float, **options: Any) -> None:
        self.kind, self.low, self.high, self.units = kind, low, high, "us"
        super().__init__(**options)
        self.widget.attrs |= {"inputmode": "text", "autocomplete": "off"}

    def clean(self, value: Any) -> Any:
        """Return the SI value, or None when it is empty and need not be there."""
        text = str(super().clean(value)).strip()
        if not text:
            return None
        written = text if any(letter.isalpha() or letter in "%°" for letter in text) else f"{text} {self.unit}"
        try:
            number = parse(written.replace(",", "."), "mass" if self.kind == "small mass" else self.kind, "")
        except InputError as problem:
            raise ValidationError(in_words(problem.message)) from None
        if not self.low <= number <= self.high:
            raise ValidationError(
                _("'%(text)s' is not possible here; allowed is %(low)s to %(high)s")
                % {"text": text, "low": self._shown(self.low), "high": self._shown(self.high)}
            )
        return number

    @property
    def unit(self) -> str:
        """Return the unit that a bare number counts in."""
        return HOUSE_UNITS[self.kind][self.units]

    def prepare_value(self, value: Any) -> Any:
        """Return an SI value as text for the input; what a person typed stays as it is."""
        return self._shown(value) if isinstance(value, float) else value

    def _shown(self, value: float) -> str:
        unit = self.unit.replace("deg", "°")
        shown = to_display(value, self.kind, self.units)
        if self.kind in FINEST and shown >= 1:
            shown = round(shown, FINEST[self.kind])
        return in_words(f"{shown:.4g} {unit}")


class NumberField(forms.FloatField):
    """A plain number; a whole one stands in the input without a decimal sign."""

    def prepare_value(self, value: Any) -> Any:
        """Return a number as it is written into the input."""
        return int(value) if isinstance(value, float) and value.is_integer() else value


def number_field(**options: Any) -> forms.FloatField:
    """Return a field for a plain number, with the decimal sign of the reader's language or a point."""
    widget = forms.TextInput({"inputmode": "decimal", "autocomplete": "off"})
    return NumberField(localize=True, widget=widget, **options)


class HouseForm(forms.Form):
    """A form that knows the units of the house and the version of the record that it edits."""

    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *arguments: Any, units: str = "us", **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.units = units
        for field in self.fields.values():
            if isinstance(field, QuantityField):
                field.units = units
        for name in self.fields:
            if self.is_bound and name in self.errors:
                self.fields[name].widget.attrs |= {
                    "aria-invalid": "true",
                    "aria-describedby": f"id_{self.add_prefix(name)}_error",
                }

    @property
    def expected(self) -> int:
        """Return the version that the person saw."""
        return int(self.cleaned_data.get("version") or 1)

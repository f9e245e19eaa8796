"""Forms of dryers and their service log."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as translated
from django.utils.translation import gettext_lazy as _

from drystow.errors import InputError
from drystow.evidence.machine_tests.leak_test import LEAK_REFERENCE
from drystow.machine.profile import KINDS, dryer_profile, profile_names
from drystow.messages import msg
from drystow.numerals import in_english
from drystow.shown import between, quantity
from drystow.units import has_unit, parse
from drystow.web.dryers.adapters import MAIN_NUMBERS, read_leak
from drystow.web.dryers.models import Service
from drystow.web.kit.forms import KITCHEN_UNITS, KitchenForm, number_field, reader_language
from drystow.web.kit.words import in_words, later_words


def _starting_numbers() -> list[tuple[str, str]]:
    return [(name, in_words(dryer_profile(name).words)) for name in profile_names()]


class DryerForm(KitchenForm):
    """A dryer: what it is called, the starting numbers nearest to it, and the numbers that are known of it."""

    base_fields: dict[str, forms.Field]

    name = forms.CharField(max_length=80, label=_("Name"))
    profile = forms.ChoiceField(
        choices=_starting_numbers,
        label=_("Nearest starting numbers, for what you leave blank"),
    )
    oil_hours_limit = number_field(min_value=1, max_value=100000, label=_("Change the pump oil after (running hours)"))
    trap_valve = forms.BooleanField(
        required=False, label=_("This dryer can close off its cold trap"),
        help_text=_("If so, you can do the pressure check on “Is it dry?” to see whether ice is left."),
    )  # fmt: skip
    notes = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 3}), label=_("Notes"))

    def __init__(self, *arguments: Any, units: str = "us", usual: dict[str, str] | None = None, **options: Any) -> None:
        self.base_fields = self.base_fields | {
            name: _number(name, translated(words), (usual or {}).get(name, ""), units)
            for name, words in MAIN_NUMBERS.items()
        }
        super().__init__(*arguments, units=units, **options)

    def numbers(self) -> dict[str, Any]:
        """Return the numbers that were written, as the engine reads them."""
        written = {name: self.cleaned_data.get(name) for name in MAIN_NUMBERS}
        return {name: value for name, value in written.items() if value not in (None, "")}


class WrittenField(forms.CharField):
    """A quantity that is kept as it was written, in the notation of a file.

    kind: of `drystow.units.KINDS`
    units: system in which a bare number counts
    bare: unit of a bare number where it is another than the usual one
    """

    def __init__(self, kind: str, units: str, *, bare: str = "", **options: Any) -> None:
        super().__init__(max_length=40, **options)
        self.kind, self.bare = kind, bare or KITCHEN_UNITS[kind][units]
        self.widget.attrs["autocomplete"] = "off"

    def clean(self, value: Any) -> str:
        """Return the text with a decimal point and its unit."""
        text, language = str(super().clean(value)).strip(), reader_language()
        try:
            if text:
                parse(text, self.kind, "", self.bare, language)
                text = in_english(text, language)
                text += "" if has_unit(text) else f" {self.bare}"
        except InputError as problem:
            raise ValidationError(in_words(problem.message)) from None
        return text


def _number(name: str, words: str, usual: str, units: str) -> forms.Field:
    hint = translated("Leave blank for {usual}").format(usual=in_words(usual)) if usual else ""
    if name == "trays":
        return forms.IntegerField(required=False, min_value=1, max_value=100, label=words, help_text=hint)
    bare = {"us": "quart", "si": "L"}[units] if name == "chamber_volume" else ""
    field = WrittenField(KINDS[name][0], units, bare=bare, required=False, label=words, help_text=hint)
    field.widget.attrs["placeholder"] = in_words(usual)
    return field


class ServiceForm(KitchenForm):
    """One entry of the service log."""

    kind = forms.ChoiceField(choices=Service.KINDS, label=_("What was done"))
    on = forms.DateField(label=_("Day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    value = forms.CharField(
        max_length=40,
        required=False,
        label=_("Result of a leak test"),
        help_text=later_words(msg("Such as {leak}.", leak=quantity(LEAK_REFERENCE, "leak"))),
    )
    notes = forms.CharField(required=False, max_length=2000, label=_("Notes"))

    def clean_value(self) -> float | None:
        """Return the leak in SI, None when nothing was measured."""
        text = str(self.cleaned_data["value"]).strip()
        if not text:
            return None
        try:
            leak = read_leak(text, KITCHEN_UNITS["leak"][self.units], reader_language())
        except InputError as problem:
            raise ValidationError(in_words(problem.message)) from None
        if not 0 <= leak <= 100:
            words = msg(
                "'{text}' is not possible; enter a leak of {allowed}", text=text, allowed=between(0, 100, "leak", 0)
            )
            raise ValidationError(in_words(words))
        return leak

    def clean(self) -> dict[str, Any]:
        """Say that a leak test without its result teaches nothing."""
        data = super().clean() or self.cleaned_data
        if data.get("kind") == "leak" and data.get("value") is None and "value" not in self.errors:
            self.add_error("value", translated("Enter the leak test result."))
        return dict(data)

"""Forms of dryers and their service log."""

from datetime import date
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext as translated
from django.utils.translation import gettext_lazy as _

from drystow.days import day_text
from drystow.evidence.machine_tests.leak_test import LEAK_REFERENCE
from drystow.machine.profile import dryer_profile, machine_of, profile_names
from drystow.messages import msg
from drystow.ranges import RANGES
from drystow.shown import quantity
from drystow.web.dryers.adapters import MAIN_NUMBERS, shown_numbers
from drystow.web.dryers.models import Dryer, Service
from drystow.web.kit.forms import QuantityField, number_field
from drystow.web.kit.record_forms import RecordForm
from drystow.web.kit.words import in_words, later_words


def _starting_numbers() -> list[tuple[str, str]]:
    return [(name, in_words(dryer_profile(name).words)) for name in profile_names()]


class DryerForm(RecordForm[Dryer]):
    """A dryer: what it is called, the starting numbers nearest to it, and the numbers that are known of it."""

    model = Dryer
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

    def __init__(self, *arguments: Any, row: Dryer, units: str = "us", **options: Any) -> None:
        usual = shown_numbers(dryer_profile(row.profile), units)
        self.base_fields = self.base_fields | {
            name: _number(name, translated(words), usual[name]) for name, words in MAIN_NUMBERS.items()
        }
        super().__init__(*arguments, row=row, units=units, **options)

    @property
    def about(self) -> list[forms.BoundField]:
        """Return what every dryer has."""
        return [field for field in self.visible_fields() if field.name not in MAIN_NUMBERS]

    @property
    def lasting(self) -> dict[str, QuantityField]:
        """Return its own numbers, which the row keeps together."""
        return {name: field for name, field in self.quantities.items() if name in MAIN_NUMBERS}

    @property
    def own_numbers(self) -> list[forms.BoundField]:
        """Return its own numbers, which may be left blank."""
        return [self[name] for name in MAIN_NUMBERS]

    def start(self, row: Dryer) -> dict[str, Any]:
        """Return what the form shows of a dryer, its own numbers among it."""
        return super().start(row) | {name: value for name, value in row.numbers.items() if name in MAIN_NUMBERS}

    def changes(self) -> dict[str, Any]:
        """Return the columns to write, when they make a machine."""
        others = {name: value for name, value in self.seen.numbers.items() if name not in MAIN_NUMBERS}
        written = {name: self.cleaned_data[name] for name in MAIN_NUMBERS}
        numbers = others | {name: value for name, value in written.items() if value is not None}
        machine_of(self.cleaned_data["profile"], numbers)
        return super().changes() | {"numbers": numbers}


class MeasuredForm(RecordForm[Dryer]):
    """The numbers of a dryer as a test measured them."""

    model = Dryer

    def __init__(self, *arguments: Any, day: date, numbers: dict[str, Any], **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.day, self.numbers = day, numbers

    def changes(self) -> dict[str, Any]:
        """Return the numbers, when they make a machine."""
        numbers = self.row.numbers | self.numbers
        machine_of(self.row.profile, numbers)
        return {"numbers": numbers}

    def sentence(self, row: Dryer) -> str:
        """Return which test they are from."""
        day = day_text(self.day)
        return msg("Forecasts for {name} now use the numbers from the test on {day}.", name=row.name, day=day)


def _number(name: str, words: str, usual: str) -> forms.Field:
    hint = translated("Leave blank for {usual}").format(usual=in_words(usual)) if usual else ""
    allowed = RANGES["dryer"][name]
    if name == "trays":
        most = int(allowed.high)
        return forms.IntegerField(required=False, min_value=1, max_value=most, label=words, help_text=hint)
    kind = "large volume" if allowed.kind == "volume" else allowed.kind
    field = QuantityField(
        kind, low=allowed.low, high=allowed.high, required=False, max_length=40, label=words, help_text=hint
    )
    field.widget.attrs["placeholder"] = in_words(usual)
    return field


class ServiceForm(RecordForm[Service]):
    """One entry of the service log."""

    model = Service
    says: ClassVar = msg("Added to the service log.")
    kind = forms.ChoiceField(choices=Service.KINDS, label=_("What was done"))
    on = forms.DateField(label=_("Day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    value = QuantityField(
        "leak", low=0, high=100, required=False, label=_("Result of a leak test"),
        help_text=later_words(msg("Such as {leak}.", leak=quantity(LEAK_REFERENCE, "leak"))),
    )  # fmt: skip
    notes = forms.CharField(required=False, max_length=2000, label=_("Notes"))

    def clean(self) -> dict[str, Any]:
        """Say that a leak test without its result teaches nothing; nothing else has one."""
        data = dict(super().clean() or self.cleaned_data)
        if data.get("kind") != "leak":
            data["value"] = None
        elif data.get("value") is None and "value" not in self.errors:
            self.add_error("value", translated("Enter the leak test result."))
        return data

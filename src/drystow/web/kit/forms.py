"""Form fields that take quantities as people write them, and the base of all forms."""

import math
from collections.abc import Iterable
from typing import Any, ClassVar, Self, TypeVar

from django import forms
from django.core import validators
from django.core.exceptions import ValidationError
from django.http import HttpRequest
from django.utils.translation import get_language, ngettext_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.errors import InputError
from drystow.figures import typed
from drystow.messages import msg
from drystow.numerals import read_number
from drystow.ranges import RANGES
from drystow.shown import to_display
from drystow.units import celsius, kelvin, parse, step_of
from drystow.web.kit.display_names import unit_of
from drystow.web.kit.models import Record, Typed
from drystow.web.kit.reader import SYSTEMS, reader, wished_units
from drystow.web.kit.records import kind_of, kitchen
from drystow.web.kit.words import in_words

KITCHEN_UNITS = {
    # kind: {system: unit that a bare number counts in}
    "mass": {"us": "lb", "si": "kg"},
    "small mass": {"us": "oz", "si": "g"},
    "length": {"us": "inch", "si": "mm"},
    "temperature": {"us": "degF", "si": "degC"},
    "altitude": {"us": "ft", "si": "m"},
    "time": {"us": "h", "si": "h"},
    "volume": {"us": "cup", "si": "mL"},
    "large volume": {"us": "quart", "si": "L"},
    "energy": {"us": "kWh", "si": "kWh"},
    "pressure": {"us": "mTorr", "si": "Pa"},
    "power": {"us": "W", "si": "W"},
    "fraction": {"us": "%", "si": "%"},
    "area": {"us": "in^2", "si": "m^2"},
    "pumping speed": {"us": "ft^3/min", "si": "m^3/h"},
    "leak": {"us": "mTorr*L/s", "si": "mbar*L/s"},
}

FINEST = {"mass": 2, "small mass": 2, "volume": 2, "pressure": 1}
"""Decimals that nobody measures finer than."""


KEPT = 2e-5
"""Share by which a record may round what was typed, such as a temperature to 0.01 °C [-]."""


IN_SI = {"g": (1e-3, 5), "kwh": (3.6e6, 6), "h": (3600.0, 6), "min": (60.0, 6), "days": (86400.0, 6)}
"""End of a column's name: how much one of it is in SI, and decimals that are kept of what a person typed."""


def si_of_column(name: str, value: float) -> float:
    """Return the value of a column in SI.

    >>> si_of_column("gross_g", 250.0), si_of_column("room_c", 20.0), si_of_column("mass_kg", 2.0)
    (0.25, 293.15, 2.0)
    """
    unit = unit_of(name)
    return kelvin(value) if unit == "c" else value * IN_SI.get(unit, (1.0, 0))[0]


def column_of_si(name: str, value: float) -> float:
    """Return what a column keeps of an SI value that a person typed.

    >>> column_of_si("gross_g", 0.25), column_of_si("room_c", 293.152), column_of_si("mass_kg", 2.0)
    (250.0, 20.0, 2.0)
    """
    unit = unit_of(name)
    if unit == "c":
        return round(celsius(value), 2)
    size, decimals = IN_SI.get(unit, (1.0, 0))
    return round(value / size, decimals) if unit in IN_SI else value


def reader_language() -> str:
    """Return the language whose decimal sign and digit groups the reader writes."""
    return get_language() or "en"


def _engine_kind(kind: str) -> str:
    return {"small mass": "mass", "large volume": "volume"}.get(kind, kind)


class QuantityField(forms.CharField):
    """A quantity with or without its unit; gives SI, takes SI as its initial value.

    kind: of `drystow.units.KINDS` (or small mass, large volume)
    stores: column that a record form keeps it in, whose name ends in its unit; the name of the field when empty
    initial: an SI value, or a round one for each system of units
    units: system in which a bare number counts, set by the form
    typed: text that was typed for the initial value; shown instead while this reader would read that value in it
    stands: SI value that the record has; comes back exactly where its text comes back as it was shown
    """

    def __init__(self, kind: str, *, low: float, high: float, stores: str = "", **options: Any) -> None:
        self.kind, self.low, self.high, self.units, self.typed = kind, low, high, "us", ""
        self.stores = stores
        self.stands: float | None = None
        super().__init__(**options)
        self.widget.attrs |= {"inputmode": "text", "autocomplete": "off"}

    def clean(self, value: Any) -> Any:
        """Return the SI value, or None when it is empty and need not be there."""
        text = str(super().clean(value)).strip()
        if not text:
            return None
        number = self.standing(text)
        if number is None:
            number = self.read(text)
        if not self.low <= number <= self.high:
            raise ValidationError(
                _("'{text}' is out of range; enter {low} to {high}").format(
                    text=text, low=self._shown(self.low), high=self._shown(self.high)
                )
            )
        return number

    def read(self, text: str) -> float:
        """Return the SI value of what a person wrote, by the units and the language of the reader."""
        try:
            return parse(text, _engine_kind(self.kind), "", self.unit, reader_language())
        except InputError as problem:
            raise ValidationError(in_words(problem.message)) from None

    def step(self, text: str) -> float:
        """Return the step in which a readable text was written, such as that of the scale's last digit, in SI."""
        return step_of(text, _engine_kind(self.kind), self.unit, reader_language())

    @property
    def unit(self) -> str:
        """Return the unit that a bare number counts in."""
        return KITCHEN_UNITS[self.kind][self.units]

    def prepare_value(self, value: Any) -> Any:
        """Return an SI value as text for the input; what a person typed stays as it is."""
        if isinstance(value, dict):
            return value[self.units]
        if not isinstance(value, float):
            return value
        return self.typed if self.typed and self._means(self.typed, value) else self._shown(value)

    def from_column(self, value: Any) -> Any:
        """Return the SI value of what its column has."""
        return None if value is None else si_of_column(self.stores, value)

    def to_column(self, value: Any) -> Any:
        """Return what its column keeps of an SI value."""
        return None if value is None else column_of_si(self.stores, value)

    def is_usual(self, text: str) -> bool:
        """Return whether a readable text is how the field shows that value anyway."""
        return self._shown(self.read(text)) == text

    def standing(self, text: str) -> float | None:
        """Return the value that stands when a text is how it was shown, in either system of units."""
        value = self.stands
        shown = () if value is None else (self.prepare_value(value), *(self._shown(value, one) for one in SYSTEMS))
        return value if text in shown else None

    def _means(self, text: str, value: float) -> bool:
        try:
            return math.isclose(self.read(text), value, rel_tol=KEPT)
        except ValidationError:  # typed by a reader of another language
            return False

    def _shown(self, value: float, system: str = "") -> str:
        unit = KITCHEN_UNITS[self.kind][system or self.units].replace("deg", "°")
        shown = to_display(value, self.kind, system or self.units)
        if self.kind in FINEST and shown >= 1:
            shown = round(shown, FINEST[self.kind])
        signs = reader().signs
        return typed(shown, 4, signs) + (signs.percent if unit == "%" else f" {unit}")


def asked_field(spec: str, name: str, kind: str = "", **options: Any) -> QuantityField:
    """Return a field of a quantity that the engine is asked for, with the range that it allows.

    spec: of `drystow.ranges.RANGES`
    name: of the quantity
    kind: in which it is shown, where that is another than its own
    """
    allowed = RANGES[spec][name]
    return QuantityField(kind or allowed.kind, low=allowed.low, high=allowed.high, **options)


class NumberField(forms.FloatField):
    """A plain number in the reader's language; a whole one stands in the input without a decimal sign."""

    def to_python(self, value: Any) -> float | None:  # type: ignore[override]  # its base is a form of whole numbers
        """Return the number, None when it is empty."""
        if value in self.empty_values:
            return None
        try:
            return self.read(str(value).strip())
        except InputError as problem:
            raise ValidationError(in_words(problem.message)) from None

    def read(self, text: str) -> float:
        """Return the number of a text, or raise `InputError`."""
        return read_number(text, reader_language())

    def prepare_value(self, value: Any) -> Any:
        """Return a number as it is written into the input."""
        return int(value) if isinstance(value, float) and value.is_integer() else value


class MoneyField(NumberField):
    """An amount in the currency of the kitchen, such as ``1.40``, ``$1.40`` or ``14 cents``."""

    def read(self, text: str) -> float:
        """Return the amount; a sign of another currency is refused."""
        foreign = [sign for sign in ("$", "€", "£") if sign in text]
        if foreign and foreign[0] not in (own := kitchen().currency):
            told = msg("'{text}' is in {sign}; this kitchen uses {own}", text=text, sign=foreign[0], own=own)
            raise InputError("", told)
        return parse(text, "money", "", language=reader_language())


def number_field(**options: Any) -> NumberField:
    """Return a field for a plain number, with the decimal sign of the reader's language or a point."""
    return NumberField(localize=True, widget=_number_input(), **options)


class CostField(MoneyField):
    """An amount that is left blank where there is none; its column has 0 then."""

    def from_column(self, value: float) -> float | None:
        """Return the amount, None where there is none."""
        return value or None

    def to_column(self, value: float | None) -> float:
        """Return the amount, 0 where there is none."""
        return value or 0.0


def money_field(kind: type[MoneyField] = MoneyField, **options: Any) -> MoneyField:
    """Return a field for an amount of money in the currency of the kitchen."""
    return kind(localize=True, widget=_number_input(), **options)


def _number_input() -> forms.TextInput:
    return forms.TextInput({"inputmode": "decimal", "autocomplete": "off"})


AnyField = TypeVar("AnyField", bound=forms.Field)


def stored(column: str | None, field: AnyField) -> AnyField:
    """Return a field that a record form keeps in a column of another name, or in none.

    column: None when the form itself makes something of the field
    """
    field.stores = column  # type: ignore[attr-defined]  # a note on the field, read by `RecordForm.columns`
    return field


def choose(form: forms.Form, name: str, choices: Iterable[tuple[Any, Any]]) -> None:
    """Give a field its choices, where they are known only when the form is made."""
    field = form.fields[name]
    assert isinstance(field, forms.ChoiceField)
    field.choices = list(choices)


def sent(request: HttpRequest) -> dict[str, Any]:
    """Return what a form is made of: what was sent, nothing when the page is only looked at."""
    return {"data": request.POST, "files": request.FILES} if request.method == "POST" else {}


class KitchenForm(forms.Form):
    """A form that knows the units of the kitchen and the version of the record that it edits."""

    base_fields: dict[str, forms.Field]  # type: ignore[misc]  # a form may have fields of its own
    engine_names: ClassVar[dict[str, str]] = {}
    """Field of the engine -> field of the form, where they differ: an error of the engine stands beside its field."""

    data: Any
    initial: dict[str, Any]
    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *arguments: Any, units: str = "us", **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.units = units
        for field in self.fields.values():
            if hasattr(field, "units"):
                field.units = units
        self.let_stand()

    def let_stand(self) -> None:
        """Have every quantity that the form begins with come back exactly where it comes back as it was shown."""
        for name, field in self.quantities.items():
            value = self.initial.get(name)
            field.stands = value if isinstance(value, float) else None

    @classmethod
    def of(cls, request: HttpRequest, **options: Any) -> Self:
        """Return the form in the units of who asks, with what was sent when something was."""
        return cls(**sent(request), **{"units": wished_units(request, kitchen().units)} | options)

    def add_error(self, field: str | None, error: Any) -> None:
        """Put an error beside its field, also for whoever listens to the page."""
        super().add_error(field, error)
        for name in self.errors.keys() & self.fields.keys():
            described = {"aria-invalid": "true", "aria-describedby": f"id_{self.add_prefix(name)}_error"}
            self.fields[name].widget.attrs |= described

    def touched(self, name: str) -> bool:
        """Return whether the reader made something else of what a field showed."""
        field, data, shown = self.fields[name], self[name].data, self.initial.get(name)
        if isinstance(field.widget, forms.CheckboxInput):
            return bool(data) != bool(shown)
        return (data or "") != (field.widget.format_value(field.prepare_value(shown)) or "")

    @property
    def came_back(self) -> bool:
        """Return whether all of the form is as it was shown."""
        return not any(self.touched(name) for name in self.fields if name != "version")

    def field_of(self, column: str) -> str:
        """Return the field beside which to tell what is wrong with a column."""
        return column

    def catch_up(self, record: Record) -> None:
        """Take over the version that somebody else wrote meanwhile: saving again then keeps what stands in the form."""
        data: Any = self.data.copy()
        data[self.add_prefix("version")] = str(record.version)
        self.data = data

    @property
    def quantities(self) -> dict[str, QuantityField]:
        """Return the fields that hold a quantity."""
        return {name: field for name, field in self.fields.items() if isinstance(field, QuantityField)}

    @property
    def lasting(self) -> dict[str, QuantityField]:
        """Return the quantities that the record keeps, which are shown again as they were typed."""
        return self.quantities

    @property
    def expected(self) -> int:
        """Return the version that the person saw."""
        return int(self.cleaned_data.get("version") or 1)


AnyForm = TypeVar("AnyForm", bound=KitchenForm)


def show_typed(form: AnyForm, record: Record) -> AnyForm:
    """Return a form that shows the quantities of a record as they were typed, where they still mean what it has."""
    kept = Typed.objects.filter(kind=kind_of(record), object_id=record.pk).first()
    for name, text in (kept.texts if kept is not None else {}).items():
        if name in form.lasting:
            form.lasting[name].typed = str(text)
    return form


def keep_typed(form: KitchenForm, record: Record) -> None:
    """Keep what was typed into a form that was saved as a record; nothing where it is how the form shows it anyway."""
    own = form.lasting
    if not own:
        return
    where = {"kind": kind_of(record), "object_id": record.pk}
    kept = Typed.objects.filter(**where).first()
    before = kept.texts if kept is not None else {}
    texts = {name: text for name, text in before.items() if name not in own}
    for name, field in own.items():
        text = str(form[name].data or "").strip()
        if text and not field.is_usual(text):
            texts[name] = text
    if texts != before:
        Typed.objects.update_or_create(**where, defaults={"texts": texts})


def speak() -> None:
    """Put the words of the site in the place of Django's."""
    forms.Field.default_error_messages["required"] = lazy("Fill this in.")
    forms.ChoiceField.default_error_messages["invalid_choice"] = lazy("%(value)s is not in the list; choose from it.")
    forms.ModelChoiceField.default_error_messages["invalid_choice"] = lazy("That is not in the list; choose from it.")
    forms.IntegerField.default_error_messages["invalid"] = lazy("Enter a whole number, such as 3.")
    forms.FloatField.default_error_messages["invalid"] = lazy("Enter a number, such as 1.5.")
    forms.DateField.default_error_messages["invalid"] = lazy("This is not a date; enter it like 2026-03-14.")
    forms.DateTimeField.default_error_messages["invalid"] = lazy("This is not a time; enter it like 2026-03-14 18:30.")
    forms.FileField.default_error_messages["required"] = lazy("Choose a file.")
    validators.MinValueValidator.message = lazy("%(show_value)s is too small; enter %(limit_value)s or more.")
    validators.MaxValueValidator.message = lazy("%(show_value)s is too large; enter %(limit_value)s or less.")
    validators.MaxLengthValidator.message = ngettext_lazy(
        "Enter %(limit_value)d character or less; this has %(show_value)d.",
        "Enter %(limit_value)d characters or less; this has %(show_value)d.",
        "limit_value",
    )

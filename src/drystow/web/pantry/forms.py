"""Forms of the pantry."""

from datetime import timedelta
from typing import Any, ClassVar

from django import forms
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from drystow.foods.model import Food
from drystow.keeping.shelf_life import Keeps
from drystow.messages import msg
from drystow.packing.containers import containers
from drystow.units import kelvin
from drystow.web.foods.markfields import MarksForm
from drystow.web.kit import records
from drystow.web.kit.forms import KitchenForm, QuantityField
from drystow.web.kit.record_forms import RecordForm
from drystow.web.kit.words import in_words
from drystow.web.pantry import actions, dates
from drystow.web.pantry.adapters import ABSORBER_INSIDE, contents_of, serving_of, usual_moisture
from drystow.web.pantry.models import Package, Place

COLDEST, WARMEST = kelvin(-40.0), kelvin(55.0)
SHARES = (
    ("", _("a weight")),
    ("1", _("all of it")),
    ("0.5", _("half")),
    ("0.3333333", _("a third")),
    ("0.25", _("a quarter")),
)
MONTHS = ((1, _("January (north)")), (7, _("July (south)")))


def mass_field(label: Any, **options: Any) -> QuantityField:
    """Return a field for the mass of dried food."""
    return QuantityField("small mass", low=0.0, high=100.0, label=label, **options)


def places_field() -> "forms.ModelChoiceField[Place]":
    """Return a field for a place of the kitchen."""
    return forms.ModelChoiceField(Place.objects.kept(), label=_("Place"), empty_label=None)


def container_choices() -> list[tuple[str, str]]:
    """Return the containers to choose from."""
    return [(box.id, in_words(box.name)) for box in containers().values()]


class PlaceForm(RecordForm[Place]):
    """A place and its usual course over the year."""

    model = Place
    says: ClassVar = msg("Place saved.")
    says_of_new: ClassVar = msg("Place added.")
    name = forms.CharField(max_length=80, label=_("Name"))
    warm = QuantityField(
        "temperature",
        low=COLDEST,
        high=WARMEST,
        stores="temperature_c",
        label=_("Usual temperature"),
        help_text=_("In the warmest month."),
    )
    cold = QuantityField(
        "temperature",
        low=COLDEST,
        high=WARMEST,
        stores="winter_c",
        required=False,
        label=_("In the coldest month"),
        help_text=_("Leave blank if it stays the same all year."),
    )
    coldest_month = forms.TypedChoiceField(choices=MONTHS, coerce=int, initial=1, label=_("Coldest month"))
    humidity = QuantityField("fraction", low=0.0, high=1.0, label=_("Air humidity"))
    notes = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 2}), label=_("Notes"))

    def clean_name(self) -> str:
        """Refuse a name that another place has, also one in the bin."""
        name = str(self.cleaned_data["name"]).strip()
        if Place.objects.filter(name=name).exclude(pk=self.row.pk).exists():
            raise forms.ValidationError(
                _("there is already a place with this name, maybe in the trash; choose another")
            )
        return name

    def clean(self) -> dict[str, Any]:
        """Refuse a coldest month that is warmer than the warmest."""
        data = dict(super().clean() or {})
        if data.get("cold") is not None and data.get("warm") is not None and data["cold"] > data["warm"]:
            self.add_error("cold", _("this is warmer than the usual temperature; swap the two"))
        return data


class ReadingForm(KitchenForm):
    """A temperature that somebody read."""

    temperature = QuantityField("temperature", low=COLDEST, high=WARMEST, label=_("Temperature"))
    at = forms.DateTimeField(
        label=_("When"),
        required=False,
        help_text=_("Leave blank for now."),
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )

    def clean_at(self) -> Any:
        """Return the time; now when it is empty, never a future one."""
        at = self.cleaned_data["at"] or timezone.now()
        if at > timezone.now() + timedelta(minutes=5):
            raise forms.ValidationError(_("this is in the future"))
        return at


class PackageForm(RecordForm[Package]):
    """Something that is done with a package; it changes the package and adds a movement."""

    model = Package


class OpenForm(PackageForm):
    """A package is opened."""

    def write(self, changes: dict[str, Any], who: str) -> Package:
        """Open it."""
        return actions.open_package(self.row, expected=self.expected, who=who)


class ReckonForm(PackageForm):
    """The date of a package is worked out again."""

    def write(self, changes: dict[str, Any], who: str) -> Package:
        """Work its date out."""
        return actions.reckon(self.row, expected=self.expected, who=who)


class MistakenForm(PackageForm):
    """A package was entered by mistake."""

    def write(self, changes: dict[str, Any], who: str) -> Package:
        """Put it in the bin."""
        self.said = msg("The package is in the trash.")
        return records.put_in_bin(self.row, who=who, words=self.said)


class PartForm(PackageForm):
    """How much is taken out of a package."""

    kind: ClassVar = "used"
    more: ClassVar[tuple[str, ...]] = ()
    """Fields of what is written down of it."""

    share = forms.ChoiceField(choices=SHARES, required=False, label=_("How much"))
    mass = mass_field(_("Weight"), required=False, help_text=_("Only if you chose “a weight”."))

    def clean(self) -> dict[str, Any]:
        """Set the mass from the share of what is left."""
        data, left_kg = dict(super().clean() or {}), self.row.left_mass_kg
        if data.get("share"):
            data["mass"] = float(data["share"]) * left_kg if data["share"] != "1" else left_kg
        elif data.get("mass") is None and "mass" not in self.errors:
            self.add_error("mass", _("enter a weight or choose a share"))
        return data

    def write(self, changes: dict[str, Any], who: str) -> Package:
        """Take it out."""
        data = self.cleaned_data
        more = {name: data[name] for name in self.more}
        return actions.take(self.row, self.kind, data["mass"], expected=self.expected, who=who, **more)

    def advice(self, row: Package) -> str:
        """Return how much water to put back into what was used."""
        water = serving_of(row, self.row.left_mass_kg - row.left_mass_kg, self.units)["water"]
        return msg("Add up to {water} of water to it.", water=water) if self.kind == "used" and water else ""


class GiveForm(PartForm):
    """Food given away."""

    kind = "given"
    more = ("to",)
    to = forms.CharField(max_length=120, label=_("To whom or where"))


class DiscardForm(PartForm):
    """Food thrown away."""

    kind = "discarded"
    more = ("note",)
    note = forms.CharField(max_length=200, label=_("Why"))


class MovePackageForm(PackageForm):
    """Where a package goes."""

    place = places_field()

    def write(self, changes: dict[str, Any], who: str) -> Package:
        """Move it."""
        return actions.move(self.row, self.cleaned_data["place"], expected=self.expected, who=who)


DONE_WITH: dict[str, type[PackageForm]] = {
    "use": PartForm,
    "give": GiveForm,
    "discard": DiscardForm,
    "move": MovePackageForm,
    "open": OpenForm,
    "reckon": ReckonForm,
    "bin": MistakenForm,
}
"""What can be done with a package, by the end of its address."""


class AddForm(MarksForm):
    """Packages that no batch of the house made."""

    model = Package
    says: ClassVar = msg("Added. The code is on the package page.")
    name = forms.CharField(max_length=200, label=_("Name on the label"))
    net = QuantityField("small mass", low=0.001, high=100.0, stores="net_mass_kg", label=_("Dried food in it"))
    count = forms.IntegerField(min_value=1, max_value=200, initial=1, label=_("How many"))
    container = forms.ChoiceField(label=_("Container"), choices=container_choices)
    place = places_field()
    packed_on = forms.DateField(label=_("Packed on"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    lot = forms.CharField(max_length=20, required=False, label=_("Lot"), help_text=_("Leave blank for a new one."))
    absorber = forms.BooleanField(
        required=False, label=_("An oxygen absorber is inside"), help_text=_("Without one the date may be earlier.")
    )
    best_before = forms.DateField(
        required=False,
        label=_("Best before"),
        help_text=_("Leave blank to estimate it, if the food is listed."),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    field_order = (
        "version", "name", "net", "count", "container", "absorber", "place", "packed_on", "lot", "best_before",
    )  # fmt: skip

    def __init__(self, *arguments: Any, food: Food | None, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.food = food

    def clean_packed_on(self) -> Any:
        """Refuse a day to come."""
        day = self.cleaned_data["packed_on"]
        if day > timezone.localdate():
            raise forms.ValidationError(_("this date is in the future"))
        return day

    def changes(self) -> dict[str, Any]:
        """Return the columns to write: what the food brings along, what is stated, and how long the package keeps."""
        data, changes, food = self.cleaned_data, super().changes(), self.food
        day, net = data["packed_on"], data["net"]
        changes |= {"lot": data["lot"] or f"H{day:%y%m%d}", "left_mass_kg": net}
        changes["absorbers"] = ABSORBER_INSIDE if data["absorber"] else ""
        if food is not None:
            moisture = usual_moisture(food)
            brought = contents_of(food, net, moisture)
            answered = {name for name in ("raw_animal", "allergens") if data[name]}
            changes |= {name: value for name, value in brought.items() if name not in answered}
            changes["residual_moisture"] = moisture
        if data["best_before"] is not None:
            return changes | dates.columns_of(Keeps(day, data["best_before"], None, "", dates.BY_HAND))
        keeps = dates.closed(Package(food=self.row.food, **changes), [], day) if food is not None else None
        return changes | dates.columns_of(keeps)

    def write(self, changes: dict[str, Any], who: str) -> Package:
        """Save the packages and return the last one."""
        self.said = self.sentence(self.row)
        with transaction.atomic(), records.one_action():
            for _number in range(self.cleaned_data["count"]):
                package = Package(food=self.row.food, **changes)
                made = actions.create_package(package, who=who, words=self.said)
                actions.packed(made, who=who, note=msg("added by hand"))
        return made


class CountForm(KitchenForm):
    """What was found of one package."""

    found = mass_field(_("Found"), required=False)
    gone = forms.BooleanField(required=False, label=_("no such place"))

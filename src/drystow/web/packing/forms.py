"""Forms from the packing to the end of a batch."""

from typing import Any, ClassVar

from django import forms
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.messages import msg
from drystow.packing.containers import containers
from drystow.shown import show
from drystow.web.batches.models import Batch
from drystow.web.kit import records
from drystow.web.kit.forms import (
    CostField,
    KitchenForm,
    QuantityField,
    asked_field,
    choose,
    money_field,
    number_field,
    stored,
)
from drystow.web.kit.label_sheets import sheet_choices
from drystow.web.kit.record_forms import RecordForm
from drystow.web.kit.words import in_words
from drystow.web.packing.packed import Packed, slack
from drystow.web.packing.spec import save_costs
from drystow.web.pantry.models import Place


def container_choices() -> list[tuple[str, str]]:
    """Return the containers to choose from; the first leaves it to the program."""
    return [
        ("", str(lazy("best fit for this amount"))),
        *((box.id, in_words(box.name)) for box in containers().values()),
    ]


class PackForm(KitchenForm):
    """How one item is packed."""

    dry = QuantityField("small mass", low=0.001, high=500, label=lazy("Weight of dried food"))
    part = QuantityField(
        "small mass", low=0.001, high=500, required=False, label=lazy("Amount for these packages"),
        help_text=lazy("Leave blank for all that is left. You can pack one food into several kinds and sizes, "
"one after another."),
    )  # fmt: skip
    moisture = asked_field(
        "pack", "residual_moisture", label=lazy("Moisture left"), help_text=lazy("How dry you got it.")
    )
    container = forms.ChoiceField(choices=container_choices, required=False, label=lazy("Container"))
    count = forms.IntegerField(
        required=False,
        min_value=1,
        max_value=500,
        label=lazy("How many packages"),
        help_text=lazy("Leave blank for as few as will hold it."),
    )
    powder = forms.BooleanField(required=False, label=lazy("Ground to powder"))
    place = forms.ModelChoiceField(Place.objects.kept(), label=lazy("Where you’ll keep it"), empty_label=None)
    packed_on = forms.DateField(
        label=lazy("Packed on"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    before = forms.IntegerField(required=False, widget=forms.HiddenInput)
    """What was packed already when the page was opened [mg]."""

    confirmed = forms.BooleanField(
        required=False, label=lazy("Pack it without knowing that it is dry"),
        help_text=lazy("This is saved with the batch and shown on its sheet and on the page of every package."),
    )  # fmt: skip

    def __init__(
        self, *arguments: Any, places: list[Place], ask: bool, packs: bool, packed: Packed, **options: Any
    ) -> None:
        self.asks, self.packed = ask and packs, packed  # first, since the base looks for errors at once
        super().__init__(*arguments, **options)
        if not ask:
            del self.fields["confirmed"]
        choose(self, "place", ((place.pk, place.name) for place in places))

    def clean_confirmed(self) -> bool:
        """Refuse to pack what is not known to be dry unless somebody confirms it."""
        if self.asks and not self.cleaned_data["confirmed"]:
            raise forms.ValidationError(
                _("Food packed too moist spoils. Keep drying and prove it first, or tick this to pack it anyway.")
            )
        return bool(self.cleaned_data["confirmed"])

    def clean(self) -> dict[str, Any]:
        """Set the amount that goes into these packages; together they never hold more than was dried."""
        data = dict(super().clean() or {})
        dry, part, packed = data.get("dry"), data.get("part"), self.packed
        if dry is None or "part" in self.errors:
            return data
        if abs(dry - packed.dried) < slack(dry):
            dry = data["dry"] = packed.dried  # as it was weighed, not as it is rounded in the field
        gone = packed.mass + packed.item.aside_kg
        left = dry - gone
        if left < -slack(dry):
            words = _("{gone} is packed or gone already; enter what was dried in all, or move packages to the trash")
            self.add_error("dry", words.format(gone=self._shown(gone)))
        elif left <= slack(dry):
            self.add_error("dry", _("all of it is packed; if you dried more, enter how much it was in all"))
        elif part is not None and part > left + slack(dry):
            words = _("only {left} of the dried food is left; enter that or less, or correct the weight")
            self.add_error("part", words.format(left=self._shown(left)))
        else:
            data["amount"] = left if part is None or part > left else part
        return data

    def _shown(self, mass_kg: float) -> str:
        return in_words(show(mass_kg, "small mass", self.units))

    def clean_packed_on(self) -> Any:
        """Refuse a day to come."""
        day = self.cleaned_data["packed_on"]
        if day > timezone.localdate():
            raise forms.ValidationError(lazy("This date is in the future."))
        return day


class PackageLabelForm(KitchenForm):
    """Which labels are printed."""

    sheet = forms.ChoiceField(choices=sheet_choices, label=lazy("Label sheet"))
    skip = forms.IntegerField(
        required=False, min_value=0, max_value=200, label=lazy("Labels already used on the first sheet")
    )
    gs1 = forms.BooleanField(required=False, label=lazy("GS1 code, for packages you sell"))


class EachField(forms.TypedChoiceField):
    """Whether servings are counted for each package."""

    def __init__(self, **options: Any) -> None:
        choices = (("", lazy("the whole batch")), ("each", lazy("each package")))
        options |= {"empty_value": False}  # any value may stand for an empty answer
        super().__init__(choices=choices, coerce=bool, required=False, **options)

    def from_column(self, each: bool) -> str:
        """Return the choice that stands for it."""
        return "each" if each else ""


class ServingsForm(RecordForm[Batch]):
    """How many servings a batch makes."""

    model = Batch
    says: ClassVar = msg("Servings saved.")
    servings = number_field(required=False, min_value=0.1, max_value=100_000, label=lazy("Servings"))
    each = stored("servings_each", EachField(label=lazy("Count them for")))


class DoneForm(ServingsForm):
    """What a batch came to, and what to change next time."""

    says: ClassVar = msg("Notes saved.")

    energy = QuantityField(
        "energy", low=0, high=3.6e9, stores="energy_kwh", required=False, label=lazy("Electricity, if you measured it"),
        help_text=lazy("For example: 12.5 kWh"),
    )  # fmt: skip
    packaging = stored("packaging_cost", money_field(
        CostField, required=False, min_value=0, max_value=1e6, label=lazy("Cost of all packages and absorbers")
    ))  # fmt: skip
    notes = forms.CharField(
        required=False, max_length=5000, label=lazy("Notes: what to change next time"),
        widget=forms.Textarea({"rows": 4}),
    )  # fmt: skip


class FinishForm(DoneForm):
    """The end of a batch: each package learns what it cost."""

    says: ClassVar = msg("The batch is finished. Its packages are in the pantry.")

    def changes(self) -> dict[str, Any]:
        """Return the columns to write, with those that end the batch."""
        return super().changes() | {"stage": "done", "done_at": self.row.done_at or timezone.now()}

    def write(self, changes: dict[str, Any], who: str) -> Batch:
        """Save the batch and what its packages cost."""
        with transaction.atomic(), records.one_action():
            changed: Batch = super().write(changes, who)
            save_costs(changed, who=who)
        return changed

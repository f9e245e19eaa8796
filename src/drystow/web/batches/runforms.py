"""Forms during and after a run: weighings, happenings, the end."""

from datetime import timedelta
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.figures import typed
from drystow.web.batches.models import Weighing
from drystow.web.batches.photos import checked_photo
from drystow.web.kit.forms import KitchenForm, QuantityField, number_field

DURING = (("note", lazy("note or photo")), ("door", lazy("door opened")), ("power", lazy("power outage")))
OUTSIDE = 4  # usual minutes from the chamber to the scale; drystow-default
AHEAD = timedelta(minutes=5)  # how far a clock may be wrong


def step_typed(form: KitchenForm, *names: str) -> float:
    """Return the step of the scale, as the coarsest of some weights was typed [kg].

    form: bound and valid
    names: of its fields
    """
    fields: list[tuple[QuantityField, str]] = [(form.fields[name], form.data[form.add_prefix(name)]) for name in names]
    return max(field.step(text.strip()) for field, text in fields)


class ClockField(forms.DateTimeField):
    """A moment up to now, written with the browser's own clock; empty means now."""

    def __init__(self, **options: Any) -> None:
        clock = forms.DateTimeInput({"type": "datetime-local", "step": 60}, format="%Y-%m-%dT%H:%M")
        super().__init__(required=False, widget=clock, **options)

    def clean(self, value: Any) -> Any:
        """Return the moment."""
        at = super().clean(value) or timezone.now()
        if at > timezone.now() + AHEAD:
            raise forms.ValidationError(_("This is in the future; enter when it happened."))
        return at


class SeenTrayForm(KitchenForm):
    """Something that was seen of a tray with food."""

    tray = forms.IntegerField(label=lazy("Tray"), widget=forms.Select)

    def __init__(self, *arguments: Any, trays: list[int], **options: Any) -> None:
        self.trays = trays  # first, since the base looks for errors at once
        super().__init__(*arguments, **options)
        self.fields["tray"].widget.choices = [(number, number) for number in trays]

    def clean_tray(self) -> int:
        """Return the number of a tray with food."""
        number = int(self.cleaned_data["tray"])
        if number not in self.trays:
            known = ", ".join(str(one) for one in self.trays) or "–"
            raise forms.ValidationError(
                _("Tray {number} has no food; choose one of {trays}.").format(number=number, trays=known)
            )
        return number


class WeighingForm(SeenTrayForm):
    """A tray on the scale."""

    corrects = forms.IntegerField(required=False, widget=forms.HiddenInput)
    gross = QuantityField("small mass", low=0.001, high=100, label=lazy("Tray with food"))
    tare = QuantityField("small mass", low=0.0, high=50, label=lazy("Empty tray"))
    resolution = QuantityField(
        "small mass", low=1e-6, high=0.1, required=False, label=lazy("Scale reads to"),
        help_text=lazy("Leave blank for the last digit of the weight, for example 0.01 for 3.31."),
    )  # fmt: skip
    outside = number_field(
        required=False, min_value=0, max_value=600, label=lazy("Minutes out of the dryer"), initial=OUTSIDE,
        help_text=lazy("From leaving the vacuum to the scale. Dry food picks up moisture."),
    )  # fmt: skip
    at = ClockField(label=lazy("When"), help_text=lazy("Leave blank for now."))
    note = forms.CharField(required=False, max_length=200, label=lazy("Note"))

    def clean(self) -> dict[str, Any]:
        """Return the data when the food on the tray weighs something."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if data.get("gross") is not None and data.get("tare") is not None and data["gross"] <= data["tare"]:
            self.add_error("gross", _("The tray with food must weigh more than the empty one."))
        return data

    def values(self) -> dict[str, Any]:
        """Return the fields of a weighing."""
        data = self.cleaned_data
        written = data["resolution"] is not None
        masses = data if written else data | {"resolution": step_typed(self, "gross")}
        grams = {f"{name}_g": round(masses[name] * 1000.0, 4) for name in ("gross", "tare", "resolution")}
        outside = OUTSIDE if data["outside"] is None else data["outside"]
        common = {"tray": data["tray"], "at": data["at"], "outside_min": outside, "note": data["note"]}
        return grams | common | {"step_written": written}


def weighing_initial(row: Weighing) -> dict[str, Any]:
    """Return what the form shows when a weighing is corrected."""
    grams = {name: getattr(row, f"{name}_g") / 1000.0 for name in ("gross", "tare", "resolution")}
    when = {"at": timezone.localtime(row.at), "outside": typed(row.outside_min, 6)}
    return grams | when | {"corrects": row.pk, "tray": row.tray, "note": row.note}


class HappeningForm(KitchenForm):
    """Something during a run."""

    kind = forms.ChoiceField(choices=DURING, label=lazy("What"))
    at = ClockField(
        label=lazy("When"), help_text=lazy("Leave blank for now. For a power outage: when the power went out.")
    )
    minutes = number_field(required=False, min_value=0, max_value=10_000, label=lazy("For how many minutes"))
    opened = forms.BooleanField(required=False, label=lazy("Power outage: the chamber was opened"))
    room = QuantityField(
        "temperature", low=253.15, high=323.15, required=False, label=lazy("Power outage: room temperature"),
        help_text=lazy("Leave blank for the usual."),
    )  # fmt: skip
    text = forms.CharField(required=False, max_length=2000, label=lazy("Note"), widget=forms.Textarea({"rows": 2}))
    photo = forms.FileField(
        required=False, label=lazy("Photo"), help_text=lazy("JPEG, PNG or WebP, up to 8 MB."),
        widget=forms.FileInput({"accept": "image/jpeg,image/png,image/webp"}),
    )  # fmt: skip

    def clean_photo(self) -> Any:
        """Return a real picture."""
        photo = self.cleaned_data.get("photo")
        return checked_photo(photo) if photo else None

    def clean(self) -> dict[str, Any]:
        """Return the data when there is something in it."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        empty = data.get("kind") == "note" and not data.get("text") and not data.get("photo")
        if empty and "photo" not in self.errors:
            self.add_error("text", _("Enter a note or add a photo."))
        if data.get("kind") == "power" and not data.get("minutes") and "minutes" not in self.errors:
            self.add_error("minutes", _("Enter for how many minutes the power was off."))
        if data.get("kind") == "power" and "at" not in self.errors:
            if not self.data.get(self.add_prefix("at")):
                self.add_error("at", _("Enter when the power went out."))
            elif data.get("minutes") and data["at"] + timedelta(minutes=data["minutes"]) > timezone.now() + AHEAD:
                self.add_error("minutes", _("That ends in the future; enter the minutes until the power came back."))
        return data


class EndForm(KitchenForm):
    """The run is over."""

    at = ClockField(label=lazy("When"), help_text=lazy("Leave blank for now."))
    energy = QuantityField(
        "energy", low=0, high=3.6e9, required=False, label=lazy("Electricity, if you measured it"),
        help_text=lazy("For example: 12.5 kWh"),
    )  # fmt: skip

"""Forms during and after a run: weighings, happenings, photos, the end, and what proves that food is dry."""

import secrets
from datetime import timedelta
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.messages import msg
from drystow.shown import between, quantity
from drystow.web.batches.models import Batch, Happening, PressureRise, Sample, Weighing
from drystow.web.kit.forms import KitchenForm, QuantityField, asked_field, column_of_si, number_field, stored
from drystow.web.kit.record_forms import CorrectingForm, RecordForm
from drystow.web.kit.words import later_words

LARGEST = 8 * 1024 * 1024  # bytes
TYPES = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp"}


def picture_kind(head: bytes) -> str | None:
    """Return jpg, png or webp by the first bytes of a file, None for anything else.

    head: at least the first 12 bytes
    Source: definition, ISO/IEC 10918-1, ISO/IEC 15948 and RFC 9649.
    """
    if head.startswith(b"\xff\xd8\xff"):
        return "jpg"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "webp"
    return None


def checked_photo(upload: Any) -> Any:
    """Return an uploaded picture under a random name; raise `ValidationError` for anything else."""
    if upload.size > LARGEST:
        raise ValidationError(
            _("This file has {size:.1f} MB; a photo can have up to 8 MB.").format(size=upload.size / 1048576)
        )
    upload.seek(0)
    kind = picture_kind(upload.read(16))
    upload.seek(0)
    if kind is None:
        raise ValidationError(_("This photo can’t be shown; choose a JPEG, PNG or WebP picture."))
    upload.name = f"{secrets.token_hex(16)}.{kind}"
    return upload


DURING = (("note", lazy("note or photo")), ("door", lazy("door opened")), ("power", lazy("power outage")))
OUTSIDE = 4  # usual minutes from the chamber to the scale; drystow-default
AHEAD = timedelta(minutes=5)  # how far a clock may be wrong


def step_typed(form: KitchenForm, *names: str) -> float:
    """Return the step of the scale, as the coarsest of some weights was typed [kg].

    form: bound and valid
    names: of its fields
    """
    fields = [(form.quantities[name], form.data[form.add_prefix(name)]) for name in names]
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


class SeenTrayForm(RecordForm[Any]):
    """Something that was seen of a tray with food."""

    tray = forms.IntegerField(label=lazy("Tray"), widget=forms.Select)

    def __init__(self, *arguments: Any, trays: list[int], **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.trays = trays
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


class WeighingForm(SeenTrayForm, CorrectingForm):
    """A tray on the scale."""

    model = Weighing
    says: ClassVar = msg("Weighing saved.")
    says_of_correction: ClassVar = msg("Weighing corrected.")
    again: ClassVar = lazy("This weighing was already corrected; correct the newer one.")
    gross = asked_field("weighing", "gross", "small mass", stores="gross_g", label=lazy("Tray with food"))
    tare = asked_field("weighing", "tare", "small mass", stores="tare_g", label=lazy("Empty tray"))
    resolution = asked_field(
        "weighing", "resolution", "small mass", stores="resolution_g", required=False, label=lazy("Scale reads to"),
        help_text=lazy("Leave blank for the last digit of the weight, for example 0.01 for 3.31."),
    )  # fmt: skip
    outside = stored("outside_min", number_field(
        required=False, min_value=0, max_value=600, label=lazy("Minutes out of the dryer"), initial=OUTSIDE,
        help_text=lazy("From leaving the vacuum to the scale. Dry food picks up moisture."),
    ))  # fmt: skip
    at = ClockField(label=lazy("When"), help_text=lazy("Leave blank for now."))
    note = forms.CharField(required=False, max_length=200, label=lazy("Note"))

    def clean(self) -> dict[str, Any]:
        """Return the data when the food on the tray weighs something."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if data.get("gross") is not None and data.get("tare") is not None and data["gross"] <= data["tare"]:
            self.add_error("gross", _("The tray with food must weigh more than the empty one."))
        return data

    def changes(self) -> dict[str, Any]:
        """Return the columns to write: where the steps of the scale are left out, the last digit tells them."""
        data, changes = self.cleaned_data, super().changes()
        changes["step_written"] = data["resolution"] is not None
        if data["resolution"] is None:
            changes["resolution_g"] = column_of_si("resolution_g", step_typed(self, "gross"))
        if data["outside"] is None:
            changes["outside_min"] = OUTSIDE
        return changes


class HappeningForm(RecordForm[Happening]):
    """Something during a run."""

    model = Happening
    says: ClassVar = msg("Saved.")
    kind = forms.ChoiceField(choices=DURING, label=lazy("What"))
    at = ClockField(
        label=lazy("When"), help_text=lazy("Leave blank for now. For a power outage: when the power went out.")
    )
    minutes = number_field(required=False, min_value=0, max_value=10_000, label=lazy("For how many minutes"))
    opened = forms.BooleanField(required=False, label=lazy("Power outage: the chamber was opened"))
    room = QuantityField(
        "temperature", low=253.15, high=323.15, stores="room_c", required=False,
        label=lazy("Power outage: room temperature"), help_text=lazy("Leave blank for the usual."),
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

    def changes(self) -> dict[str, Any]:
        """Return the columns to write: a note with a photo is a photo, and only a power cut opens the chamber."""
        data, changes = self.cleaned_data, super().changes()
        changes["photo"] = data["photo"] or ""
        if data["photo"] and data["kind"] == "note":
            changes["kind"] = "photo"
        return changes if data["kind"] == "power" else changes | {"opened": False, "room_c": None}


class EndForm(RecordForm[Batch]):
    """The run is over."""

    model = Batch
    says: ClassVar = msg("The run is over. Now see whether it is dry.")
    at = stored("ended_at", ClockField(label=lazy("When"), help_text=lazy("Leave blank for now.")))
    energy = QuantityField(
        "energy", low=0, high=3.6e9, stores="energy_kwh", required=False, label=lazy("Electricity, if you measured it"),
        help_text=lazy("For example: 12.5 kWh"),
    )  # fmt: skip

    def clean_at(self) -> Any:
        """Return the moment when the run had started by then."""
        at = self.cleaned_data["at"]
        if at < self.row.started_at:
            raise forms.ValidationError(_("This is before the run started."))
        return at

    def changes(self) -> dict[str, Any]:
        """Return the columns to write."""
        return super().changes() | {"stage": "proof"}


SHORT = (
    ("dry", lazy("even, no ice, not cold")),
    ("cold", lazy("cold inside")),
    ("soft", lazy("soft or damp inside")),
    ("ice", lazy("ice inside")),
)
"""What is found in a piece, as short as a list on a phone shows it whole."""

SHUT = 60
"""Seconds that a way to the trap is shut for a test, usually. Source: drystow-default."""

HIGHEST = 2000.0
"""Pressure during such a test, as a batch file takes it [Pa]. Source: drystow-default."""


class CoreForm(SeenTrayForm):
    """A piece cut open."""

    model = Happening
    says: ClassVar = msg("Saved.")
    inside = stored("finding", forms.ChoiceField(choices=SHORT, label=lazy("Inside, the thickest piece is")))
    at = ClockField(label=lazy("When"), help_text=lazy("Leave blank for now."))
    text = forms.CharField(required=False, max_length=500, label=lazy("Note"))

    def changes(self) -> dict[str, Any]:
        """Return the columns to write: the text begins with what was found."""
        data = self.cleaned_data
        inside = dict(Happening.FINDINGS)[data["inside"]]
        words = _("Tray {tray}: {inside}").format(tray=data["tray"], inside=inside)
        return super().changes() | {"text": ". ".join(filter(None, (words, data["text"])))}


class SampleForm(SeenTrayForm, CorrectingForm):
    """A sample dried in an oven, or put into a water-activity meter."""

    model = Sample
    says: ClassVar = msg("Sample saved.")
    says_of_correction: ClassVar = msg("Sample corrected.")
    again: ClassVar = lazy("This sample was already corrected; correct the newer one.")
    kind = forms.ChoiceField(choices=Sample.KINDS, label=lazy("How you measured it"))
    before = QuantityField(
        "small mass", low=1e-4, high=1.0, stores="before_g", required=False, label=lazy("Oven: starting weight"),
        help_text=later_words(msg("Grind some pieces: {least} or more.", least=quantity(0.005, "small mass"))),
    )  # fmt: skip
    after = QuantityField(
        "small mass", low=1e-5, high=1.0, stores="after_g", required=False, label=lazy("Oven: final weight"),
        help_text=later_words(
            msg(
                "At {oven} until it stops losing weight, for example overnight.",
                oven=between(373.15, 378.15, "temperature"),
            )
        ),
    )  # fmt: skip
    resolution = QuantityField(
        "small mass", low=1e-6, high=0.01, stores="resolution_g", required=False, label=lazy("Oven: scale reads to"),
        help_text=lazy("Leave blank for the last digit of the weights."),
    )  # fmt: skip
    activity = number_field(
        required=False, min_value=0, max_value=1, label=lazy("Meter: water activity"),
        help_text=later_words(msg("What it shows at {room}, for example 0.12.", room=quantity(298.15, "temperature"))),
    )  # fmt: skip
    at = ClockField(label=lazy("When you took it"), help_text=lazy("Leave blank for now."))
    note = forms.CharField(required=False, max_length=200, label=lazy("Note"))

    def clean(self) -> dict[str, Any]:
        """Return the data when it holds what its way of measuring gives."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        needed = ("activity",) if data.get("kind") == "meter" else ("before", "after")
        for name in needed:
            if data.get(name) is None and name not in self.errors:
                self.add_error(name, _("Enter what you measured."))
        before, after = data.get("before"), data.get("after")
        if needed == ("before", "after") and before is not None and after is not None and after >= before:
            self.add_error("after", _("A sample can only lose weight in an oven."))
        return data

    def changes(self) -> dict[str, Any]:
        """Return the columns to write, those of the way it was measured."""
        data, changes = self.cleaned_data, super().changes()
        if data["kind"] == "meter":
            return changes | dict.fromkeys(("before_g", "after_g", "resolution_g"))
        if data["resolution"] is None:
            changes["resolution_g"] = column_of_si("resolution_g", step_typed(self, "before", "after"))
        return changes | {"activity": None}


class RiseForm(CorrectingForm):
    """The pressure before and after the way to the trap was shut."""

    model = PressureRise
    says: ClassVar = msg("Pressures saved.")
    says_of_correction: ClassVar = msg("Pressures corrected.")
    again: ClassVar = lazy("These pressures were already corrected; correct the newer ones.")
    before = QuantityField("pressure", low=0.0, high=HIGHEST, stores="before_pa", label=lazy("Pressure before"))
    after = QuantityField("pressure", low=0.0, high=HIGHEST, stores="after_pa", label=lazy("Pressure after"))
    seconds = number_field(min_value=1, max_value=3600, initial=SHUT, label=lazy("Seconds closed"))
    at = ClockField(label=lazy("When you closed it"), help_text=lazy("Leave blank for now."))
    note = forms.CharField(required=False, max_length=200, label=lazy("Note"))


class BeganForm(RecordForm[Batch]):
    """When drying began."""

    model = Batch
    says: ClassVar = msg("The time when drying began is saved.")
    at = stored("drying_began_at", ClockField(label=lazy("Vacuum on at"), help_text=lazy("Leave blank for now.")))

    def clean_at(self) -> Any:
        """Return the moment when the food was in the dryer then."""
        at, batch = self.cleaned_data["at"], self.row
        if batch.started_at is not None and at < batch.started_at:
            raise forms.ValidationError(_("This is before the food was loaded."))
        if batch.ended_at is not None and at > batch.ended_at:
            raise forms.ValidationError(_("This is after the run ended."))
        return at

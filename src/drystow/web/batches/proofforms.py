"""Forms of the proof besides weighings: a piece cut open, samples, pressure rises, and when drying began."""

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.messages import msg
from drystow.shown import between, quantity
from drystow.web.batches.models import Batch, Happening, PressureRise, Sample
from drystow.web.batches.runforms import ClockField, SeenTrayForm, step_typed
from drystow.web.kit.forms import KitchenForm, QuantityField, number_field
from drystow.web.kit.words import later_words

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

    inside = forms.ChoiceField(choices=SHORT, label=lazy("Inside, the thickest piece is"))
    at = ClockField(label=lazy("When"), help_text=lazy("Leave blank for now."))
    text = forms.CharField(required=False, max_length=500, label=lazy("Note"))

    def values(self) -> dict[str, Any]:
        """Return the fields of a happening."""
        data = self.cleaned_data
        words = _("Tray {tray}: {inside}").format(
            tray=data["tray"],
            inside=dict(Happening.FINDINGS)[data["inside"]],
        )
        text = ". ".join(filter(None, (words, data["text"])))
        return {"kind": "core", "at": data["at"], "tray": data["tray"], "finding": data["inside"], "text": text}


class SampleForm(SeenTrayForm):
    """A sample dried in an oven, or put into a water-activity meter."""

    corrects = forms.IntegerField(required=False, widget=forms.HiddenInput)
    kind = forms.ChoiceField(choices=Sample.KINDS, label=lazy("How you measured it"))
    before = QuantityField(
        "small mass", low=1e-4, high=1.0, required=False, label=lazy("Oven: starting weight"),
        help_text=later_words(msg("Grind some pieces: {least} or more.", least=quantity(0.005, "small mass"))),
    )  # fmt: skip
    after = QuantityField(
        "small mass", low=1e-5, high=1.0, required=False, label=lazy("Oven: final weight"),
        help_text=later_words(
            msg(
                "At {oven} until it stops losing weight, for example overnight.",
                oven=between(373.15, 378.15, "temperature"),
            )
        ),
    )  # fmt: skip
    resolution = QuantityField(
        "small mass", low=1e-6, high=0.01, required=False, label=lazy("Oven: scale reads to"),
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

    def values(self) -> dict[str, Any]:
        """Return the fields of a sample."""
        data = self.cleaned_data
        common = {name: data[name] for name in ("tray", "at", "kind", "note")}
        if data["kind"] == "meter":
            return common | {"activity": data["activity"]}
        masses = {"before": data["before"], "after": data["after"], "resolution": data["resolution"]}
        masses["resolution"] = masses["resolution"] or step_typed(self, "before", "after")
        return common | {f"{name}_g": round(mass * 1000.0, 5) for name, mass in masses.items()}


def sample_initial(row: Sample) -> dict[str, Any]:
    """Return what the form shows when a sample is corrected."""
    grams = {name: getattr(row, f"{name}_g") for name in ("before", "after", "resolution")}
    masses = {name: value / 1000.0 for name, value in grams.items() if value is not None}
    same = {name: getattr(row, name) for name in ("tray", "kind", "activity", "note")}
    return masses | same | {"corrects": row.pk, "at": timezone.localtime(row.at)}


class RiseForm(KitchenForm):
    """The pressure before and after the way to the trap was shut."""

    corrects = forms.IntegerField(required=False, widget=forms.HiddenInput)
    before = QuantityField("pressure", low=0.0, high=HIGHEST, label=lazy("Pressure before"))
    after = QuantityField("pressure", low=0.0, high=HIGHEST, label=lazy("Pressure after"))
    seconds = number_field(min_value=1, max_value=3600, initial=SHUT, label=lazy("Seconds closed"))
    at = ClockField(label=lazy("When you closed it"), help_text=lazy("Leave blank for now."))
    note = forms.CharField(required=False, max_length=200, label=lazy("Note"))

    def values(self) -> dict[str, Any]:
        """Return the fields of a pressure rise."""
        data = self.cleaned_data
        pressures = {f"{name}_pa": round(data[name], 4) for name in ("before", "after")}
        return pressures | {name: data[name] for name in ("seconds", "at", "note")}


def rise_initial(row: PressureRise) -> dict[str, Any]:
    """Return what the form shows when a pressure rise is corrected."""
    same = {"before": row.before_pa, "after": row.after_pa, "seconds": row.seconds, "note": row.note}
    return same | {"corrects": row.pk, "at": timezone.localtime(row.at)}


class BeganForm(KitchenForm):
    """When drying began."""

    at = ClockField(label=lazy("Vacuum on at"), help_text=lazy("Leave blank for now."))

    def __init__(self, *arguments: Any, batch: Batch, **options: Any) -> None:
        self.batch = batch
        super().__init__(*arguments, **options)

    def clean_at(self) -> Any:
        """Return the moment when the food was in the dryer then."""
        at = self.cleaned_data["at"]
        if self.batch.started_at is not None and at < self.batch.started_at:
            raise forms.ValidationError(_("This is before the food was loaded."))
        if self.batch.ended_at is not None and at > self.batch.ended_at:
            raise forms.ValidationError(_("This is after the run ended."))
        return at

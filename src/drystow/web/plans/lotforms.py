"""The form of a lot: what comes, when, how it is cut, and its own times."""

from collections.abc import Sequence
from datetime import datetime, time, timedelta
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.messages import msg
from drystow.shown import quantity
from drystow.web.batches.models import SHAPES
from drystow.web.kit.forms import KitchenForm, QuantityField, money_field, number_field
from drystow.web.kit.words import later_words
from drystow.web.plans.fields import PER, MomentField
from drystow.web.plans.models import Lot, Plan, PlanDryer

MORE = ("tray", "fridge", "freezer", "drying", "dryers")
"""Fields of the form that stand in the fold."""
TICKS = ("frozen", "must")
ROUNDED = ("mass", "size", "tray", "drying")
FIRST_HOUR = 9  # of a plan that has not begun; drystow-default
NEXT_PICKING = timedelta(days=3)  # common practice with beans, berries and tomatoes


class LotForm(KitchenForm):
    """Food that comes at one time."""

    food = forms.CharField(max_length=140, widget=forms.HiddenInput)
    name = forms.CharField(
        max_length=120,
        required=False,
        label=lazy("What you call it"),
        help_text=lazy("Leave blank for the food’s name."),
    )
    mass = QuantityField(
        "mass",
        low=0.05,
        high=2000,
        label=lazy("How much is coming"),
        help_text=later_words(msg("For example {example}, fresh.", example=quantity(4.08, "mass", 0))),
    )
    arrives = MomentField(label=lazy("Arrives"))
    shape = forms.ChoiceField(choices=SHAPES, label=lazy("Shape"))
    size = QuantityField(
        "length",
        low=2e-4,
        high=0.2,
        label=lazy("Thickness or diameter"),
        help_text=later_words(msg("For example: {example}", example=quantity(0.009, "length"))),
    )
    value = money_field(
        min_value=0,
        max_value=1e5,
        label=lazy("Worth"),
        help_text=lazy("In your currency. If not everything can be dried, food worth more goes first."),
    )
    ready_by = MomentField(required=False, label=lazy("Needed by"))
    frozen = forms.BooleanField(required=False, label=lazy("Arrives frozen"))
    must = forms.BooleanField(
        required=False, label=lazy("All of it must be dried"), help_text=lazy("Ahead of anything worth more.")
    )
    tray = QuantityField(
        "mass", low=0.02, high=100, required=False, label=lazy("On one full tray"),
        help_text=lazy("Leave blank for what a tray holds: one layer as thick as the cut, up to the rim."),
    )  # fmt: skip
    fridge = number_field(
        required=False, min_value=0, max_value=365, label=lazy("Your own refrigerator limit (days)"),
        help_text=lazy("Leave blank for public guidance. Raw animal food never gets longer than that."),
    )  # fmt: skip
    freezer = number_field(
        required=False, min_value=0, max_value=1000, label=lazy("Your own freezer limit (days)"),
        help_text=lazy("Leave blank for public guidance. 0: do not freeze."),
    )  # fmt: skip
    drying = QuantityField(
        "time", low=3600, high=480 * 3600, required=False, label=lazy("Your own drying time"),
        help_text=lazy("Leave blank to calculate it. For example 30 h."),
    )  # fmt: skip

    base_fields: dict[str, forms.Field]

    def __init__(
        self, *arguments: Any, plan: Plan, dryers: Sequence[PlanDryer], names: Sequence[str], **options: Any
    ) -> None:
        self.plan, self.names = plan, names  # first, since the base looks for errors at once
        self.dryers = {row.dryer_id for row in dryers}
        if len(dryers) > 1:
            self.base_fields = self.base_fields | {"dryers": _only_in(dryers)}
        super().__init__(*arguments, **options)
        self.fields["value"].label = worth_label(self.units)

    def clean_name(self) -> str:
        """Return the name when no other lot of the plan has it."""
        name = " ".join(str(self.cleaned_data["name"]).split())
        if name in self.names:
            words = _("“{name}” already exists; how about “{free}”?")
            raise forms.ValidationError(words.format(name=name, free=free_name(name, self.names)))
        return name

    def clean(self) -> dict[str, Any]:
        """Return the data when its moments fit to each other and to the plan."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        arrives, ready = data.get("arrives"), data.get("ready_by")
        end = self.plan.begin + timedelta(days=self.plan.days)
        if arrives is not None and timezone.localtime(arrives).date() >= end:
            self.add_error("arrives", _("The plan is over by then. Add days under “Days and hours”."))
        if arrives is not None and ready is not None and ready <= arrives:
            self.add_error("ready_by", _("This is before the food arrives."))
        return data

    @property
    def main_fields(self) -> list[Any]:
        """Return the fields that are always in sight, besides the ticks."""
        return [field for field in self.visible_fields() if field.name not in (*MORE, *TICKS)]

    @property
    def more_fields(self) -> list[Any]:
        """Return the fields in the fold."""
        return [field for field in self.visible_fields() if field.name in MORE]

    @property
    def more_open(self) -> bool:
        """Return whether something in the fold is filled in or wrong."""
        return any(field.errors or field.value() not in (None, "", []) for field in self.more_fields)

    def values(self, usual_name: str, extra: dict[str, Any] | None = None) -> dict[str, Any]:
        """Return the fields of a lot.

        usual_name: when none is written
        extra: that the lot has from a plan file
        """
        data = self.cleaned_data | {name: self.initial[name] for name in ROUNDED if self._as_shown(name)}
        kept = dict(extra or {})
        if "dryers" in self.fields or not self.dryers & set(kept.get("dryers", ())):
            kept = {name: value for name, value in kept.items() if name != "dryers"}
            kept |= {"dryers": data["dryers"]} if data.get("dryers") else {}
        return {
            "food": data["food"],
            "name": data["name"] or free_name(usual_name[:120], self.names),
            "mass_kg": data["mass"],
            "arrives": data["arrives"],
            "shape": data["shape"],
            "size_m": data["size"],
            "tray_kg": data["tray"],
            "value_per_kg": worth_of(self),
            "frozen": data["frozen"],
            "must": data["must"],
            "ready_by": data["ready_by"],
            "fridge_days": data["fridge"],
            "freezer_days": data["freezer"],
            "drying_h": None if data["drying"] is None else data["drying"] / 3600.0,
            "extra": kept,
        }

    def _as_shown(self, name: str) -> bool:
        """Return whether a quantity came back just as it was shown; then it keeps the digits that were not."""
        shown = self.fields[name].prepare_value(self.initial.get(name))
        return shown is not None and str(shown) == self.data.get(self.add_prefix(name))


def _only_in(dryers: Sequence[PlanDryer]) -> forms.Field:
    return forms.TypedMultipleChoiceField(
        coerce=int,
        required=False,
        choices=[(row.dryer_id, row.dryer.name) for row in dryers],
        widget=forms.CheckboxSelectMultiple,
        label=_("Only in"),
        help_text=_("Tick none for any dryer of the plan."),
    )


def worth_of(form: KitchenForm) -> float:
    """Return the worth of a kilogram; what came back just as it was shown keeps the digits that were not.

    form: valid, told the worth of a pound or a kilogram, as its units have it
    """
    told = form.cleaned_data["value"]
    if "value_per_kg" in form.initial and told == form.initial["value"]:
        return float(form.initial["value_per_kg"])
    return float(told / PER[form.units])


def worth_label(units: str) -> str:
    """Return what the worth of food is told for, a pound or a kilogram."""
    return _("Worth per pound") if units == "us" else _("Worth per kilogram")


def lot_initial(lot: Lot, units: str) -> dict[str, Any]:
    """Return what the form shows of a lot.

    lot: as it is kept
    units: of the reader
    """
    return {
        "version": lot.version,
        "food": lot.food,
        "name": lot.name,
        "mass": lot.mass_kg,
        "arrives": timezone.localtime(lot.arrives),
        "shape": lot.shape,
        "size": lot.size_m,
        "value": round(lot.value_per_kg * PER[units], 2),
        "value_per_kg": lot.value_per_kg,
        "ready_by": lot.ready_by and timezone.localtime(lot.ready_by),
        "frozen": lot.frozen,
        "must": lot.must,
        "tray": lot.tray_kg,
        "fridge": lot.fridge_days,
        "freezer": lot.freezer_days,
        "drying": None if lot.drying_h is None else lot.drying_h * 3600.0,
        "dryers": lot.extra.get("dryers", []),
    }


def next_picking(lot: Lot, plan: Plan, names: Sequence[str], units: str) -> dict[str, Any]:
    """Return what the form of a further lot like this one begins with.

    lot: the one before
    plan: that it belongs to
    names: of the lots that are there
    units: of the reader
    """
    arrives = timezone.localtime(lot.arrives)
    later = arrives + NEXT_PICKING  # on the clock of the kitchen
    inside = later.date() < plan.begin + timedelta(days=plan.days)
    moved = {"version": None, "name": free_name(lot.name, names), "ready_by": None}
    return lot_initial(lot, units) | moved | {"arrives": later if inside else arrives}


def first_arrival(plan: Plan) -> datetime:
    """Return when a new lot is there when nobody says: now, or on the first day of a plan that has not begun."""
    now = timezone.localtime().replace(second=0, microsecond=0)
    begin = datetime.combine(plan.begin, time(FIRST_HOUR), now.tzinfo)
    return max(now, begin) if now.date() < plan.begin + timedelta(days=plan.days) else begin


def free_name(name: str, taken: Sequence[str]) -> str:
    """Return a name that no other has, by a number behind it.

    >>> free_name("Corn", ["Corn", "Corn 2"])
    'Corn 3'
    """
    found, count = name, 1
    while found in taken:
        count += 1
        found = f"{name[:114]} {count}"
    return found

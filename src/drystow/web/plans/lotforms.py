"""The form of a lot: what comes, when, how it is cut, and its own times."""

from collections.abc import Sequence
from datetime import datetime, time, timedelta
from typing import Any, ClassVar

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.errors import InputErrors
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.planning.schedule.plan_file import MOST_LOTS
from drystow.shown import quantity
from drystow.web.batches.models import SHAPES
from drystow.web.kit.forms import asked_field, money_field, number_field, stored
from drystow.web.kit.record_forms import RecordForm
from drystow.web.kit.records import copy_of
from drystow.web.kit.words import later_words
from drystow.web.plans.fields import MomentField, WorthField
from drystow.web.plans.models import Lot, Plan, PlanDryer
from drystow.web.plans.spec import lot_problems

MORE = ("tray", "fridge", "freezer", "drying", "dryers")
"""Fields of the form that stand in the fold."""
TICKS = ("frozen", "must")
FIRST_HOUR = 9  # of a plan that has not begun; drystow-default
NEXT_PICKING = timedelta(days=3)  # common practice with beans, berries and tomatoes


class LotForm(RecordForm[Lot]):
    """Food that comes at one time."""

    model = Lot
    says: ClassVar = msg("{food} saved.", food="")
    says_of_new: ClassVar = msg("{food} is in the plan.", food="")
    food = forms.CharField(max_length=140, widget=forms.HiddenInput)
    name = forms.CharField(
        max_length=120,
        required=False,
        label=lazy("What you call it"),
        help_text=lazy("Leave blank for the food’s name."),
    )
    mass = asked_field(
        "arrival",
        "mass",
        stores="mass_kg",
        label=lazy("How much is coming"),
        help_text=later_words(msg("For example {example}, fresh.", example=quantity(4.08, "mass", 0))),
    )
    arrives = MomentField(label=lazy("Arrives"))
    shape = forms.ChoiceField(choices=SHAPES, label=lazy("Shape"))
    size = asked_field(
        "tray",
        "size",
        stores="size_m",
        label=lazy("Thickness or diameter"),
        help_text=later_words(msg("For example: {example}", example=quantity(0.009, "length"))),
    )
    value = stored("value_per_kg", money_field(
        WorthField, min_value=0, max_value=1e5, label=lazy("Worth"),
        help_text=lazy("In your currency. If not everything can be dried, food worth more goes first."),
    ))  # fmt: skip
    ready_by = MomentField(required=False, label=lazy("Needed by"))
    frozen = forms.BooleanField(required=False, label=lazy("Arrives frozen"))
    must = forms.BooleanField(
        required=False, label=lazy("All of it must be dried"), help_text=lazy("Ahead of anything worth more.")
    )
    tray = asked_field(
        "arrival", "tray_mass", stores="tray_kg", required=False, label=lazy("On one full tray"),
        help_text=lazy("Leave blank for what a tray holds: one layer as thick as the cut, up to the rim."),
    )  # fmt: skip
    fridge = stored("fridge_days", number_field(
        required=False, min_value=0, max_value=365, label=lazy("Your own refrigerator limit (days)"),
        help_text=lazy("Leave blank for public guidance. Raw animal food never gets longer than that."),
    ))  # fmt: skip
    freezer = stored("freezer_days", number_field(
        required=False, min_value=0, max_value=1000, label=lazy("Your own freezer limit (days)"),
        help_text=lazy("Leave blank for public guidance. 0: do not freeze."),
    ))  # fmt: skip
    drying = asked_field(
        "arrival", "drying_time", stores="drying_h", required=False, label=lazy("Your own drying time"),
        help_text=lazy("Leave blank to calculate it. For example 30 h."),
    )  # fmt: skip

    def __init__(
        self, *arguments: Any, row: Lot, food: Food, dryers: Sequence[PlanDryer], names: Sequence[str], **options: Any
    ) -> None:
        self.names, self.made_of, self.of_plan = names, food, dryers
        self.dryers = {one.dryer_id for one in dryers}
        if len(dryers) > 1:
            self.base_fields = self.base_fields | {"dryers": stored(None, _only_in(dryers))}
        super().__init__(*arguments, row=row, **options)
        self.fields["value"].label = worth_label(self.units)

    def start(self, row: Lot) -> dict[str, Any]:
        """Return what the form shows of a lot."""
        return super().start(row) | {"dryers": row.extra.get("dryers", [])}

    def clean_name(self) -> str:
        """Return the name when no other lot of the plan has it, that of the food where it is left blank."""
        name = " ".join(str(self.cleaned_data["name"]).split()) or free_name(self.made_of.name[:120], self.names)
        if name in self.names:
            words = _("“{name}” already exists; how about “{free}”?")
            raise forms.ValidationError(words.format(name=name, free=free_name(name, self.names)))
        return name

    def clean(self) -> dict[str, Any]:
        """Return the data when its moments fit to each other and to the plan."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        arrives, ready = data.get("arrives"), data.get("ready_by")
        plan = self.row.plan
        end = plan.begin + timedelta(days=plan.days)
        if arrives is not None and timezone.localtime(arrives).date() >= end:
            self.add_error("arrives", _("The plan is over by then. Add days under “Days and hours”."))
        if arrives is not None and ready is not None and ready <= arrives:
            self.add_error("ready_by", _("This is before the food arrives."))
        if self.new and len(self.names) >= MOST_LOTS:
            self.add_error(None, _("A plan can have up to {most} arrivals; make another plan.").format(most=MOST_LOTS))
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

    def changes(self) -> dict[str, Any]:
        """Return the columns to write, when the engine takes such a lot."""
        extra = {} if "forget" in self.data else dict(self.seen.extra)
        if "dryers" in self.fields or not self.dryers & set(extra.get("dryers", ())):
            extra.pop("dryers", None)
            extra |= {"dryers": ticked} if (ticked := self.cleaned_data.get("dryers")) else {}
        changes = super().changes() | {"extra": extra}
        if problems := lot_problems(self.with_changes(changes), self.of_plan, self.made_of):
            raise InputErrors(problems)
        return changes


def _only_in(dryers: Sequence[PlanDryer]) -> forms.Field:
    return forms.TypedMultipleChoiceField(
        coerce=int,
        required=False,
        choices=[(row.dryer_id, row.dryer.name) for row in dryers],
        widget=forms.CheckboxSelectMultiple,
        label=_("Only in"),
        help_text=_("Tick none for any dryer of the plan."),
    )


def worth_label(units: str) -> str:
    """Return what the worth of food is told for, a pound or a kilogram."""
    return _("Worth per pound") if units == "us" else _("Worth per kilogram")


def next_picking(lot: Lot, names: Sequence[str]) -> Lot:
    """Return a further lot like another one, some days later where that is in the plan.

    lot: the one before
    names: of the lots that are there
    """
    arrives, plan = timezone.localtime(lot.arrives), lot.plan
    later = arrives + NEXT_PICKING  # on the clock of the kitchen
    inside = later.date() < plan.begin + timedelta(days=plan.days)
    further = copy_of(lot)
    further.name, further.ready_by = free_name(lot.name, names), None
    further.arrives = later if inside else arrives
    return further


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

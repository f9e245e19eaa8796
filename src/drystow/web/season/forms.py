"""Forms of a season: its weeks and what is there for it, a crop, a choice of dryers."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.machine.profile import dryer_profile, profile_names
from drystow.messages import msg
from drystow.planning.schedule.plan_file import MOST_DRYERS
from drystow.planning.season.garden_file import MOST_CHOICES, MOST_CROPS
from drystow.ranges import RANGES
from drystow.web.batches.models import SHAPES
from drystow.web.dryers.models import Dryer
from drystow.web.foods.spec import check_it_dries
from drystow.web.kit.forms import asked_field, money_field, number_field, stored
from drystow.web.kit.record_forms import RecordForm
from drystow.web.kit.words import in_words
from drystow.web.plans.fields import WorthField, day_field
from drystow.web.plans.lotforms import worth_label
from drystow.web.plans.models import Choice, Crop, Season
from drystow.web.plans.planforms import PlanForm

MOST_OF_KIND = 3


class SeasonForm(PlanForm):
    """The weeks of a season and what is there for it."""

    model = Season
    says: ClassVar = msg("Season saved.")
    says_of_new: ClassVar = msg("Season started. Now add your crops.")

    days = None  # type: ignore[assignment]  # takes the field out
    notes = None  # type: ignore[assignment]
    weeks = forms.IntegerField(
        min_value=1,
        max_value=int(RANGES["garden"]["weeks"].high),
        label=lazy("Weeks of picking"),
        help_text=lazy("1 to 40"),
    )
    rounds = forms.IntegerField(
        min_value=1, max_value=int(RANGES["garden"]["rounds"].high), label=lazy("Seasons to test"),
        help_text=lazy("Good years and bad ones, picked at random. 20 take about half a minute."),
    )  # fmt: skip
    seed = forms.IntegerField(
        min_value=0, max_value=2**31 - 1, label=lazy("Random number"),
        help_text=lazy("The same number gives the same seasons."),
    )  # fmt: skip


class CropForm(RecordForm[Crop]):
    """Food that ripens over some weeks."""

    model = Crop
    says: ClassVar = msg("{food} saved.", food="")
    says_of_new: ClassVar = msg("{food} added to the season.", food="")

    food = forms.CharField(max_length=140, widget=forms.HiddenInput)
    name = forms.CharField(
        max_length=120,
        required=False,
        label=lazy("What you call it"),
        help_text=lazy("Leave blank for the food’s name."),
    )
    mass = asked_field(
        "crop", "mass", stores="mass_kg",
        label=lazy("How much in a season"), help_text=lazy("Fresh, in a typical year."),
    )  # fmt: skip
    uncertain = asked_field(
        "crop", "uncertain", label=lazy("Give or take"),
        help_text=lazy("How far a year typically is from that, for example 25%."),
    )  # fmt: skip
    first = day_field(label=lazy("First picking"))
    peak = day_field(label=lazy("Peak"))
    last = day_field(label=lazy("Last picking"))
    per_week = number_field(min_value=0.25, max_value=7, label=lazy("Pickings per week"))
    shape = forms.ChoiceField(choices=SHAPES, label=lazy("Shape"))
    size = asked_field("tray", "size", stores="size_m", label=lazy("Thickness or diameter"))
    value = stored("value_per_kg", money_field(
        WorthField, min_value=0, max_value=1e5, label=lazy("Worth"), help_text=lazy("In your currency, for fresh food.")
    ))  # fmt: skip
    tray = asked_field(
        "arrival", "tray_mass", stores="tray_kg", required=False, label=lazy("On one full tray"),
        help_text=lazy("Leave blank for what a tray holds: one layer as thick as the cut, up to the rim."),
    )  # fmt: skip

    def __init__(self, *arguments: Any, usual_name: str, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.usual_name = usual_name
        self.fields["value"].label = worth_label(self.units)

    def clean_name(self) -> str:
        """Return the name, that of the food where it is left blank."""
        return self.cleaned_data["name"] or self.usual_name[:120]

    def clean(self) -> dict[str, Any]:
        """Return the data when the days are in the season and in their order."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        season = self.row.season
        begin, end = season_span(season)
        days = {name: data[name] for name in ("first", "peak", "last") if data.get(name)}
        for name, day in days.items():
            if not begin <= day <= end:
                self.add_error(name, _("This is outside the season. Add weeks, or choose another day."))
        if len(days) == 3 and not days["first"] <= days["peak"] <= days["last"]:
            self.add_error("peak", _("Must be between the first and the last picking."))
        if self.new and Crop.objects.kept().filter(season=season).count() >= MOST_CROPS:
            self.add_error(None, _("A season can have up to {most} crops.").format(most=MOST_CROPS))
        return data

    def changes(self) -> dict[str, Any]:
        """Return the columns to write, when the food dries at all."""
        if self.new:
            check_it_dries(self.row.food)
        return super().changes()


def season_span(season: Season) -> tuple[date, date]:
    """Return the first and the last day of a season."""
    return season.begin, season.begin + timedelta(weeks=season.weeks, days=-1)


class ChoiceForm(RecordForm[Choice]):
    """Dryers that might do the work, and what they would cost."""

    model = Choice
    says: ClassVar = msg("“{name}” saved.", name="")
    says_of_new: ClassVar = msg("“{name}” is in the season.", name="")
    name = forms.CharField(max_length=120, label=lazy("What do you call it?"))
    price = money_field(
        min_value=0, max_value=1e6, label=lazy("Price of what you’d buy"),
        help_text=lazy("In your currency. 0 if there is nothing to buy."),
    )  # fmt: skip
    years = number_field(min_value=1, max_value=50, label=lazy("Years it lasts"))

    def __init__(self, *arguments: Any, dryers: Sequence[Dryer], **options: Any) -> None:
        more: dict[str, forms.Field] = {}
        if dryers:
            more["dryers"] = forms.TypedMultipleChoiceField(
                coerce=int, required=False, choices=[(row.pk, row.name) for row in dryers],
                widget=forms.CheckboxSelectMultiple, label=_("Your dryers"),
            )  # fmt: skip
        for name in profile_names():
            more[f"count_{name}"] = forms.IntegerField(
                required=False, min_value=0, max_value=MOST_OF_KIND, label=in_words(dryer_profile(name).words)
            )
        self.base_fields = self.base_fields | {name: stored(None, field) for name, field in more.items()}
        super().__init__(*arguments, **options)

    @property
    def counts(self) -> list[Any]:
        """Return the fields of further dryers, one for each kind."""
        return [field for field in self.visible_fields() if field.name.startswith("count_")]

    def start(self, row: Choice) -> dict[str, Any]:
        """Return what the form shows of a choice: dryers of the kitchen, and how many of each kind."""
        profiles = [one["profile"] for one in row.dryers if "profile" in one]
        counts = {f"count_{name}": profiles.count(name) or None for name in profile_names()}
        return super().start(row) | counts | {"dryers": [one["dryer"] for one in row.dryers if "dryer" in one]}

    def clean(self) -> dict[str, Any]:
        """Return the data when at least one dryer is in it, and not too many."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors and not 1 <= len(self.chosen()) <= MOST_DRYERS:
            self.add_error(None, _("Choose 1 to {most} dryers.").format(most=MOST_DRYERS))
        if self.new and Choice.objects.kept().filter(season=self.row.season).count() >= MOST_CHOICES:
            self.add_error(None, _("A season can have up to {most} choices.").format(most=MOST_CHOICES))
        return data

    def chosen(self) -> list[dict[str, Any]]:
        """Return the dryers as a choice keeps them."""
        data = self.cleaned_data
        rows: list[dict[str, Any]] = [{"dryer": pk} for pk in data.get("dryers") or ()]
        for name in profile_names():
            rows += [{"profile": name}] * (data.get(f"count_{name}") or 0)
        return rows

    def changes(self) -> dict[str, Any]:
        """Return the columns to write."""
        return super().changes() | {"dryers": self.chosen()}

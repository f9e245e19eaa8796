"""Forms of a plan: its days, the hours with somebody there, electricity, freezer, what goes apart."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any, ClassVar

from django import forms
from django.forms import formset_factory
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.days import day_text
from drystow.errors import InputErrors
from drystow.fields import Problems
from drystow.messages import msg
from drystow.planning.hours import HOME_KEYS, WEEKDAYS, read_home
from drystow.ranges import RANGES
from drystow.shown import quantity
from drystow.web.batches.forms import ShelfForm
from drystow.web.kit.forms import KitchenForm, asked_field, money_field, stored
from drystow.web.kit.models import Record
from drystow.web.kit.record_forms import RecordForm
from drystow.web.kit.records import kitchen
from drystow.web.kit.words import in_words, later_words
from drystow.web.plans.fields import HoursField, MomentField, SpaceField, day_field
from drystow.web.plans.models import Plan, PlanDryer
from drystow.web.plans.spec import dryer_problems

APART = (
    ("smells", lazy("strong smells, away from fruit, milk, sweets and eggs")),
    ("allergens", lazy("foods with different allergens")),
    ("colours", lazy("foods that stain, on the lower trays")),
)
DAYS = (
    ("daily", lazy("every day")),
    ("weekdays", lazy("Monday to Friday")),
    ("weekend", lazy("Saturday and Sunday")),
    ("monday", lazy("Monday")),
    ("tuesday", lazy("Tuesday")),
    ("wednesday", lazy("Wednesday")),
    ("thursday", lazy("Thursday")),
    ("friday", lazy("Friday")),
    ("saturday", lazy("Saturday")),
    ("sunday", lazy("Sunday")),
)
MOST_PRICES = 12
HOME = ("weekdays", "weekend", *WEEKDAYS)
_NAMES = dict(DAYS)


class PlanForm(RecordForm[Any]):
    """The days of a plan and what is there for it.

    prices: rows of hours in which electricity costs something else
    """

    model: ClassVar[type[Record]] = Plan
    says: ClassVar = msg("Plan saved.")
    says_of_new: ClassVar = msg("Plan started. Now enter the food coming in.")

    title = forms.CharField(max_length=120, label=lazy("What do you call it?"))
    begin = day_field(label=lazy("First day"))
    days = forms.IntegerField(
        min_value=1, max_value=int(RANGES["plan"]["days"].high), label=lazy("Days"), help_text=lazy("1 to 35")
    )
    weekdays = HoursField(
        label=_NAMES["weekdays"],
        help_text=lazy("For example 6:30-8:30, 17-22. Leave blank for 7-22. Enter a dash if no one is there."),
    )
    weekend = HoursField(
        label=_NAMES["weekend"],
        help_text=lazy("For example 8-22. Leave blank for 7-22. Enter a dash if no one is there."),
    )
    monday = HoursField(label=_NAMES["monday"])
    tuesday = HoursField(label=_NAMES["tuesday"])
    wednesday = HoursField(label=_NAMES["wednesday"])
    thursday = HoursField(label=_NAMES["thursday"])
    friday = HoursField(label=_NAMES["friday"])
    saturday = HoursField(label=_NAMES["saturday"])
    sunday = HoursField(label=_NAMES["sunday"])
    price = stored(None, money_field(
        required=False, min_value=0, max_value=100, label=lazy("Usual price per kilowatt-hour"),
        help_text=lazy("In your currency. Leave blank to use Settings."),
    ))  # fmt: skip
    freezer = SpaceField(
        stores="freezer_m3",
        label=lazy("Freezer space for waiting food"),
        help_text=later_words(
            msg(
                "For example {room}, or the weight it holds, such as {mass}. Leave blank for none.",
                room=quantity(0.045, "room"),
                mass=quantity(11.34, "mass", 0),
            )
        ),
    )
    apart = forms.MultipleChoiceField(
        choices=APART, required=False, widget=forms.CheckboxSelectMultiple, label=lazy("Not dried together")
    )
    notes = forms.CharField(required=False, max_length=2000, label=lazy("Notes"), widget=forms.Textarea({"rows": 3}))

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        data, hours = self.data if self.is_bound else None, _hours_of(self.seen.tariff)
        self.prices = Prices(data, prefix="price", initial=hours, form_kwargs={"units": self.units})

    def start(self, row: Any) -> dict[str, Any]:
        """Return what the form shows of a plan: hours with somebody there, and the price where it is another one."""
        home = dict.fromkeys(("weekdays", "weekend"), row.home["daily"]) if "daily" in row.home else {}
        home |= {name: spans for name, spans in row.home.items() if name in HOME}
        price = row.tariff.get("price") if row.tariff else kitchen().tariff_per_kwh
        apart = [rule for rule in row.apart if rule in dict(APART)]
        return super().start(row) | home | {"price": price, "apart": apart}

    def is_valid(self) -> bool:
        """Return whether the plan and each row of dearer hours can be read."""
        return super().is_valid() and bool(self.prices.is_valid())

    def changes(self) -> dict[str, Any]:
        """Return the columns to write: hours and prices only where somebody made something else of them."""
        changes, data = super().changes(), self.cleaned_data
        if self.new or any(map(self.touched, HOME)):
            changes["home"] = self.home()
        if self.new or self.touched("price") or self.prices.has_changed():
            usual = kitchen().tariff_per_kwh
            price = usual if data["price"] is None else data["price"]
            hours = [row for one in self.prices.forms for row in one.rows()]
            tariff: dict[str, Any] = {"price": price} | ({"hours": hours} if hours else {})
            changes["tariff"] = {} if not hours and price == usual else tariff  # empty: follows the kitchen
        if "begin" in changes and getattr(self.seen, "extra", None):  # that day began later, the new one is whole
            changes["extra"] = {name: value for name, value in self.seen.extra.items() if name != "begin_time"}
        return changes

    def clean(self) -> dict[str, Any]:
        """Return the data when somebody is there at some time."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if not any(name in self.errors for name in HOME) and not any(read_home(self.home(), Problems())):
            self.add_error("weekdays", _("Someone has to be there at some point to load and unload."))
        return data

    @property
    def single_days(self) -> list[Any]:
        """Return the fields of single days of the week."""
        return [self[name] for name in WEEKDAYS]

    @property
    def single_open(self) -> bool:
        """Return whether a single day is filled in or wrong."""
        return any(field.errors or field.value() not in (None, "") for field in self.single_days)

    def home(self) -> dict[str, list[str]]:
        """Return the hours with somebody there, as a plan file writes them."""
        written = {name: self.cleaned_data.get(name) for name in HOME}
        return {name: spans for name, spans in written.items() if spans is not None}


class PriceForm(KitchenForm):
    """Hours in which electricity costs something else."""

    days = forms.ChoiceField(choices=DAYS, label=lazy("On"))
    span = HoursField(label=lazy("From and to"), help_text=lazy("For example 16-21"))
    other = money_field(required=False, min_value=0, max_value=100, label=lazy("Price then"))

    def clean(self) -> dict[str, Any]:
        """Return the data when hours come with a price and a price with hours."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors and (data["span"] is None) != (data["other"] is None):
            missing = "span" if data["span"] is None else "other"
            self.add_error(missing, _("Enter both the hours and the price, or leave both blank."))
        return data

    def rows(self) -> list[dict[str, Any]]:
        """Return what a plan file writes of it."""
        data = self.cleaned_data
        return [{"days": data["days"], "span": span, "price": data["other"]} for span in data.get("span") or ()]


Prices = formset_factory(PriceForm, extra=2, max_num=MOST_PRICES, absolute_max=MOST_PRICES)


def _hours_of(tariff: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return what the rows of dearer hours show of a tariff."""
    return [
        {
            "days": row.get("days", HOME_KEYS[0]),
            "span": [row["span"]],
            "other": float(row.get("price", tariff.get("price", 0.0))),
        }
        for row in tariff.get("hours", ())
    ]


def usual_title(begin: date) -> str:
    """Return what a plan is called when nobody says."""
    return _("Week from {day}").format(day=in_words(day_text(begin, "month_day")))


MOST_STOPS = 20


class StopForm(KitchenForm):
    """A time in which the dryer is not to be had."""

    begin = MomentField(required=False, label=lazy("From"))
    end = MomentField(required=False, label=lazy("To"))

    def clean(self) -> dict[str, Any]:
        """Return the data when both moments are there, the end after the beginning."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        begin, end = data.get("begin"), data.get("end")
        if self.errors or (begin is None and end is None):
            return data
        if begin is None:
            self.add_error("begin", _("Enter when it begins, or leave both blank."))
        elif end is None or end <= begin:
            self.add_error("end", _("Enter an end after the beginning, or leave both blank."))
        return data

    def stop(self) -> dict[str, str] | None:
        """Return the stop on the clock of the kitchen, None when the row is empty."""
        if self.cleaned_data.get("begin") is None:
            return None
        times = {"from": self.cleaned_data["begin"], "to": self.cleaned_data["end"]}
        return {name: timezone.localtime(at).replace(tzinfo=None).isoformat() for name, at in times.items()}


Stops = formset_factory(StopForm, extra=1, max_num=MOST_STOPS, absolute_max=MOST_STOPS)


def stops_initial(stops: Iterable[dict[str, str]]) -> list[dict[str, Any]]:
    """Return what the rows of service show."""
    return [{"begin": datetime.fromisoformat(one["from"]), "end": datetime.fromisoformat(one["to"])} for one in stops]


class PlanDryerForm(ShelfForm[PlanDryer]):
    """How a dryer takes part in a plan: its program, what lies between two batches, and when it is not to be had.

    stops: rows of service
    """

    model = PlanDryer
    says: ClassVar = msg("{dryer} saved.", dryer="")

    turnaround = asked_field(
        "plan.dryer", "turnaround", stores="turnaround_h",
        label=lazy("From unloading until it can be loaded again"),
        help_text=lazy("For defrosting and cleaning, such as 3 h."),
    )  # fmt: skip

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        sent, rows = self.data if self.is_bound else None, stops_initial(self.seen.stops)
        self.stops = Stops(sent, prefix="stop", initial=rows, form_kwargs={"units": self.units})

    def is_valid(self) -> bool:
        """Return whether the dryer and each stop can be read."""
        return super().is_valid() and bool(self.stops.is_valid())

    def changes(self) -> dict[str, Any]:
        """Return the columns to write, when the engine takes such a dryer."""
        changes, kept = super().changes(), dict(enumerate(self.seen.stops))
        rows = [kept[number] if number in kept and row.came_back else row.stop()
                for number, row in enumerate(self.stops.forms)]  # fmt: skip
        changes["stops"] = sorted((stop for stop in rows if stop is not None), key=lambda stop: stop["from"])
        if problems := dryer_problems(self.with_changes(changes)):
            raise InputErrors(problems)
        return changes

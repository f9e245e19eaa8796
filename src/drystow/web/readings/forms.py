"""Forms of the readings: a file, how it is read, a channel, the address of live readings."""

from collections.abc import Sequence
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from drystow.messages import msg
from drystow.web.kit.forms import choose
from drystow.web.kit.reader import time_zones
from drystow.web.kit.record_forms import RecordForm
from drystow.web.readings.csvfile import DELIMITERS, MOST_BYTES, Column, CsvWay, ReadingPlan
from drystow.web.readings.models import Broker, Channel
from drystow.web.readings.quantities import QUANTITIES, UNITS
from drystow.web.readings.timestamps import ELAPSED, FORMATS
from drystow.web.readings.topics import check_pattern

MOST_TRAYS = 40


class FileForm(forms.Form):
    """A file of a logger."""

    file = forms.FileField(
        label=gettext_lazy("Logger file"),
        help_text=gettext_lazy(
            "CSV or text, from any data logger. Nothing is saved until you have seen how it is read."
        ),
    )

    def clean_file(self) -> bytes:
        """Return what is in the file."""
        file = self.cleaned_data["file"]
        if file.size > MOST_BYTES:
            most = MOST_BYTES // 1_000_000
            raise ValidationError(_("This is over {most} MB; split the file by month.").format(most=most))
        content: bytes = file.read()
        return content


class ReadingPlanForm(forms.Form):
    """How a file is read."""

    delimiter = forms.ChoiceField(label=gettext_lazy("Columns are separated by a"))
    decimal = forms.ChoiceField(label=gettext_lazy("Decimal mark"))
    head = forms.IntegerField(
        min_value=0,
        max_value=10_000,
        label=gettext_lazy("Line with the column names"),
        help_text=gettext_lazy("0 if there is none."),
    )
    time = forms.TypedChoiceField(coerce=int, label=gettext_lazy("Time column"))
    clock = forms.TypedChoiceField(
        coerce=int,
        label=gettext_lazy("Time of day in another column"),
        help_text=gettext_lazy("If the first one has only the date."),
    )
    format = forms.ChoiceField(label=gettext_lazy("Time format"))
    zone = forms.ChoiceField(choices=time_zones, label=gettext_lazy("Logger clock"))
    steady = forms.BooleanField(required=False, label=gettext_lazy("This clock is never changed for summer time"))
    start = forms.DateTimeField(
        required=False,
        label=gettext_lazy("Start time"),
        help_text=gettext_lazy("Only for times that count from the start."),
        widget=forms.DateTimeInput(attrs={"type": "datetime-local", "step": "1"}, format="%Y-%m-%dT%H:%M:%S"),
    )
    seen = forms.CharField(required=False, widget=forms.HiddenInput)
    leave_out = forms.BooleanField(required=False, label=gettext_lazy("Leave out what can’t be read"))

    def __init__(self, *arguments: Any, names: Sequence[str], **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.names = names
        columns = [(number, name[:60]) for number, name in enumerate(names)]
        choose(self, "delimiter", [(sign, _(str(words))) for sign, words in DELIMITERS.items()])
        choose(self, "decimal", [(".", _("point")), (",", _("comma"))])
        choose(self, "time", columns)
        choose(self, "clock", [(-1, _("no, it is in the same column")), *columns])
        formats = [(name, _(str(words))) for name, words in FORMATS.items()]
        choose(self, "format", [("", _("please choose")), *formats])
        quantities = [("", _("leave out")), *((name, _(str(one.words))) for name, one in QUANTITIES.items())]
        for number, name in columns:
            marks = {"aria-label": _("What {name} measures").format(name=name)}
            self.fields[f"q{number}"] = forms.ChoiceField(
                choices=quantities, required=False, widget=forms.Select(attrs=marks)
            )
            marks = {"aria-label": _("Tray of {name}").format(name=name)}
            self.fields[f"t{number}"] = forms.IntegerField(
                required=False, min_value=0, max_value=MOST_TRAYS, widget=forms.NumberInput(attrs=marks)
            )
            marks = {"aria-label": _("Unit of {name}").format(name=name)}
            units = [("", "–"), *((unit, unit) for unit in UNITS)]
            self.fields[f"u{number}"] = forms.ChoiceField(
                choices=units, required=False, widget=forms.Select(attrs=marks)
            )

    def clean(self) -> dict[str, Any]:
        """Check that what belongs together is there."""
        data: dict[str, Any] = super().clean() or {}
        if data.get("format") in ELAPSED and not data.get("start"):
            self.add_error("start", _("Times that count from the start need a start time."))
        for number, name in enumerate(self.names):
            quantity = data.get(f"q{number}")
            if quantity and not data.get(f"u{number}"):
                self.add_error(f"u{number}", _("Which unit is {name} in?").format(name=name))
            if quantity == "product" and not data.get(f"t{number}"):
                self.add_error(f"t{number}", _("Which tray is {name} on?").format(name=name))
        return data

    def plan(self) -> ReadingPlan:
        """Return what the person chose."""
        data = self.cleaned_data
        columns = tuple(
            Column(
                number,
                name,
                data.get(f"q{number}") or "",
                (data.get(f"t{number}") or 0) if data.get(f"q{number}") == "product" else 0,
                data.get(f"u{number}") or "",
            )
            for number, name in enumerate(self.names)
        )
        return ReadingPlan(self.way(), data["time"], data["clock"], data["format"], False, columns)

    def way(self) -> CsvWay:
        """Return delimiter, decimal sign and head."""
        return CsvWay(self.cleaned_data["delimiter"], self.cleaned_data["decimal"], self.cleaned_data["head"])

    def zone_info(self) -> ZoneInfo:
        """Return the zone of the logger."""
        return ZoneInfo(self.cleaned_data["zone"])

    def rows(self) -> list[tuple[str, Any, Any, Any]]:
        """Return name, quantity, tray and unit of every column that is no time."""
        return [
            (name, self[f"q{number}"], self[f"t{number}"], self[f"u{number}"]) for number, name in enumerate(self.names)
        ]


def plan_initial(plan: ReadingPlan, zone: str) -> dict[str, Any]:
    """Return what stands in the form for a plan."""
    values: dict[str, Any] = {
        "delimiter": plan.way.delimiter,
        "decimal": plan.way.decimal,
        "head": plan.way.head,
        "time": plan.time,
        "clock": plan.clock,
        "format": "" if plan.ask else plan.format,
        "zone": zone,
        "seen": seen_way(plan.way),
    }
    for column in plan.columns:
        values[f"q{column.number}"] = column.quantity
        values[f"t{column.number}"] = column.tray or None
        values[f"u{column.number}"] = column.unit
    return values


def seen_way(way: CsvWay) -> str:
    """Return the way for which the columns on the page were guessed."""
    return f"{ord(way.delimiter)} {ord(way.decimal)} {way.head}"


class ChannelForm(RecordForm[Channel]):
    """The name of a channel."""

    model = Channel
    says: ClassVar = msg("Name saved.")
    label = forms.CharField(max_length=80, required=False, label=gettext_lazy("Name"))


class BrokerForm(RecordForm[Broker]):
    """Where live readings come from."""

    model = Broker
    says: ClassVar = msg("Saved. Restart `drystow listen` for this to take effect.")
    host = forms.CharField(max_length=200, label=gettext_lazy("Host"))
    port = forms.IntegerField(min_value=1, max_value=65535, label=gettext_lazy("Port"))
    tls = forms.BooleanField(required=False, label=gettext_lazy("Encrypted (TLS)"))
    user = forms.CharField(max_length=80, required=False, label=gettext_lazy("User"))
    topic = forms.CharField(
        max_length=200,
        label=gettext_lazy("Topic"),
        help_text=gettext_lazy("With {dryer} and {quantity}, for example drystow/{dryer}/{quantity}."),
    )

    def changes(self) -> dict[str, Any]:
        """Return the columns to write, when the pattern of topics can be read."""
        check_pattern(self.cleaned_data["topic"])
        return super().changes()

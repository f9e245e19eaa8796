"""The tests of a machine: each step in plain words, and forms of what the gauge, the scale and the meter showed."""

from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as translated
from django.utils.translation import gettext_lazy as _
from django.utils.translation import gettext_noop as later

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError
from drystow.machine.profile import machine_of
from drystow.messages import msg
from drystow.numerals import read_number
from drystow.shown import quantity
from drystow.units import parse
from drystow.web.dryers.machine_adapters import air_pressure, finding_of, last_leak, values_json
from drystow.web.dryers.models import MachineTest
from drystow.web.kit.forms import KITCHEN_UNITS, QuantityField, reader_language, stored
from drystow.web.kit.record_forms import RecordForm
from drystow.web.kit.records import kitchen
from drystow.web.kit.words import in_words

MOST_LINES, MOST_TRAYS = 500, 14
COLD, WARM = ZERO_CELSIUS - 90.0, ZERO_CELSIUS + 80.0


class MachineForm(RecordForm[MachineTest]):
    """What every test has: its day and a note."""

    model = MachineTest
    says: ClassVar = msg("Test saved.")
    on = forms.DateField(label=_("Day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    notes = forms.CharField(required=False, max_length=2000, label=_("Notes"))

    def clean_on(self) -> Any:
        """Return a day up to today."""
        day = self.cleaned_data["on"]
        if day > timezone.localdate():
            raise ValidationError(translated("This is in the future; enter when it happened."))
        return day

    def data_of(self) -> dict[str, Any]:
        """Return the readings as a test keeps them."""
        raise NotImplementedError

    def changes(self) -> dict[str, Any]:
        """Return the columns to write: what was read and what it gives."""
        readings, row = self.data_of(), self.row
        leak = last_leak(row.dryer) if row.kind == "pump" else None
        finding = finding_of(row.kind, readings, machine_of(row.dryer.profile, row.dryer.numbers), leak)
        found = {"readings": readings, "values": values_json(finding), "verdict": finding.verdict}
        return super().changes() | found


class CurveForm(MachineForm):
    """Pressures over time, a line for each reading."""

    readings = stored(None, forms.CharField(
        max_length=20_000, label=_("Readings: minutes and pressure, one pair per line"),
        widget=forms.Textarea({"rows": 8, "spellcheck": "false", "autocomplete": "off"}),
    ))  # fmt: skip

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.fields["readings"].help_text = translated("Such as: 5 60. Numbers without a unit count as {unit}.").format(
            unit=self._unit
        )

    def clean_readings(self) -> list[tuple[float, float]]:
        """Return moments [s] and pressures [Pa]."""
        lines = [line.strip() for line in str(self.cleaned_data["readings"]).splitlines() if line.strip()]
        if len(lines) > MOST_LINES:
            raise ValidationError(translated("At most {count} lines.").format(count=MOST_LINES))
        return [self._reading(line) for line in lines]

    def _reading(self, line: str) -> tuple[float, float]:
        first, _gap, rest = line.replace(";", " ").replace("\t", " ").partition(" ")
        language = reader_language()
        try:
            whole, _colon, seconds = first.strip().partition(":")
            time = read_number(whole, language) * 60.0 + (read_number(seconds, language) if seconds else 0.0)
        except InputError:
            raise ValidationError(
                translated("Can’t read '{line}'; enter minutes and pressure, such as: 5 60").format(line=line[:60])
            ) from None
        try:
            return time, parse(rest.strip(), "pressure", "readings", self._unit, language)
        except InputError as problem:
            raise ValidationError(f"{line[:60]}: {in_words(problem.message)}") from None

    @property
    def _unit(self) -> str:
        return KITCHEN_UNITS["pressure"][self.units]

    def curve(self) -> dict[str, Any]:
        """Return times and pressures as a test keeps them."""
        rows = self.cleaned_data["readings"]
        return {"times": [time for time, _pressure in rows], "pressures": [pressure for _time, pressure in rows]}


class LeakForm(CurveForm):
    """The chamber shut, the pressure rising."""

    resolution = QuantityField("pressure", low=0.01, high=1000, label=_("Gauge reads to"), initial=1.0)
    ice = QuantityField(
        "temperature", low=COLD, high=ZERO_CELSIUS, required=False, label=_("Temperature of ice left on the trap"),
        help_text=_("Leave blank if dry, with no ice."),
    )  # fmt: skip

    def data_of(self) -> dict[str, Any]:
        """Return the readings as a test keeps them."""
        data = self.cleaned_data
        return self.curve() | {"resolution": data["resolution"], "ice": data["ice"]}


class PumpForm(CurveForm):
    """The pump empties the chamber."""

    def data_of(self) -> dict[str, Any]:
        """Return the readings as a test keeps them."""
        return self.curve() | {"start": air_pressure(kitchen().altitude_m)}


class PowerForm(MachineForm):
    """What the meter shows."""

    idle = QuantityField("power", low=0, high=1e4, label=_("Idle"))
    cooling = QuantityField("power", low=0, high=1e5, label=_("With compressor, trap cold"))
    trap = QuantityField("temperature", low=COLD, high=ZERO_CELSIUS + 10, label=_("Trap temperature then"))
    running = QuantityField("power", low=0, high=1e5, label=_("With the pump too, settled"))

    def data_of(self) -> dict[str, Any]:
        """Return the readings as a test keeps them."""
        return {name: self.cleaned_data[name] for name in ("idle", "cooling", "running", "trap")}


class IceForm(MachineForm):
    """Trays of ice before and after."""

    duration = QuantityField("time", low=1800, high=72 * 3600, label=_("Time under vacuum, shelf warm"))
    shelf = QuantityField("temperature", low=COLD, high=WARM, label=_("Shelf temperature"))
    pressure = QuantityField("pressure", low=1, high=500, label=_("Chamber pressure, average"))
    resolution = QuantityField(
        "small mass", low=1e-5, high=0.1, label=_("Scale reads to"), initial={"us": "0.05 oz", "si": "1 g"}
    )

    def __init__(self, *arguments: Any, row: MachineTest, **options: Any) -> None:
        trays = machine_of(row.dryer.profile, row.dryer.numbers).trays
        self.trays = range(1, min(trays, MOST_TRAYS) + 1)
        more = {}
        for number in self.trays:
            for when, words in (
                ("before", _("Tray {number}: ice before")),
                ("after", _("Tray {number}: ice after")),
            ):
                more[f"{when}_{number}"] = QuantityField(
                    "small mass", low=0.001, high=50, required=False, label=words.format(number=number)
                )
        self.base_fields = self.base_fields | more
        super().__init__(*arguments, row=row, **options)

    def clean(self) -> dict[str, Any]:
        """Say which weighing is missing."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        for number in self.trays:
            pair = [data.get(f"{when}_{number}") for when in ("before", "after")]
            if (pair[0] is None) != (pair[1] is None):
                missing = f"before_{number}" if pair[0] is None else f"after_{number}"
                if missing not in self.errors:
                    self.add_error(missing, translated("Enter both weights of this tray, or neither."))
        if not any(data.get(f"before_{number}") for number in self.trays) and not self.errors:
            self.add_error("before_1", translated("Enter the weights of at least one tray."))
        return data

    def data_of(self) -> dict[str, Any]:
        """Return the readings as a test keeps them."""
        data = self.cleaned_data
        rows = [
            [number, data[f"before_{number}"], data[f"after_{number}"]]
            for number in self.trays
            if data.get(f"before_{number}") is not None
        ]
        return {name: data[name] for name in ("duration", "shelf", "pressure", "resolution")} | {"trays": rows}


FORMS: dict[str, type[MachineForm]] = {"leak": LeakForm, "pump": PumpForm, "ice": IceForm, "power": PowerForm}


@dataclass(frozen=True)
class Guide:
    """How to do one test.

    title: of its page
    why: what it is good for
    takes: how long, and what is needed
    steps: in order
    """

    title: str
    why: str
    takes: str
    steps: tuple[str, ...]


GUIDES = {
    "leak": Guide(
        later("Leak test"),
        later("Shows how much air gets in through gasket, valve and hose. A leak makes every run longer and warmer."),
        later("One hour, a clock and the pressure gauge."),
        (
            later("Defrost, wipe the chamber dry and leave it empty. Ice or water in it looks like a leak."),
            later("Close the door and drain valve, start the pump, and run it until the pressure stops falling."),
            later("Close the valve to the pump. Without that valve you can’t do this test; use the pump-down test."),
            later("Write down the pressure at once (minute 0), then every few minutes for half an hour."),
            later("Let air in slowly before you turn the pump off, so no oil is drawn into the chamber."),
        ),
    ),
    "pump": Guide(
        later("Pump-down test"),
        later(
            "Shows how fast and how far the pump empties the chamber. Old oil, a blocked hose or a "
            "worn pump show up here."
        ),
        later("Half an hour, a clock and the pressure gauge."),
        (
            later("Run the pump warm for 15 minutes. The chamber is empty, dry and at room temperature."),
            later("Check the oil: clear, no foam, between the marks."),
            later(
                "With air in the chamber, close the door and drain valve, open the valve to the pump, "
                "and start the clock."
            ),
            later("Write down time and pressure as soon as the gauge shows a value, then every minute or two."),
            later("Keep going until the pressure stops falling. The last readings show how low the pump gets."),
        ),
    ),
    "ice": Guide(
        later("Ice test"),
        later("Shows how well heat gets from the shelf into each tray, the number that matters most for drying times."),
        later("One night and a few hours, the scale, water and all trays."),
        (
            msg(
                "Weigh the empty trays. Pour in water about {depth} deep, so it covers the whole tray, level.",
                depth=quantity(0.01, "length", 1, short=True),
            ),
            later("Freeze the trays through, weigh each one quickly, and put it back in its place."),
            later(
                "Start the vacuum and hold the shelves at one temperature, such as the freezing point of water, for "
                "three to six hours."
            ),
            later("Read the pressure several times and take the average. Aim to lose 5 to 50 percent of the ice."),
            later("Stop and weigh each tray at once. Enter what the ice weighed before and after, without the tray."),
        ),
    ),
    "power": Guide(
        later("Power test"),
        later("Shows what compressor and pump draw, for energy and cost, and reveals wear before they fail."),
        later("One hour and a plug-in power meter."),
        (
            later("Plug the meter in between socket and plug. The chamber is empty; leave the shelf heat off."),
            later("Turn the dryer on with nothing running. Read the idle power."),
            later("Start the compressor and wait until the trap is cold and steady. Read power and trap temperature."),
            later("Start the pump too and wait until the pressure is steady and the pump is warm. Read again."),
        ),
    ),
}

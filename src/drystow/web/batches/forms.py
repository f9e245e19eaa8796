"""Forms of a batch before the run: what it is, its food, its trays, its program."""

from typing import Any, ClassVar

from django import forms
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.errors import InputError
from drystow.machine.pieces import EDGED
from drystow.messages import msg
from drystow.properties.skin import has_skin
from drystow.shown import quantity
from drystow.units import celsius, kelvin
from drystow.web.batches.adapters import usual_program
from drystow.web.batches.models import PACKINGS, SHAPES, SKINS, SURFACES, WRAPPERS, Batch, Item
from drystow.web.dryers.models import Dryer
from drystow.web.foods.spec import check_it_dries, food_of
from drystow.web.kit.forms import CostField, KitchenForm, QuantityField, asked_field, money_field, stored
from drystow.web.kit.record_forms import RecordForm, Row
from drystow.web.kit.words import in_words, later_words

MOST_STEPS = 12
COOL, FROZEN = 4.0, -18.0  # food that goes in fresh or frozen when nobody says how cold it is [°C]


def next_lot() -> str:
    """Return a lot number that is free: the date and a count."""
    day = timezone.localtime().strftime("%y%m%d")
    taken = set(Batch.objects.filter(lot__startswith=f"{day}-").values_list("lot", flat=True))
    return next(lot for lot in (f"{day}-{number}" for number in range(1, 10_000)) if lot not in taken)


class BatchForm(RecordForm[Batch]):
    """What a batch is called and where it dries."""

    model = Batch
    says: ClassVar = msg("Batch saved.")
    says_of_new: ClassVar = msg("Batch started.")

    title = forms.CharField(
        max_length=120, label=lazy("What are you drying?"), help_text=lazy("For example: spring stews")
    )
    dryer = forms.ModelChoiceField(Dryer.objects.kept().order_by("name"), label=lazy("Dryer"), empty_label=None)
    lot = forms.CharField(max_length=20, label=lazy("Lot number"), help_text=lazy("Printed on every label."))
    notes = forms.CharField(required=False, max_length=2000, label=lazy("Notes"), widget=forms.Textarea({"rows": 3}))

    def clean_lot(self) -> str:
        """Return the lot number when no other batch, binned ones included, has it."""
        lot = str(self.cleaned_data["lot"])
        if Batch.objects.filter(lot=lot).exclude(pk=self.row.pk).exists():
            raise forms.ValidationError(_("Lot {lot} is taken; {free} is free.").format(lot=lot, free=next_lot()))
        return lot

    def changes(self) -> dict[str, Any]:
        """Return the columns to write; a new batch has the usual program of its dryer."""
        program = {"program": usual_program(self.cleaned_data["dryer"])} if self.new else {}
        return super().changes() | program

    def advice(self, row: Batch) -> str:
        """Return what comes next."""
        return msg("Now fill the basket.") if self.new else ""


class ItemForm(RecordForm[Item]):
    """A food of the basket and how it is cut."""

    model = Item
    engine_names: ClassVar = {"food": ""}
    says_of_new: ClassVar = msg("{name} is in the basket.", name="")

    food = stored(None, forms.CharField(max_length=140, widget=forms.HiddenInput))
    mass = asked_field(
        "tray",
        "mass",
        stores="mass_kg",
        label=lazy("How much"),
        help_text=later_words(msg("For example: {example}", example=quantity(0.8165, "mass", 1))),
    )
    shape = forms.ChoiceField(choices=SHAPES, label=lazy("Shape"))
    size = asked_field(
        "tray", "size", stores="size_m", label=lazy("Thickness or diameter"),
        help_text=later_words(msg("For example: {example}", example=quantity(0.0127, "length"))),
    )  # fmt: skip
    width = asked_field(
        "tray", "width", required=False, stores="width_m", label=lazy("Width of a piece"),
        help_text=lazy("Layers and sticks: then their edges dry, too. For round slices the diameter."),
    )  # fmt: skip
    length = asked_field(
        "tray", "length", required=False, stores="length_m", label=lazy("Length of a piece"),
        help_text=lazy("Leave blank for round slices."),
    )  # fmt: skip
    packing = forms.ChoiceField(choices=PACKINGS, required=False, initial="", label=lazy("How the pieces lie"))
    lies_on = forms.ChoiceField(choices=SURFACES, required=False, label=lazy("It lies"), initial="tray")
    wrapper = forms.ChoiceField(choices=WRAPPERS, required=False, label=lazy("It is in"), initial="none")
    opening = asked_field(
        "tray", "opening", required=False, label=lazy("Open share of the wrapper"),
        help_text=lazy("Leave blank for a usual slit, or cups without a lid."),
    )  # fmt: skip
    wrapper_mass = asked_field(
        "tray", "wrapper_mass", required=False, stores="wrapper_kg", label=lazy("Weight of all its wrappers"),
        help_text=lazy("It is not part of the weight of the food."),
    )  # fmt: skip
    skin_state = forms.ChoiceField(
        required=False, choices=(("", lazy("as usual")), *SKINS), label=lazy("Its skin"),
        help_text=lazy("A whole skin traps vapor: halve it or prick the skin."),
    )  # fmt: skip
    frozen = forms.BooleanField(required=False, label=lazy("Loaded frozen"))
    start_c = asked_field(
        "tray", "start_temperature", required=False, label=lazy("Temperature when loaded"),
        help_text=lazy("Leave blank for refrigerator-cold, or freezer-cold if frozen."),
    )  # fmt: skip
    target = asked_field(
        "tray", "final_moisture", required=False, stores="target_moisture", label=lazy("Target moisture"),
        help_text=lazy("Leave blank for the usual target."),
    )  # fmt: skip
    price = money_field(CostField, required=False, min_value=0, max_value=1e6, label=lazy("What you paid"))
    shop_price = money_field(required=False, min_value=0, max_value=1e6, label=lazy("Store price for this much, dried"))
    prepared = forms.CharField(
        required=False, max_length=200, label=lazy("How you prepared it"),
        help_text=lazy("For example: blanched 3 min, lemon dip"),
    )  # fmt: skip

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        if not _has_skin(self.row.food):
            del self.fields["skin_state"]

    def start(self, row: Item) -> dict[str, Any]:
        """Return what the form shows of a food; nothing for the temperature where it is the usual one."""
        usual = {"start_c": None} if row.start_c == (FROZEN if row.frozen else COOL) else {}
        return super().start(row) | {"food": row.food} | usual

    def changes(self) -> dict[str, Any]:
        """Return the columns to write: what is no layer dries all around, what is not written is as cold as usual."""
        if self.new:
            check_it_dries(self.row.food)
        data, more = self.cleaned_data, dict[str, Any]()
        more |= {"lies_on": data["lies_on"] or "tray", "wrapper": data["wrapper"] or "none"}
        if data["shape"] not in EDGED:
            more |= {"width_m": None, "length_m": None}
        if more["wrapper"] == "none":
            more |= {"opening": None, "wrapper_kg": None}
        if data["start_c"] is None:
            more["start_c"] = FROZEN if data["frozen"] else COOL
        written = super().changes() | more
        return {name: value for name, value in written.items() if self.new or value != getattr(self.seen, name)}


def _has_skin(ref: str) -> bool:
    """Return whether a skin can hold back the vapor of a food of the basket."""
    try:
        return has_skin(food_of(ref))
    except InputError:
        return False


class LoadTrayForm(KitchenForm):
    """Food on a tray: so much, or all that is left when no mass is given."""

    item = forms.IntegerField(widget=forms.HiddenInput)
    tray = forms.IntegerField(min_value=1, max_value=100)
    mass = asked_field("tray", "mass", required=False, label=lazy("How much"))


class MoveFoodForm(KitchenForm):
    """Food from one tray to another: so much, or all of it when no mass is given."""

    load = forms.IntegerField(widget=forms.HiddenInput)
    tray = forms.IntegerField(min_value=1, max_value=100, label=lazy("Move to tray"))
    mass = asked_field("tray", "mass", required=False, label=lazy("How much"))


class StepForm(KitchenForm):
    """One step of the shelf program; a step without hours lasts until the food is dry."""

    shelf = asked_field("program", "shelf", required=False, label=lazy("Shelf"))
    hours = QuantityField("time", low=60, high=480 * 3600, required=False, label=lazy("How long"))

    def clean(self) -> dict[str, Any]:
        """Return the data when hours come with a temperature."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if data.get("hours") is not None and data.get("shelf") is None and "shelf" not in self.errors:
            self.add_error(
                "shelf",
                in_words(
                    msg(
                        "Enter the shelf temperature of this step, such as {shelf}.",
                        shelf=quantity(313.15, "temperature"),
                    )
                ),
            )
        return data

    def step(self) -> dict[str, float | None] | None:
        """Return the step, None when the row is empty."""
        shelf, time = self.cleaned_data.get("shelf"), self.cleaned_data.get("hours")
        if shelf is None:
            return None
        return {"shelf_c": round(celsius(shelf), 2), "hours": None if time is None else round(time / 3600, 4)}


Steps = forms.formset_factory(StepForm, extra=1, max_num=MOST_STEPS, absolute_max=MOST_STEPS)


def with_addresses(steps: Any, name: str, *numbers: int) -> Any:
    """Return the rows of a shelf program, each with the address that saves the program without it.

    name: of that address, which ends in the number of the row
    numbers: before it
    """
    for number, row in enumerate(steps.forms):
        row.without = reverse(name, args=[*numbers, number])
    return steps


def steps_initial(program: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return what the rows of a shelf program show."""
    return [
        {"shelf": kelvin(step["shelf_c"]), "hours": None if step["hours"] is None else step["hours"] * 3600.0}
        for step in program
    ]


class ShelfForm(RecordForm[Row]):
    """A form of a row with a shelf program.

    program: as it was seen
    steps: its rows
    without: number of a row to be left out
    """

    def __init__(self, *arguments: Any, without: int | None = None, **options: Any) -> None:
        super().__init__(*arguments, **options)
        seen: Any = self.seen
        self.without, self.program = without, seen.program
        rows = steps_initial(self.program)
        sent = self.data if self.is_bound else None
        self.steps = Steps(sent, prefix="step", initial=rows, form_kwargs={"units": self.units})

    def is_valid(self) -> bool:
        """Return whether the row and each step of its program can be read."""
        return super().is_valid() and bool(self.steps.is_valid())

    def changes(self) -> dict[str, Any]:
        """Return the columns to write: a step that nobody touched stays exactly as it is."""
        kept = dict(enumerate(self.program))
        rows = {number: row.step() for number, row in enumerate(self.steps.forms) if number != self.without}
        same = {number for number in rows if number in kept and self.steps.forms[number].came_back}
        program = [kept[number] if number in same else step for number, step in rows.items() if step is not None]
        if not program:
            words = msg("A program needs at least one step: a shelf temperature, and hours or “until dry”.")
            raise InputError("", words)
        if any(step["hours"] is None for step in program[:-1]):
            raise InputError("", msg("Only the last step can run until dry; enter hours for the others."))
        return super().changes() | {"program": program}


class ProgramForm(ShelfForm[Batch]):
    """The shelf program of a batch, and where its food is frozen."""

    model = Batch
    says: ClassVar = msg("Program saved.")

    freezer = forms.ChoiceField(choices=Batch.FREEZERS, label=lazy("Frozen"))

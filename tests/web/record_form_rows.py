"""A row for every record form, begun or kept, with all that its form needs beside what a person types."""

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.forms import CheckboxInput
from django.http import QueryDict
from django.urls import get_resolver

from drystow.foods.table import get
from drystow.packing.containers import containers
from drystow.web.batches.models import Batch, Happening, Item, PressureRise, Sample, Weighing
from drystow.web.dryers.models import Dryer, MachineTest, Service
from drystow.web.foods.models import OwnFood, Recipe
from drystow.web.kit import records
from drystow.web.kit.models import Kitchen
from drystow.web.kit.record_forms import RecordForm
from drystow.web.pantry.models import Package, Place
from drystow.web.plans.models import Plan, Season
from drystow.web.readings.models import Broker, Channel
from tests.web import made_rows as plan_rows
from tests.web import pantry_rows, season_rows
from tests.web.batch_rows import a_batch, an_item

DAY, NOON = date(2026, 3, 14), datetime(2026, 3, 14, 12, tzinfo=UTC)
Case = tuple[Any, dict[str, Any], dict[str, str]]
"""A row, options of its form, and what a person types into fields that the row leaves empty."""


def a_dryer() -> Dryer:
    name = f"Bench {count}" if (count := Dryer.objects.count()) else "Bench"
    return records.create(Dryer(name=name, profile="bench-4", numbers={"trays": 3, "heater_power": 812.3456789}))


def a_test(kind: str) -> MachineTest:
    found = {"verdict": "good", "readings": {"times": [0.0]}, "values": {"leak": [1e-4, 2e-4, 3e-4]}}
    return records.create(MachineTest(dryer=a_dryer(), kind=kind, on=DAY, **found))


CURVE = {"readings": "0 60\n5 62\n10 64\n20 68", "resolution": "1 mTorr"}
PUMPED = {"readings": "1 90000 Pa\n2 8000 Pa\n3 700 Pa\n5 60 Pa\n8 20 Pa\n12 15 Pa\n20 15 Pa"}
POWER = {"idle": "40 W", "cooling": "700 W", "trap": "-30 °C", "running": "1100 W"}
ICE = {
    "duration": "4 h",
    "shelf": "0 °C",
    "pressure": "40 Pa",
    "resolution": "1 g",
    "before_1": "1000 g",
    "after_1": "800 g",
}


MOISTURE = {"like": "Apples, raw, without skin", "moisture": "80%", "moisture_sd": "1%", "moisture_from": "oven"}
LABEL = {"amount": "100 g", "protein": "1", "fat": "0", "carbohydrate": "20"}


def own_food(way: str) -> OwnFood:
    water = {"water": 0.7812345, "carbohydrate": 0.2087655, "ash": 0.01}
    rest = {"moisture_sd": 0.0123456, "moisture_from": "oven", "entered": {"way": way}, "food_class": "fruit"}
    return records.create(OwnFood(name="Quinces", composition=water, raw_animal=False, allergens=[], **rest))


def a_recipe() -> Recipe:
    carrots = get("Carrots, raw")
    lines = [{"food": carrots.id, "name": carrots.name, "mass_kg": 1.23456789}]
    return records.create(Recipe(name="Soup", servings=3.5, final_mass_kg=1.98765432, ingredients=lines, like=[]))


def a_package() -> Package:
    where = {"place": pantry_rows.place(), "container": next(iter(containers())), "packed_on": DAY, "lot": "H260314"}
    return Package(name="Quinces", food="unknown", net_mass_kg=0.123456789, **where)


def kept_package(**values: Any) -> Package:
    return pantry_rows.package(pantry_rows.place("Cellar"), **values)


def a_channel() -> Channel:
    return records.create(Channel(dryer=a_dryer(), quantity="pressure", unit="Pa", source="pressure"))


def a_running_batch() -> Batch:
    batch = a_batch(started_at=NOON, stage="running")
    return Batch.objects.get(pk=batch.pk)


def a_done_batch() -> Batch:
    return a_batch(stage="done", energy_kwh=12.3456789, packaging_cost=3.25, servings=7.5, servings_each=True)


def seen(model: Any, **values: Any) -> Any:
    """Something that was seen, with its second."""
    return model.objects.create(batch=a_running_batch(), at=NOON + timedelta(hours=3, seconds=17), **values)


IN_GRAMS = {"gross_g": 1234.56789, "tare_g": 567.8901234, "resolution_g": 0.1234}
BY_THE_HOUR: dict[str, Any] = {
    "home": {"daily": ["6:30-8:30", "17-22"], "sunday": []},
    "tariff": {"price": 0.2345678, "hours": [{"days": "weekend", "span": "16-21", "price": 0.3456789}]},
    "apart": ["smells", "made up"],
}
ON_TRAY = {"trays": [1, 2]}


def a_kitchen() -> Kitchen:
    return records.change(records.kitchen(), {"people": 4}, expected=1)


def an_own_item() -> Item:
    cut = {"size_m": 0.0123456789, "start_c": 6.789012, "target_moisture": 0.0345678, "price": 4.5}
    return an_item(a_batch(), mass_kg=1.23456789, **cut)


ODD_PROGRAM = [{"shelf_c": -10.123456, "hours": 2.3456789}, {"shelf_c": 40.654321, "hours": None}]


def a_plan_dryer() -> Any:
    stop = {"from": "2026-03-14T08:00:17", "to": "2026-03-14T12:00:00"}
    row = plan_rows.a_plan().dryers.get()
    return records.change(
        row, {"program": ODD_PROGRAM, "turnaround_h": 3.1234567, "stops": [stop]}, expected=row.version
    )


CASES: dict[str, Callable[[], Case]] = {
    "batches.forms.ProgramForm": lambda: (a_batch(program=ODD_PROGRAM), {}, {}),
    "plans.planforms.PlanDryerForm": lambda: (a_plan_dryer(), {}, {}),
    "batches.forms.BatchForm": lambda: (a_batch(notes="Two\nlines"), {}, {}),
    "batches.forms.ItemForm": lambda: (an_own_item(), {}, {}),
    "site.views.settings.SettingsForm": lambda: (a_kitchen(), {}, {}),
    "dryers.forms.DryerForm": lambda: (a_dryer(), {}, {}),
    "dryers.forms.MeasuredForm": lambda: (a_dryer(), {"day": DAY, "numbers": {"leak": 1e-4}}, {}),
    "dryers.forms.ServiceForm": lambda: (
        records.create(Service(dryer=a_dryer(), kind="leak", on=DAY, value=1.23456789e-3)), {}, {}
    ),
    "dryers.machine_forms.LeakForm": lambda: (a_test("leak"), {}, CURVE),
    "dryers.machine_forms.PumpForm": lambda: (a_test("pump"), {}, PUMPED),
    "dryers.machine_forms.IceForm": lambda: (a_test("ice"), {}, ICE),
    "dryers.machine_forms.PowerForm": lambda: (a_test("power"), {}, POWER),
    "foods.forms.FoodLabelForm": lambda: (own_food("label"), {}, LABEL),
    "foods.forms.MoistureForm": lambda: (
        own_food("moisture"), {}, MOISTURE
    ),
    "foods.forms.RecipeForm": lambda: (a_recipe(), {}, {}),
    "batches.runforms.WeighingForm": lambda: (
        seen(Weighing, tray=1, outside_min=3.7, step_written=True, **IN_GRAMS), ON_TRAY, {}
    ),
    "batches.runforms.SampleForm": lambda: (
        seen(Sample, tray=2, kind="oven", before_g=12.3456789, after_g=11.1234567, resolution_g=0.0123), ON_TRAY, {}
    ),
    "batches.runforms.RiseForm": lambda: (
        seen(PressureRise, seconds=61.5, before_pa=12.3456789, after_pa=23.4567891), {}, {}
    ),
    "batches.runforms.CoreForm": lambda: (
        Happening(batch=a_running_batch(), kind="core", at=NOON), ON_TRAY, {"tray": "1", "inside": "dry"}
    ),
    "batches.runforms.HappeningForm": lambda: (
        Happening(batch=a_running_batch(), at=NOON, text="door sticks", room_c=21.2345678, kind="door"), {}, {}
    ),
    "batches.runforms.EndForm": lambda: (a_running_batch(), {}, {"at": "2026-03-15T12:00"}),
    "batches.runforms.BeganForm": lambda: (a_running_batch(), {}, {"at": "2026-03-14T13:00"}),
    "packing.forms.ServingsForm": lambda: (a_done_batch(), {}, {}),
    "packing.forms.DoneForm": lambda: (a_done_batch(), {}, {}),
    "packing.forms.FinishForm": lambda: (a_done_batch(), {}, {}),
    "plans.planforms.PlanForm": lambda: (plan_rows.a_plan(freezer_m3=0.0612345, **BY_THE_HOUR), {}, {}),
    "plans.views.about.NewPlanForm": lambda: (
        Plan(title="Harvest", begin=DAY, **BY_THE_HOUR), {"dryers": []}, {}
    ),
    "season.views.NewSeasonForm": lambda: (Season(title="Garden", begin=DAY, **BY_THE_HOUR), {}, {}),
    "season.forms.SeasonForm": lambda: (season_rows.a_season(freezer_m3=0.0612345, **BY_THE_HOUR), {}, {}),
    "plans.lotforms.LotForm": lambda: (
        plan_rows.a_lot(
            plan_rows.a_plan(), mass_kg=2.3456789, size_m=0.0123456, tray_kg=0.5678912, value_per_kg=3.4567891,
            fridge_days=2.5, freezer_days=30.0, drying_h=20.1234567, arrives=plan_rows.at(0, 9).replace(second=17),
        ),
        {"food": plan_rows.BERRIES, "dryers": [], "names": []}, {},
    ),
    "season.forms.CropForm": lambda: (
        season_rows.a_crop(
            season_rows.a_season(), mass_kg=123.456789, uncertain=0.2345678, size_m=0.0123456, value_per_kg=3.4567891,
            tray_kg=0.9876543,
        ), {"usual_name": "Green beans"}, {}
    ),
    "season.forms.ChoiceForm": lambda: (
        season_rows.a_choice(season_rows.a_season(), price=2499.5, years=7.5), {"dryers": []}, {}
    ),
    "readings.forms.BrokerForm": lambda: (records.create(Broker(host="broker.local")), {}, {}),
    "readings.forms.ChannelForm": lambda: (a_channel(), {}, {}),
    "pantry.forms.PlaceForm": lambda: (
        records.create(Place(name="Cellar", temperature_c=15.5678901, winter_c=7.1234567, humidity=0.6543219)), {}, {}
    ),
    "pantry.forms.PartForm": lambda: (kept_package(), {}, {"mass": "10 g"}),
    "pantry.forms.GiveForm": lambda: (kept_package(), {}, {"share": "0.5", "to": "the school"}),
    "pantry.forms.DiscardForm": lambda: (kept_package(), {}, {"share": "1", "note": "smelled off"}),
    "pantry.forms.MovePackageForm": lambda: (kept_package(), {}, {"place": str(pantry_rows.place("Attic").pk)}),
    "pantry.forms.OpenForm": lambda: (kept_package(), {}, {}),
    "pantry.forms.ReckonForm": lambda: (kept_package(best_before=DAY), {}, {}),
    "pantry.forms.MistakenForm": lambda: (kept_package(), {}, {}),
    "pantry.forms.AddForm": lambda: (a_package(), {"food": None}, {"count": "1"}),
}  # fmt: skip
"""Form, by its place below ``drystow.web``."""


OF_A_PACKAGE = ("Part", "Give", "Discard", "MovePackage", "Open", "Reckon", "Mistaken")
EDITS = {
    *("site.views.settings.SettingsForm", "batches.forms.ProgramForm", "plans.planforms.PlanDryerForm"),
    *(f"packing.forms.{name}Form" for name in ("Servings", "Done", "Finish")),
    *(
        "plans.planforms.PlanForm",
        "season.forms.SeasonForm",
        "readings.forms.ChannelForm",
        "batches.runforms.EndForm",
        "batches.runforms.BeganForm",
    ),
    *(f"pantry.forms.{name}Form" for name in OF_A_PACKAGE),
}
"""Forms that only change a row that is there."""
MORE = {
    "packing.forms.ServingsForm": {"servings": "9"},
    "batches.forms.ProgramForm": {"step-1-shelf": "43 °C"},
    "plans.planforms.PlanDryerForm": {"turnaround": "5 h"},
}
"""What a person changes in forms without a name, notes or a label."""


def record_forms() -> dict[str, type[RecordForm]]:
    """Every form of a record that a page uses, by its place; a base of others where it is tried itself."""
    assert get_resolver().url_patterns  # which read every form

    def below(form: type[RecordForm]) -> Iterator[type[RecordForm]]:
        for one in form.__subclasses__():
            yield one
            yield from below(one)

    found = {f"{form.__module__}.{form.__name__}".removeprefix("drystow.web."): form for form in below(RecordForm)}
    return {place: form for place, form in found.items() if place in CASES or not form.__subclasses__()}


def _rows(rows: Any) -> list[Any]:
    return [] if rows is None else [rows.management_form, *rows.forms]


def sent_back(form: Any, **typed: str) -> QueryDict:
    """What a browser sends of a form that nobody touched, with some fields typed."""
    data = QueryDict(mutable=True)
    rows = [row for name in ("prices", "steps", "stops") for row in _rows(getattr(form, name, None))]
    for part in (form, *getattr(form, "lines", ()), *rows):
        for field in part:
            shown = field.field.widget.format_value(field.value())
            if isinstance(field.field.widget, CheckboxInput):
                shown = "on" if field.value() else None
            if shown is not None:
                data.setlist(field.html_name, shown if isinstance(shown, list) else [str(shown)])
    for name, text in typed.items():
        data[name] = text
    return data

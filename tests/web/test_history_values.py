"""No value of any record is shown as the database has it: every column of every kind, as a cook reads it."""

import re
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import translation

from drystow.foods import table
from drystow.messages import msg
from drystow.ranges import RANGES
from drystow.web.dryers.adapters import MAIN_NUMBERS
from drystow.web.dryers.machine_adapters import NUMBER_WORDS, VALUE_WORDS
from drystow.web.foods.models import OwnFood
from drystow.web.kit import records
from drystow.web.kit.differences import HIDDEN, names_of, record_kinds, tell, value_words
from drystow.web.kit.display_names import KEY_NAMES
from drystow.web.kit.kept_values import Teller
from drystow.web.kit.models import Change
from drystow.web.kit.reader import reading_in
from drystow.web.kit.words import sentence_json
from drystow.web.plans.planforms import APART, DAYS
from tests.web.batch_rows import BERRIES, a_batch, an_item
from tests.web.made_rows import a_plan

RAW = re.compile(
    r"\w_\w|\b\d{4}-\d\d-\d\d|\bNone\b|\bnull\b|\bf\d{5}\b|\b(own|recipe):\d|degC|m\^[23]|[{}\[\]]|True|False"
    r"|\bbench-\d|jar-quart|letter-\dx|(?<![\d.,])0(\.0+)? oz|\b(mass|tare|shelf c|tray kg|profile|bin|lots?)\b",
    re.IGNORECASE,
)
"""What no value may look like: keys, days of files, references, ids, old words, lost weights."""

PROGRAM = [{"shelf_c": -10.0, "hours": 2.0}, {"shelf_c": 45.0, "hours": None}]
HOME = {"weekdays": ["6:30-8:30", "17-22"], "weekend": ["7-23"]}
TARIFF = {"price": 0.1735, "hours": [{"days": "weekdays", "span": "17-21", "price": 0.32}]}
JSON: dict[str, list[Any]] = {
    "batches.batch.program": [PROGRAM],
    "batches.batch.prediction": [
        {"total_h": {"p10": 15.2, "p50": 17.1, "p90": 19.8}, "energy_kwh": 12.4, "drying_start_h": 3.0,
         "trays": [{"tray": 1, "item": 3, "name": "Kale", "dry_end_h": 15.4, "p10": 14.0, "p90": 17.0, "dry_kg": 0.1}]},
    ],
    "batches.batch.extra": [{"freeze_to": 248.15, "overload": True}],
    "batches.item.extra": [
        {"ice_mass": 0.4, "like": "fruit", "area": 0.05},
        {"dried_layer": {"R0": 1e4, "A1": 5e7, "A2": 0.0, "conductivity": 0.03}},
        {"heat": {"contact": 22.0, "above": 4.0, "frozen_conductivity": 2.0, "bulk_density": 850.0, "ice_mass": 0.9}},
        {"areas": {"outer": 0.5, "contact": 0.1, "above": 0.25}},
    ],
    "batches.unproved.found": [sentence_json(msg("tray {tray}", tray=2))],
    "dryers.dryer.numbers": [{"leak": 0.001, "trays": 4, "chamber_volume": 0.052, "above": 2.5}],
    "dryers.machinetest.readings": [
        {"times": [0.0, 300.0], "pressures": [20.0, 31.0], "resolution": 1.0, "ice": None},
        {"idle": 3.0, "cooling": 410.0, "running": 890.0, "trap": 233.15},
        {"duration": 14400.0, "shelf": 273.15, "pressure": 55.0, "resolution": 0.001, "trays": [[1, 1.5, 1.2]]},
    ],
    "dryers.machinetest.values": [
        {"leak": [0.001, 0.002, 0.003]}, {"tray 1": [10.0, 12.0, 13.0], "mean": [10.0, 12.0, 13.0]},
    ],
    "foods.ownfood.composition": [{"water": 0.88, "fibre": 0.032, "protein": 0.007}],
    "foods.ownfood.allergens": [["milk", "not stated"]],
    "foods.ownfood.like": [["cooked", "carrot"]],
    "foods.recipe.like": [["with onion"]],
    "foods.ownfood.nutrients": [{"energy_kcal": 107.0, "protein_g": 5.6, "sodium_mg": 310.0}],
    "foods.recipe.ingredients": [[{"food": BERRIES.id, "name": "Blueberries", "mass_kg": 0.0004}]],
    "pantry.package.allergens": [["milk"]],
    "plans.booked.lots": [[{"lot": 999, "item": 999, "trays": 3, "mass_kg": 2.2, "frozen": False}]],
    "plans.choice.dryers": [[{"dryer": 999}, {"profile": "bench-4"}]],
    "plans.lot.extra": [
        {"arrives_on": "2027-09-05", "needed_by": "2027-09-05T19:12"},
        {"faces": 2, "final_moisture": 0.025, "start_temperature": 277.15, "volume": 1.5, "dryers": [999]},
    ],
    "plans.plan.home": [HOME, {"daily": []}],
    "plans.plan.tariff": [TARIFF],
    "plans.plan.apart": [["smells", "colours"]],
    "plans.plan.extra": [{"last_day": None, "step": 3600.0, "begin_time": "12:00:00"}],
    "plans.plandryer.program": [PROGRAM],
    "plans.plandryer.stops": [[{"from": "2027-09-05T08:00", "to": "2027-09-06T12:30"}]],
    "plans.plandryer.extra": [{"freeze_to": 248.15, "freeze": "household freezer"}],
    "plans.season.home": [HOME],
    "plans.season.tariff": [TARIFF],
    "plans.season.apart": [["allergens"]],
    "site.kitchen.own_sheet": [
        {"page_width": 0.2159, "label_width": 0.0667, "rows": 10, "columns": 3, "paper": "letter", "corner": 0.0},
    ],
}  # fmt: skip
"""What is kept as a table in one column, as pages write it; a new such column needs its example here."""

TEXTS = {"food": [BERRIES.id, "own:999", "recipe:999"], "label_sheet": ["letter-3x10", "own"],
         "container": ["jar-quart"],
         "time_zone": ["America/New_York"], "profile": ["bench-4"]}  # fmt: skip
ADDRESSES = ("readings.broker.topic", "readings.broker.client", "readings.channel.source")
"""Names that somebody else's program gave."""

NUMBERS = {
    "coldest_month": [1],
    "trays": [3],
    "chance": [0.4],
    "mass_kg": [1.6, 0.0004],
    "resolution_g": [1.0, 0.01, 0.001],
}
TYPES = {"CharField": "Apricots", "TextField": "Dark shelf", "DateField": "2027-09-05", "BooleanField": True,
         "DateTimeField": "2027-09-05T19:12:00Z", "FileField": "photos/2026/11/one.jpg"}  # fmt: skip


def _examples(kind: str, field: Any) -> list[Any]:
    whole = f"{kind}.{field.name}"
    if field.get_internal_type() in ("JSONField",) or whole in JSON:
        return JSON[whole]
    if field.related_model is not None:
        return [999]
    if field.choices and field.name != "profile":
        return [value for value, _words in field.flatchoices]
    if field.name in TEXTS:
        return TEXTS[field.name]
    if field.get_internal_type() in TYPES:
        return [TYPES[field.get_internal_type()]]
    return NUMBERS.get(field.name, [2] if "Integer" in field.get_internal_type() else [0.25, 12.0])


COLUMNS = [
    (kind, field)
    for kind, model in sorted(record_kinds().items())
    for field in model._meta.concrete_fields
    if field.name not in HIDDEN and f"{kind}.{field.name}" not in ADDRESSES
]


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_no_column_of_any_record_shows_what_only_files_say(client: Client, units: str, language: str) -> None:
    raw = {}
    with translation.override(language), reading_in(units):
        for kind, field in COLUMNS:
            for value in _examples(kind, field):
                words = value_words(record_kinds()[kind], field.name, value, units)
                if RAW.search(words) or not words:
                    raw[f"{kind}.{field.name} {value}"] = words
    assert raw == {}


@pytest.mark.parametrize(
    ("kind", "name", "value", "us", "si"),
    [
        ("batches.batch", "program", PROGRAM, "14 °F for 2 h, then 113 °F until dry",
         "−10.0 °C for 2 h, then 45.0 °C until dry"),
        ("plans.crop", "uncertain", 0.25, "25%", "25%"),
        ("plans.crop", "first", "2027-09-05", "Sep 5, 2027", "5 Sep 2027"),
        ("plans.crop", "value_per_kg", 10.0, "$4.54 per pound", "$10.00 per kilogram"),  # the international pound
        ("batches.item", "price", 7.5, "$7.50", "$7.50"),
        ("batches.item", "food", BERRIES.id, BERRIES.name, BERRIES.name),
        ("pantry.package", "packed_on", "2027-09-05", "Sep 5, 2027", "5 Sep 2027"),
        ("pantry.package", "residual_moisture", 0.025, "2.5%", "2.5%"),
        ("pantry.place", "coldest_month", 7, "July", "July"),
        ("plans.plandryer", "stops", [{"from": "2027-09-05T08:00", "to": "2027-09-06T12:30"}],
         "Sep 5, 2027, 8:00 am to Sep 6, 2027, 12:30 pm", "5 Sep 2027, 08:00 to 6 Sep 2027, 12:30"),
        ("plans.plan", "home", {"daily": ["17-22"]}, "every day 5:00 pm to 10:00 pm", "every day 17:00 to 22:00"),
        ("site.kitchen", "tariff_per_kwh", 0.1735, "$0.1735", "$0.1735"),
    ],
)  # fmt: skip
def test_a_value_is_told_as_a_reader_writes_it(
    client: Client, kind: str, name: str, value: Any, us: str, si: str
) -> None:
    for units, told in (("us", us), ("si", si)):
        with reading_in(units):
            assert value_words(record_kinds()[kind], name, value, units) == told


def test_the_history_names_foods_and_tells_days_and_programs(client: Client) -> None:
    own = records.create(OwnFood(name="Bean chili", food_class="dish", composition={"water": 0.7, "protein": 0.3}))
    batch = a_batch(program=PROGRAM)
    item = an_item(batch)
    records.change(item, {"food": f"own:{own.pk}"}, expected=item.version)
    plan = a_plan()
    records.change(plan, {"begin": plan.begin.replace(year=2027, month=9, day=5)}, expected=plan.version)
    with translation.override("en"):
        page = client.get("/history/?units=us").content.decode()
    assert f"<del>{BERRIES.name}</del> → Bean chili" in page
    assert "5 Sep 2027" in page or "Sep 5, 2027" in page
    assert not re.search(r"<(dd|del)>[^<]*(\d{4}-\d\d-\d\d|own:|f\d{5}|hours None)", page)


def test_names_inside_values_cost_one_query_for_each_kind(client: Client) -> None:
    own = OwnFood.objects.create(name="Bean chili", composition={"water": 1.0})
    model = record_kinds()["plans.lot"]
    with CaptureQueriesContext(connection) as queries:
        names = names_of((model, {"food": f"own:{own.pk}"}) for _ in range(20))
    assert len(queries) == 1
    assert Teller("us", names).told("food", f"own:{own.pk}") == "Bean chili"


def test_keys_inside_values_are_called_as_pages_call_them() -> None:
    pages = {**MAIN_NUMBERS, **NUMBER_WORDS, **VALUE_WORDS, **dict(APART), **dict(DAYS)}
    with translation.override("en"):
        assert RANGES["dryer"].keys() <= set(KEY_NAMES)
        assert {key: KEY_NAMES.get(key) for key in pages} == {key: str(words) for key, words in pages.items()}


def test_every_example_belongs_to_a_column() -> None:
    assert set(JSON) <= {f"{kind}.{field.name}" for kind, field in COLUMNS}
    assert table.get(BERRIES.id).name == BERRIES.name
    assert tell([Change(kind="gone.kind", object_id=1, version=1, action="create", after={"x_y": 1})])

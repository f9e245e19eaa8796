"""Every column of every row that an answer rests on makes the answer out of date, or is known to change none."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.apps import apps
from django.db import models

from drystow.errors import DrystowError
from drystow.web.batches import judging
from drystow.web.batches.judging import DRYNESS
from drystow.web.batches.models import Batch, Happening, Load, PressureRise, Sample
from drystow.web.dryers.lessons import LESSONS
from drystow.web.dryers.models import Dryer
from drystow.web.foods.models import OwnFood, Recipe, RecipeLine
from drystow.web.kit import answers, records
from drystow.web.kit.answers import KINDS, NO_MATTER, Kind
from drystow.web.plans.found import BEST_LOAD, BEST_PROGRAM
from drystow.web.plans.making import PLAN
from drystow.web.season.trying import SEASON
from tests.web.batch_rows import CARROTS, a_batch, a_weighing, an_item, on_tray
from tests.web.made_rows import a_lot, a_plan
from tests.web.season_rows import a_full_season
from tests.web.test_dryers_taught import a_run

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


def dried(**values: Any) -> Batch:
    began = {"started_at": NOON - timedelta(hours=26), "drying_began_at": NOON - timedelta(hours=20), "ended_at": NOON}
    batch = a_batch(**{"stage": "proof", **began, **values})
    item = an_item(batch, CARROTS, mass_kg=0.6, shape="slab", size_m=0.006, extra={"area": 0.1})
    on_tray(item, 1, 0.6)
    return batch


def dryness() -> int:
    batch = dried()
    at = NOON - timedelta(hours=2)
    records.change(batch.dryer, {"trap_valve": True}, expected=batch.dryer.version)
    a_weighing(batch, 12, 190.0)
    both = {"before_g": 5.0, "after_g": 4.0, "resolution_g": 0.01, "activity": 0.3}
    Sample.objects.create(batch=batch, tray=1, at=at, kind="oven", **both)
    Sample.objects.create(batch=batch, tray=1, at=at, kind="meter", **both)
    PressureRise.objects.create(batch=batch, at=at, seconds=60.0, before_pa=20.0, after_pa=30.0)
    Happening.objects.create(batch=batch, kind="core", at=at, tray=1, finding="cold")
    Happening.objects.create(batch=batch, kind="power", at=at, minutes=20.0, room_c=20.0)
    return batch.pk


def lessons() -> int:
    return a_run(1.1).dryer_id


def a_search(kind: Kind[Any], asked: Any) -> int:
    batch = a_batch()
    on_tray(an_item(batch, CARROTS, shape="slab", size_m=0.005, mass_kg=0.6, extra={"area": 0.1}), 2, 0.6)
    kind.wish(batch.pk, asked)
    return batch.pk


def plan() -> int:
    made = a_plan(tariff={})
    a_lot(made, tray_kg=0.4, fridge_days=3.0, freezer_days=90.0)
    return made.pk


CASES: dict[str, Callable[[], int]] = {
    "dryness": dryness,
    "lessons": lessons,
    "plan": plan,
    "season": lambda: a_full_season(tariff={}).pk,
    "best load": lambda: a_search(BEST_LOAD, {"time_h": 30.0, "share": 1, "apart": [], "foods": {}}),
    "best program": lambda: a_search(BEST_PROGRAM, {"confidence": 0.8, "steps": 1, "highest_c": None}),
}


def mark(name: str, pk: int) -> str:
    """What an answer rests on now; empty where nothing can be asked any more."""
    kind = KINDS[name]
    kept = kind.kept(pk)
    assert kind.recipe is not None
    try:
        basis = kind.recipe.rests_on(pk, None if kept is None else kept.asked)
    except DrystowError:
        return "refused"
    return "" if basis is None else kind.recipe.mark(basis)


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[models.Model]:
    """The rows of which a fingerprint was taken."""
    rows: list[models.Model] = []
    columns = answers.columns_of
    monkeypatch.setattr(answers, "columns_of", lambda row: rows.append(row) or columns(row))
    return rows


def another(field: models.Field, value: Any) -> Any:
    """Another value of a column."""
    if isinstance(field, models.ForeignKey | models.OneToOneField):
        return (value or 0) + 4711
    if isinstance(field, models.FileField):
        return "photos/another.png"
    if field.choices:
        return next(key for key, _words in field.choices if key != value)
    changes: dict[type, Callable[[Any], Any]] = {
        bool: lambda old: not old,
        int: lambda old: old + 1,
        float: lambda old: old * 1.01 + 0.001,
        str: lambda old: f"{old}5"[-field.max_length :] if field.max_length else f"{old}5",
        datetime: lambda old: old + timedelta(minutes=10),
        date: lambda old: old + timedelta(days=1),
        list: lambda old: [*old, *old[-1:]] or ["smells"],
        dict: lambda old: {**old, "ash": 0.02} if "ash" in old else {**old, "price": 0.3},
    }
    if value is None:
        kinds = {models.FloatField: 1.5, models.DateTimeField: NOON, models.BooleanField: True}
        return next((new for kind, new in kinds.items() if isinstance(field, kind)), 1)
    return next(change for kind, change in changes.items() if isinstance(value, kind))(value)


def test_every_kind_of_answer_is_tried() -> None:
    assert set(CASES) == set(KINDS)
    assert {kind.name for kind in (DRYNESS, LESSONS, PLAN, SEASON, BEST_LOAD, BEST_PROGRAM)} == set(KINDS)


@pytest.mark.parametrize("name", CASES)
def test_any_other_value_in_a_column_makes_the_answer_outdated(name: str, read: list[models.Model]) -> None:
    pk = CASES[name]()
    before = mark(name, pk)
    assert len(before) == 64
    assert mark(name, pk) == before
    seen = {(type(row), row.pk): row for row in read if row.pk is not None}
    assert len(seen) > 1
    for row in seen.values():
        label = row._meta.label_lower
        for field in row._meta.concrete_fields:
            old = getattr(row, field.attname)
            if field.primary_key or (label == "batches.item" and name == "best load" and field.attname == "extra"):
                continue
            now = type(row)._default_manager.get(pk=row.pk)
            value = getattr(now, field.attname)
            there = type(row)._default_manager.filter(pk=row.pk)
            there.update(**{field.attname: another(field, value)})
            no_matter = field.attname in NO_MATTER[""] | NO_MATTER.get(label, frozenset())
            assert mark(name, pk) != before or no_matter, (label, field.attname, old)
            there.update(**{field.attname: value})
            assert mark(name, pk) == before, (label, field.attname)


def test_what_is_said_to_matter_to_no_answer_is_there_and_changes_no_answer_of_a_batch() -> None:
    for label, names in NO_MATTER.items():
        if label:
            assert names <= {field.attname for field in apps.get_model(label)._meta.concrete_fields}, label
    pk = dryness()
    before = mark("dryness", pk)
    batch = Batch.objects.get(pk=pk)
    words = {"title": "Another", "notes": "x", "stage": "packing", "opened_at": NOON, "packaging_cost": 2.0}
    records.change(batch, words, expected=batch.version)
    records.change(batch.dryer, {"notes": "oiled", "use_taught": False}, expected=batch.dryer.version)
    assert mark("dryness", pk) == before


DRIES_BY = {
    "foods.ownfood": {"composition": {"water": 0.8, "carbohydrate": 0.19, "ash": 0.01}, "food_class": "vegetable",
                      "moisture_sd": 0.02},
    "foods.recipe": {"final_mass_kg": 1.8},
    "foods.recipeline": {"mass_kg": 2.1, "food": CARROTS.id},
}  # fmt: skip
"""Columns of foods of one's own by which they dry; answers rest on the engine's food, which follows from them."""


@pytest.mark.parametrize("own", ["food", "recipe"])
def test_what_a_food_of_ones_own_dries_by_counts(own: str) -> None:
    made_of = {"water": 0.83, "carbohydrate": 0.16, "ash": 0.01}
    food = records.create(OwnFood(name="Plums", food_class="fruit", composition=made_of, raw_animal=False))
    ref = f"own:{food.pk}"
    rows: list[models.Model] = [food]
    if own == "recipe":
        dish = records.create(Recipe(name="Plum stew", cooked=True, final_mass_kg=1.9))
        line = RecipeLine.objects.create(recipe=dish, food=ref, name="Plums", mass_kg=2.0)
        ref, rows = f"recipe:{dish.pk}", [dish, line]
    batch = dried()
    records.change(batch.items.get(), {"food": ref}, expected=1)
    before = mark("dryness", batch.pk)
    assert len(before) == 64
    for row in rows:
        for column, new in DRIES_BY[row._meta.label_lower].items():
            old, there = getattr(row, column), type(row)._default_manager.filter(pk=row.pk)
            there.update(**{column: new})
            assert mark("dryness", batch.pk) != before, column
            there.update(**{column: old})
            assert mark("dryness", batch.pk) == before, column


def test_what_is_noted_in_words_changes_no_answer_and_another_batch_does_not_either() -> None:
    batch = dried()
    before = mark("dryness", batch.pk)
    Happening.objects.create(batch=batch, kind="note", at=NOON, text="smells good")
    on_tray(an_item(a_batch(), CARROTS), 1, 0.5)
    assert mark("dryness", batch.pk) == before
    Load.objects.filter(item__batch=batch).update(tray=2)
    assert mark("dryness", batch.pk) != before


def test_what_a_dryer_has_learned_counts(monkeypatch: pytest.MonkeyPatch) -> None:
    batch = dried()
    before = mark("dryness", batch.pk)
    known = {("contact", ""): (-0.5, 0.6)}
    monkeypatch.setattr("drystow.web.batches.evidence_adapters.calibration_for", lambda _dryer: known)
    assert mark("dryness", batch.pk) != before
    assert Dryer.objects.exists()
    assert timedelta() < judging.FRESH

"""Rows written at each earlier migration come through to the latest with what they mean.

On the server of `DATABASE_URL` when there is one (a database of its own for each test, dropped afterwards), else on a
real SQLite file.
"""

import os
from collections.abc import Iterator
from datetime import UTC, date, datetime
from importlib import import_module
from itertools import pairwise
from pathlib import Path
from typing import Any, LiteralString

import psycopg
import pytest
from django.db import connections
from django.db.migrations.loader import MigrationLoader
from tools.write_catalogue import marked

from drystow.keeping.limits import EARLIER
from drystow.web.data.restore import RENAMED
from drystow.web.kit.codec import codec
from drystow.web.pantry.dates import BY_HAND
from drystow.web.plans.found import LoadAsked
from tests.web.quick_migrations import migrated
from tests.web.test_values_not_texts import OF_A_FILE, approx

PACKAGES = import_module("drystow.web.pantry.migrations.0010_sentences_of_now")
EVIDENCE = import_module("drystow.web.pantry.migrations.0011_evidence_by_limit").BASIS
HISTORY = import_module("drystow.web.kit.migrations.0007_sentences_of_now").HISTORY
ALIAS = "from_each_state"
BEFORE_SI = (("dryers", "0004_trap_valve"), ("batches", "0010_struck_out"), ("plans", "0004_season_uncertain"))
APPS = (
    "batches",
    "dryers",
    "foods",
    "pantry",
    "plans",
    "site",
    "data",
    "accounts",
)  # sums of costs follow from other rows
AT = datetime(2026, 3, 31, 23, 30, tzinfo=UTC)


def _earlier() -> list[tuple[str, str]]:
    """Every migration of an app that is not the app's last."""
    nodes = sorted(key for key in MigrationLoader(None).disk_migrations if key[0] in APPS)
    return [key for key, following in pairwise(nodes) if key[0] == following[0]]


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[str]:
    """A database without tables, beside the one of the other tests."""
    address = os.environ.get("DATABASE_URL")
    name = f"each_state_{os.getpid()}" if address else str(tmp_path / "old.sqlite3")
    if address:
        _on_server(address, "CREATE DATABASE {} TEMPLATE template0", name)
    connections.databases[ALIAS] = {**connections["default"].settings_dict, "NAME": name}
    yield ALIAS
    connections[ALIAS].close()
    del connections[ALIAS], connections.databases[ALIAS]
    if address:
        _on_server(address, "DROP DATABASE {}", name)


def _on_server(address: str, statement: LiteralString, name: str) -> None:
    with psycopg.connect(address, autocommit=True) as server:
        server.execute(psycopg.sql.SQL(statement).format(psycopg.sql.Identifier(name)))


def _state(*targets: tuple[str, str]) -> Any:
    """Migrate the database to some migrations and what they need; return the models of that moment."""
    return migrated(ALIAS, *targets)


def _latest() -> Any:
    return migrated(ALIAS)


def _has(apps: Any, app: str, model: str) -> bool:
    return (
        model in {one.__name__ for one in apps.get_app_config(app).get_models()} if app in apps.app_configs else False
    )


def _fill(apps: Any) -> dict[str, Any]:
    """Write representative rows through the models of that moment; return what they must still say."""
    said: dict[str, Any] = {}

    def make(app: str, model: str, **values: Any) -> Any:
        row = apps.get_model(app, model).objects.using(ALIAS).create(**values)
        said[f"{app}.{model}:{row.pk}"] = values
        return row

    if _has(apps, "site", "Household"):
        make("site", "Household", name="Alder Lane Kitchen", people=4)
    if _has(apps, "site", "Kitchen"):
        make("site", "Kitchen", name="Alder Lane Kitchen", people=4)
    if _has(apps, "site", "Change"):
        make("site", "Change", kind="pantry.place", object_id=7, version=2, action="change", who="Ana", words="moved",
             before={"humidity": 0.5}, after={"humidity": 0.6})  # fmt: skip
    if _has(apps, "data", "ApiToken"):
        make("data", "ApiToken", name="thermometer", scope="write", hash="0" * 64)
    if _has(apps, "foods", "OwnFood"):
        make("foods", "OwnFood", name="Grandmother's plums", composition={"water": 0.83}, food_class="fruit")
    if _has(apps, "foods", "Recipe"):
        make("foods", "Recipe", name="Bean stew", cooked=True, final_mass_kg=3.5)
        make("foods", "Recipe", name="Fruit salad", cooked=False)
    if _has(apps, "dryers", "Dryer"):
        dryer = make("dryers", "Dryer", name="Bench", profile="bench-4", numbers={"leak": "0.02 mbar*L/s"})
        said[f"dryers.Dryer:{dryer.pk}"]["numbers"] = pytest.approx({"leak": 2e-3})  # 1 mbar*L is 0.1 Pa*m3
        if _has(apps, "batches", "Batch"):
            batch = make("batches", "Batch", lot="260331", title="Plums", dryer=dryer, energy_kwh=12.5,
                         program=[{"shelf_c": -10.0, "hours": 2.0}, {"shelf_c": 40.0, "hours": None}])  # fmt: skip
            item = make("batches", "Item", batch=batch, food="f00503", name="Plums", mass_kg=2.0, size_m=0.01)
            make("batches", "Load", item=item, tray=1, mass_kg=2.0)
            make("batches", "Weighing", batch=batch, tray=1, at=AT, gross_g=1300.0, tare_g=900.0)
            if _has(apps, "plans", "Plan"):
                plan = make("plans", "Plan", title="April", begin=date(2026, 4, 1), apart=["fish"])
                make("plans", "PlanDryer", plan=plan, dryer=dryer, stops=[{"from": "8:00", "to": "9:00"}])
                make("plans", "Lot", plan=plan, name="Plums", food="f00503", mass_kg=9.5, arrives=AT)
                make("plans", "Booked", plan=plan, batch=batch, start=AT, end=AT, lots=[{"lot": 1, "trays": 2}])
                if _has(apps, "plans", "Search"):
                    _fill_old_answers(apps, plan, batch)
            if _has(apps, "pantry", "Package"):
                where = make("pantry", "Place", name="Cellar", temperature_c=14.0)
                package = make("pantry", "Package", code="AB2C3D", batch=batch, lot="260331", food="f00503",
                               name="Plums", place=where, container="jar-quart", net_mass_kg=0.2, left_mass_kg=0.15,
                               state="open", packed_on=date(2026, 4, 1), allergens=["sulphites"])  # fmt: skip
                make("pantry", "Movement", package=package, kind="used", at=AT, mass_kg=0.05, who="Ana")
                for at, celsius in ((datetime(2026, 3, 1, tzinfo=UTC), 12.0), (AT, 16.0),
                                    (datetime(2026, 4, 1, tzinfo=UTC), 15.0)):  # fmt: skip
                    make("pantry", "PlaceReading", place=where, at=at, temperature_c=celsius)
    return said


DRY = datetime(2026, 4, 2, 7, 30, tzinfo=UTC)
ASKED = {"time_h": 30.0, "share": 1, "apart": ["smells"], "foods": {"1": {"must": True, "cut_m": None, "value": 2.0}}}


def _fill_old_answers(apps: Any, plan: Any, batch: Any) -> None:
    """Write answers of each kind, as they stood in tables of their own."""
    kept: dict[tuple[str, str], dict[str, Any]] = {
        ("dryers", "Learned"): {"dryer": batch.dryer, "machine": "m" * 64, "state": {"batches": 3}},
        ("batches", "Judgement"): {"batch": batch, "fingerprint": "f" * 64, "at": AT, "result": {"trays": []}},
        ("plans", "Made"): {"plan": plan, "fingerprint": "f" * 64, "at": AT, "result": {"batches": [
            {"batch": None, "dry": AT.isoformat()}, {"batch": batch.pk, "dry": DRY.isoformat()}, 7]}},
        ("plans", "Search"): {"batch": batch, "kind": "load", "asked": ASKED, "at": AT, "result": {"mass_kg": 1.0}},
    }  # fmt: skip
    for (app, model), values in kept.items():
        if _has(apps, app, model):
            apps.get_model(app, model).objects.using(ALIAS).create(**values)
    if _has(apps, "plans", "Tried"):
        season = apps.get_model("plans", "Season").objects.using(ALIAS).create(title="Garden", begin=date(2026, 5, 1))
        tried = apps.get_model("plans", "Tried").objects.using(ALIAS)
        tried.create(season=season, fingerprint="f" * 64, at=AT, result={"form": 1})


LAST_OF_THEIR_OWN = [("dryers", "0004_trap_valve"), ("batches", "0010_struck_out"), ("plans", "0004_season_uncertain")]


def test_wishes_and_booked_times_come_through_and_answers_are_worked_out_anew(empty: str) -> None:
    _fill(_state(*LAST_OF_THEIR_OWN))
    apps = _latest()
    assert apps.get_model("plans", "Booked").objects.using(ALIAS).get().dry == DRY
    rows = {row.kind: row for row in apps.get_model("site", "Answer").objects.using(ALIAS)}
    assert set(rows) == {"lessons", "dryness", "plan", "season", "best load"}
    assert {(row.form, row.result) for row in rows.values()} == {("", "")}
    assert all(row.at is not None for row in rows.values())
    assert codec(LoadAsked).read(rows["best load"].asked) == ASKED


def test_every_app_with_more_than_one_migration_is_tried() -> None:
    assert {"pantry", "foods"} <= {app for app, _name in _earlier()}


@pytest.mark.parametrize("target", _earlier(), ids=lambda key: ".".join(key))
def test_rows_of_an_earlier_state_come_through(target: tuple[str, str], empty: str) -> None:
    said = _fill(_state(target))
    assert said, "nothing was written at this state"
    before = {name for name in said if name.startswith(f"{target[0]}.")}
    assert before, "the app that is tried has no rows"
    apps = _latest()
    for name, values in said.items():
        model, pk = name.split(":")
        row = apps.get_model(RENAMED.get(model.lower(), model)).objects.using(ALIAS).get(pk=pk)
        for field, value in values.items():
            now = getattr(row, field)
            assert getattr(now, "pk", now) == getattr(value, "pk", value), (name, field)
    months = list(apps.get_model("pantry", "PlaceMonth").objects.using(ALIAS).order_by("month").values())
    if target[0] == "pantry" and target[1] < "0005":
        # two readings in March of UTC, 12 and 16 degrees, and one in April: added up by hand
        assert [(row["month"], row["count"], row["total_c"], row["latest_c"]) for row in months] == [
            (date(2026, 3, 1), 2, 28.0, 16.0),
            (date(2026, 4, 1), 1, 15.0, 15.0),
        ]
        assert months[0]["latest_at"] == AT
    connections[ALIAS].check_constraints()


MARKED = {
    # marks before -> marks after, in a house whose foods were judged by their names unless a person ticked something
    "ticked": ((True, ["milk"]), (True, ["milk"])),
    "guessed": ((False, []), (None, ["not stated"])),
    "half": ((False, ["egg"]), (None, ["egg"])),
    "raw only": ((True, []), (True, ["not stated"])),
}


BEFORE_MARKS = {"foods": "0003_cooked_is_a_choice", "site": "0005_history_by_kind"}


@pytest.mark.parametrize("earlier", [BEFORE_MARKS, BEFORE_MARKS | {"pantry": "0008_how_long_it_keeps"}],
                         ids=lambda earlier: " ".join(earlier))  # fmt: skip
def test_marks_that_nobody_is_known_to_have_stated_are_open(earlier: dict[str, str], empty: str) -> None:
    old = _state(*earlier.items())
    foods, changes = (old.get_model(*name).objects.using(ALIAS) for name in (("foods", "OwnFood"), ("site", "Change")))
    numbers, packages = {}, {}
    for name, ((raw, allergens), _after) in MARKED.items():
        own = foods.create(name=name, composition={"water": 0.8}, raw_animal=raw, allergens=allergens)
        numbers[name] = own.pk
        before, after = {"raw_animal": False, "allergens": []}, {"raw_animal": raw, "notes": "x"}
        changes.create(kind="foods.ownfood", object_id=own.pk, version=2, action="change", before=before, after=after)
    if "pantry" in earlier:
        recipe, line, place, package = (
            old.get_model(*name).objects.using(ALIAS)
            for name in (("foods", "Recipe"), ("foods", "RecipeLine"), ("pantry", "Place"), ("pantry", "Package"))
        )
        refs = {"table": "f00503", "unknown": "unknown", "own": f"own:{numbers['guessed']}"}
        for name, cooked, food in (
            ("of the table", False, "f00503"), ("of own food", False, refs["own"]), ("cooked", True, refs["own"]),
        ):  # fmt: skip
            refs[name] = f"recipe:{(made := recipe.create(name=name, cooked=cooked)).pk}"
            line.create(recipe=made, food=food, name="part", mass_kg=1.0)
        refs["around"] = f"recipe:{(made := recipe.create(name='around')).pk}"
        line.create(recipe=made, food=refs["of own food"], name="part", mass_kg=1.0)
        where = place.create(name="Cellar")
        for number, (name, ref) in enumerate(refs.items()):
            packages[name] = package.create(
                code=f"AB2C3{number}", lot="1", food=ref, name=name, place=where, container="jar-quart",
                net_mass_kg=0.2, left_mass_kg=0.2, packed_on=date(2026, 4, 1), raw_animal=False, allergens=[],
            ).pk  # fmt: skip
            changes.create(kind="pantry.package", object_id=packages[name], version=1, action="create",
                           after={"raw_animal": False, "allergens": []})  # fmt: skip
    new = _latest()
    for name, (_before, (raw, allergens)) in MARKED.items():
        row = new.get_model("foods", "OwnFood").objects.using(ALIAS).get(pk=numbers[name])
        assert (row.raw_animal, row.allergens) == (raw, allergens)
        change = new.get_model("site", "Change").objects.using(ALIAS).get(kind="foods.ownfood", object_id=row.pk)
        assert change.before == {"raw_animal": None, "allergens": ["not stated"]}  # undoing it states nothing
        assert change.after == {"raw_animal": raw, "notes": "x"}
    open_marks, settled = (None, ["not stated"]), (False, [])
    expected = {"table": settled, "of the table": settled, "cooked": (False, ["not stated"])}
    for name, pk in packages.items():
        row = new.get_model("pantry", "Package").objects.using(ALIAS).get(pk=pk)
        assert (row.raw_animal, row.allergens) == expected.get(name, open_marks), name
        change = new.get_model("site", "Change").objects.using(ALIAS).get(kind="pantry.package", object_id=pk)
        assert (change.after["raw_animal"], change.after["allergens"]) == expected.get(name, open_marks), name


def _before(app: str, rewording: str) -> list[str]:
    """The migrations of an app before the one that puts its sentences into the words of now."""
    return [name for one, name in _earlier() if one == app and name < rewording]


@pytest.mark.parametrize("name", _before("pantry", "0010_sentences_of_now"))
def test_why_a_package_keeps_is_told_in_the_words_of_now(name: str, empty: str) -> None:
    apps = _state(("pantry", name))
    package = apps.get_model("pantry.Package")
    limit = {"limit": "colour"} if "limit" in {field.name for field in package._meta.get_fields()} else {}
    where = apps.get_model("pantry.Place").objects.using(ALIAS).create(name="Cellar", temperature_c=14.0)
    for number, basis in enumerate((*PACKAGES.BASIS, "my own words")):
        package.objects.using(ALIAS).create(code=f"AB2C{number}D", lot="1", food="f00503", name="Plums", place=where,
                                            container="jar-quart", net_mass_kg=0.2, left_mass_kg=0.2, basis=basis,
                                            packed_on=date(2026, 4, 1), **limit)  # fmt: skip
    packages = _latest().get_model("pantry", "Package").objects.using(ALIAS).order_by("pk")
    assert list(packages.values_list("basis", flat=True)) == [
        *(EVIDENCE.get(basis, basis) for basis in PACKAGES.BASIS.values()),
        "my own words",
    ]
    assert set(packages.values_list("limit", flat=True)) == {"color" if limit else ""}
    assert packages.filter(basis=str(BY_HAND)).count() == 1


@pytest.mark.parametrize("old", EVIDENCE)
def test_a_date_of_the_one_study_is_an_older_estimate_and_undoing_brings_it_not_back(old: str, empty: str) -> None:
    apps = _state(("pantry", "0010_sentences_of_now"), ("site", "0010_answer"))
    where = apps.get_model("pantry.Place").objects.using(ALIAS).create(name="Cellar", temperature_c=14.0)
    apps.get_model("pantry.Package").objects.using(ALIAS).create(
        code="AB2C3D", lot="1", food="f00503", name="Plums", place=where, container="jar-quart", net_mass_kg=0.2,
        left_mass_kg=0.2, basis=old, packed_on=date(2026, 4, 1),
    )  # fmt: skip
    apps.get_model("site.Change").objects.using(ALIAS).create(
        kind="pantry.package", object_id=1, version=1, action="change", words="opened",
        before={"basis": old, "name": old}, after={"basis": "my own words"},
    )  # fmt: skip
    new = _latest()
    assert new.get_model("pantry", "Package").objects.using(ALIAS).get().basis == str(EARLIER)
    change = new.get_model("site", "Change").objects.using(ALIAS).get()
    assert (change.before, change.after) == ({"basis": str(EARLIER), "name": old}, {"basis": "my own words"})


@pytest.mark.parametrize("name", _before("site", "0007_sentences_of_now"))
def test_the_history_is_told_in_the_words_of_now(name: str, empty: str) -> None:
    changes = _state(("site", name)).get_model("site.Change")
    said = "said" in {field.name for field in changes._meta.get_fields()}
    rows = changes.objects.using(ALIAS)
    sentences = (*HISTORY, "moved by Ana")
    for number, old in enumerate(sentences):
        row = {"kind": "batches.batch", "object_id": number, "version": 1, "action": "change", "words": old}
        if said:
            inner = {"pattern": old, "values": {"food": "kale"}}
            row |= {"said": {"pattern": "undone: {what}", "values": {"what": inner}}}
        rows.create(**row)
    rows.create(kind="pantry.package", object_id=1, version=1, action="change", words="opened",
                before={"basis": "as written on the package", "limit": "colour"}, after={"name": "colour"})  # fmt: skip
    now = _latest().get_model("site", "Change").objects.using(ALIAS)
    for row in now.filter(kind="batches.batch"):
        new = HISTORY.get(sentences[row.object_id], sentences[row.object_id])
        assert row.words == new
        assert row.said == (
            {"pattern": "undone: {what}", "values": {"what": {"pattern": new, "values": {"food": "kale"}}}}
            if said
            else {}
        )
    changed = now.get(kind="pantry.package")
    assert (changed.before, changed.after) == ({"basis": str(BY_HAND), "limit": "color"}, {"name": "colour"})


@pytest.mark.parametrize("name", _before("site", "0009_kitchen"))  # the last that renames a kind
def test_what_is_known_of_a_kind_with_another_name_is_found_under_the_name_of_now(name: str, empty: str) -> None:
    old = _state(("site", name))
    models = [model for model in ("Change", "Typed") if _has(old, "site", model)]
    for model in models:
        rows = old.get_model("site", model).objects.using(ALIAS)
        for number, kind in enumerate((*RENAMED, "pantry.place")):
            rows.create(
                kind=kind, object_id=number, **({"version": 1, "action": "change"} if model == "Change" else {})
            )
    new = _latest()
    for model in models:
        kinds = new.get_model("site", model).objects.using(ALIAS).order_by("object_id").values_list("kind", flat=True)
        assert list(kinds) == [*RENAMED.values(), "pantry.place"]


def test_numbers_that_a_file_wrote_are_numbers_in_rows_history_and_form(empty: str) -> None:
    old = _state(("data", "0002_restore_mark"), ("site", "0009_kitchen"), *BEFORE_SI)
    rows = {model._meta.label_lower: (column, then, now) for model, (column, then, now) in OF_A_FILE.items()}

    def make(model: str, **values: Any) -> Any:
        return old.get_model(model).objects.using(ALIAS).create(**values)

    made = {"dryers.dryer": make("dryers.dryer", name="Bench", profile="bench-4")}
    made["batches.batch"] = make("batches.batch", lot="1", title="Plums", dryer=made["dryers.dryer"])
    made["batches.item"] = make("batches.item", batch=made["batches.batch"], food="f00503", name="Plums", mass_kg=2.0)
    made["plans.plan"] = plan = make("plans.plan", title="April", begin=date(2026, 4, 1))
    made["plans.plandryer"] = make("plans.plandryer", plan=plan, dryer=made["dryers.dryer"])
    made["plans.lot"] = make("plans.lot", plan=plan, name="Plums", food="f00503", mass_kg=9.5, arrives=AT)
    for kind, (column, then, _now) in rows.items():
        old.get_model(kind).objects.using(ALIAS).filter(pk=made[kind].pk).update(**{column: then})
        make("site.change", kind=kind, object_id=made[kind].pk, version=2, action="change",
             before={column: {}, "notes": "5 kg"}, after={column: then})  # fmt: skip
    new = _latest()
    for kind, (column, _then, now) in rows.items():
        assert getattr(new.get_model(kind).objects.using(ALIAS).get(pk=made[kind].pk), column) == approx(now)
        change = new.get_model("site", "Change").objects.using(ALIAS).get(kind=kind)
        assert (change.before, change.after) == ({column: {}, "notes": "5 kg"}, {column: approx(now)})
    typed = new.get_model("site", "Typed").objects.using(ALIAS).get()
    assert (typed.kind, typed.object_id) == ("dryers.dryer", made["dryers.dryer"].pk)
    assert typed.texts == {"leak": "0.02 mbar*L/s", "chamber_volume": "52 L", "room": "64.4 degF"}


def test_each_sentence_of_an_earlier_version_leads_to_one_that_is_translated_now() -> None:
    now = {text for pair in marked() for text in pair}
    tables = (PACKAGES.BASIS, PACKAGES.LIMITS, HISTORY, EVIDENCE)
    assert [new for table in tables for new in table.values() if EVIDENCE.get(new, new) not in now] == []
    assert [old for table in tables for old in table if old in now] == []


def test_what_names_were_read_for_stands_in_the_rows(empty: str) -> None:
    old = _state(("foods", "0004_marks_are_stated"))
    foods, recipes = (old.get_model("foods", name).objects.using(ALIAS) for name in ("OwnFood", "Recipe"))
    rows = {"Garden carrots, boiled": ["cooked", "carrot"], "Zanahorias": []}
    for name in rows:
        foods.create(name=name, food_class="vegetable", composition={"water": 0.8})
    recipes.create(name="Onion soup")
    new = _latest()
    for name, like in rows.items():
        row = new.get_model("foods", "OwnFood").objects.using(ALIAS).get(name=name)
        assert (row.like, row.skin) == (like, None)
    assert "with onion" in new.get_model("foods", "Recipe").objects.using(ALIAS).get().like

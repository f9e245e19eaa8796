"""Rows of a batch become the engine's load."""

from datetime import UTC, datetime

import pytest

from drystow.errors import InputError, InputErrors
from drystow.foods import table
from drystow.machine.ensemble import simulate_spread, with_middle_times
from drystow.machine.loadfile import parse_load
from drystow.machine.run import simulate
from drystow.web.batches import adapters
from drystow.web.dryers.models import Dryer
from drystow.web.foods.models import OwnFood, Recipe, RecipeLine
from drystow.web.foods.spec import food_of
from drystow.web.kit import records
from tests.web.batch_rows import BERRIES, a_batch, an_item, on_tray


def an_own_food(**values: object) -> OwnFood:
    parts = {"water": 0.7, "protein": 0.2, "fat": 0.05, "carbohydrate": 0.04, "ash": 0.01}
    usual = {"name": "Minced hen", "food_class": "meat", "composition": parts, "moisture_sd": 0.02, "raw_animal": True}
    return records.create(OwnFood(**(usual | values)))


def test_a_batch_gives_the_same_result_as_the_load_file_that_says_the_same() -> None:
    batch = a_batch(program=[{"shelf_c": -10, "hours": 2}, {"shelf_c": 40, "hours": None}])
    item = an_item(batch)
    on_tray(item, 1, 0.8)
    on_tray(item, 2, 0.8)
    tray = {"food": "Blueberries, raw", "mass": "800 g", "shape": "sphere", "size": "12 mm"}
    written = parse_load(
        {
            "dryer": {"profile": "bench-4"},
            "program": {"shelf": ["-10 degC for 2 h", "40 degC until dry"]},
            "tray": [tray, tray],
        }
    )
    result, spread = adapters.predict(batch)
    central, middle = simulate(written), simulate_spread(written, adapters.MEMBERS)
    expected = with_middle_times(central, middle)
    assert [tray.dry_end for tray in result.trays] == [tray.dry_end for tray in expected.trays]
    assert result.total_time == spread.total[1] == pytest.approx(central.total_time, rel=0.1)


def test_foods_that_share_a_tray_share_its_area_by_what_they_take_in_one_layer() -> None:
    batch = a_batch()
    one, other = an_item(batch), an_item(batch, table.get("Carrots, raw"))
    on_tray(one, 1, 0.3)
    on_tray(other, 1, 0.1)
    first, second = adapters.load_of(batch).items
    assert (first.lie.room or 0.0) + (second.lie.room or 0.0) == pytest.approx(0.115)  # bench-4 in profiles.toml
    assert first.lie.coverage == pytest.approx(second.lie.coverage)
    foods = adapters.foods_of([one.food, other.food])
    drawn = adapters.lies_on_trays(adapters.tray_loads(batch), foods, adapters.dryer_of(batch.dryer))
    assert drawn == [first.lie, second.lie]


def test_own_foods_and_recipes_keep_their_marks() -> None:
    own = an_own_food(allergens=["egg"])
    pot = records.create(Recipe(name="Hen and berries", cooked=False, final_mass_kg=1.0))
    RecipeLine.objects.create(recipe=pot, food=f"own:{own.pk}", name=own.name, mass_kg=0.6)
    RecipeLine.objects.create(recipe=pot, food=BERRIES.id, name=BERRIES.name, mass_kg=0.4)
    foods = adapters.foods_of([f"own:{own.pk}", f"recipe:{pot.pk}", BERRIES.id])
    assert foods[f"own:{own.pk}"].composition.water_sd == 0.02
    dish = foods[f"recipe:{pot.pk}"]
    assert (dish.raw_animal, dish.allergens) == (True, ("egg",))
    assert dish.composition.water == pytest.approx(0.6 * 0.7 + 0.4 * BERRIES.composition.water, abs=1e-3)
    batch = a_batch()
    on_tray(an_item(batch, food_of(f"own:{own.pk}"), shape="slab", size_m=0.005), 1, 0.5)
    item = adapters.load_of(batch).items[0]
    assert (item.food.raw_animal, item.food.name) == (True, "Minced hen")
    assert any("COOK BEFORE EATING" in note for note in item.notes)


def test_a_recipe_that_does_not_work_out_is_left_out_of_a_search_only() -> None:
    pot = records.create(Recipe(name="Too little left", final_mass_kg=0.01))
    RecipeLine.objects.create(recipe=pot, food=BERRIES.id, name=BERRIES.name, mass_kg=1.0)
    ref = f"recipe:{pot.pk}"
    assert ref not in adapters.foods_of([ref], only_good=True)
    with pytest.raises(InputError, match=r"at least .* must be left"):
        food_of(ref)


def test_an_unknown_own_food_is_told() -> None:
    with pytest.raises(InputError, match="you have no food number 99"):
        food_of("own:99")


def test_a_dryers_own_numbers_replace_the_profiles() -> None:
    dryer = records.create(Dryer(name="Bench", profile="bench-4", numbers={"trap_capacity": 5.0}))
    machine = adapters.dryer_of(dryer)
    assert (machine.trap_capacity, machine.trays) == (5.0, 4)


def test_the_engine_says_what_does_not_fit() -> None:
    batch = a_batch()
    on_tray(an_item(batch, mass_kg=9), 1, 9.0)
    with pytest.raises(InputErrors, match=r"tray\[1\].mass: .* above the tray's\s+rim"):
        adapters.load_of(batch)


def test_the_prediction_that_a_batch_keeps_has_ranges_around_the_middle() -> None:
    batch = a_batch()
    on_tray(an_item(batch), 1, 0.8)
    loads = adapters.tray_loads(batch)
    kept = adapters.prediction_json(loads, *adapters.predict(batch, loads))
    total = kept["total_h"]
    assert total["p10"] < total["p50"] < total["p90"]
    assert kept["trays"][0]["solids_kg"] == pytest.approx(0.8 * BERRIES.composition.solids, abs=1e-5)
    records.change(batch, {"prediction": kept, "started_at": datetime(2026, 3, 1, tzinfo=UTC)}, expected=batch.version)

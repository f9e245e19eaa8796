"""Foods: search, the page of a food, foods of the kitchen."""

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from drystow.foods.marks import NOT_STATED
from drystow.foods.table import find
from drystow.web.foods.models import OwnFood, Recipe
from drystow.web.foods.spec import food_of
from drystow.web.kit.models import Change

MILK = {
    # whole milk, one US cup of 240 g; figures of a made-up label that follow USDA's whole milk
    "name": "House milk",
    "food_class": "dairy",
    "raw_animal": "",
    "allergens": ["milk"],
    "notes": "",
    "amount": "240 g",
    "energy": "150",
    "protein": "8",
    "fat": "8",
    "saturated": "",
    "carbohydrate": "12",
    "fibre": "",
    "sugars": "12",
    "sodium": "105",
    "moisture": "",
    "moisture_from": "",
}


def test_the_search_works_with_and_without_htmx(client: Client) -> None:
    whole = client.get("/foods/?q=strawbery").content.decode()
    assert "Strawberries, raw" in whole
    assert "<h1>" in whole
    part = client.get("/foods/?q=strawbery", headers={"HX-Request": "true"}).content.decode()
    assert "Strawberries, raw" in part
    assert "<h1>" not in part
    assert "Try one plain word" in client.get("/foods/?q=zzzzqqq").content.decode()


def test_the_page_of_a_food_says_what_the_engine_knows(client: Client) -> None:
    food = find("strawberries raw", 1)[0]
    html = client.get(f"/foods/t/{food.id}/?units=si").content.decode()
    # USDA FoodData Central, strawberries, raw: 90.95% water (memory)
    assert re.search(r"9[01]\.\d% ±", html)
    for words in ("Freeze-drying", "Before it goes on the tray", "Keep its ice colder than", "Sources", "Allergens"):
        assert words in html
    # 21 CFR 101.9: calories above 50 are given to the nearest 10, so the number ends in 0 (memory)
    calories = re.search(r"<td>Calories</td><td class=\"num\">(\d+)</td>", html)
    assert calories is not None
    assert calories[1].endswith(("0", "5"))


def test_the_page_of_a_food_says_where_no_one_measured_its_sugars(client: Client) -> None:
    food = find("Grapes, muscadine, raw", 1)[0]
    page = client.get(f"/foods/t/{food.id}/").content.decode()
    assert "No one measured its sugars" in page


def test_a_label_that_leaves_sugars_blank_gets_the_usual_ones_and_stays_blank(client: Client) -> None:
    answer = client.post("/foods/own/label/", MILK | {"name": "Milk without sugars", "sugars": ""})
    assert answer.status_code == 302
    row = OwnFood.objects.get(name="Milk without sugars")
    assert food_of(f"own:{row.pk}").composition.sugars_sd > 0.0
    page = client.get(f"/foods/own/{row.pk}/edit/").content.decode()
    assert re.search(r'<input[^>]*name="sugars"[^>]*>', page)
    assert not re.search(r'<input[^>]*name="sugars"[^>]*value="\d', page)


def test_the_serving_of_the_panel_can_be_chosen(client: Client) -> None:
    food = find("strawberries raw", 1)[0]
    html = client.get(f"/foods/t/{food.id}/?serving=2+oz").content.decode()
    assert "2.0 oz" in html
    wrong = client.get(f"/foods/t/{food.id}/?serving=much").content.decode()
    assert 'id="id_serving_error"' in wrong


def test_raw_animal_food_shows_its_caution(client: Client) -> None:
    food = next(food for food in find("chicken breast raw", 20) if food.raw_animal)
    assert "COOK BEFORE EATING" in client.get(f"/foods/t/{food.id}/").content.decode()


def test_an_unknown_food_is_not_found(client: Client) -> None:
    assert client.get("/foods/t/f99999/").status_code == 404
    assert client.get("/foods/own/99/").status_code == 404


def test_a_food_from_its_label_gets_its_water(client: Client) -> None:
    answer = client.post("/foods/own/label/", MILK)
    row = OwnFood.objects.get()
    assert answer["Location"] == f"/foods/own/{row.pk}/"
    # USDA FoodData Central, milk, whole: 88.1% water; the label's rounding leaves about 1% (memory)
    assert abs(row.composition["water"] - 0.881) < 0.012
    assert abs(row.nutrients["energy_kcal"] - 150 / 2.4) < 1e-9
    html = client.get(answer["Location"]).content.decode()
    assert "House milk" in html
    assert "milk" in food_of(f"own:{row.pk}").allergens
    assert "House milk" in client.get("/foods/?q=house+milk", headers={"HX-Request": "true"}).content.decode()


def test_editing_shows_what_was_typed_and_saves_it(client: Client) -> None:
    client.post("/foods/own/label/", MILK)
    row = OwnFood.objects.get()
    html = client.get(f"/foods/own/{row.pk}/edit/?units=si").content.decode()
    assert 'value="240 g"' in html
    assert 'name="sodium" value="105' in html
    client.post(f"/foods/own/{row.pk}/edit/", MILK | {"fat": "5", "version": "1"})
    row.refresh_from_db()
    assert row.version == 2
    assert abs(row.nutrients["fat_g"] - 5 / 2.4) < 1e-9


def test_a_food_that_sounds_raw_counts_as_raw_until_its_owner_says_what_it_is(client: Client) -> None:
    meat = MILK | {
        "name": "Chicken breast, raw",
        "food_class": "meat",
        "allergens": [],
        "carbohydrate": "0",
        "sugars": "0",
    }
    client.post("/foods/own/label/", meat)
    row = OwnFood.objects.get()
    assert row.raw_animal is None
    page = client.get(f"/foods/own/{row.pk}/").content.decode()
    assert "COOK BEFORE EATING" in page
    assert "No one has said whether this is raw meat" in page
    form = client.get(f"/foods/own/{row.pk}/edit/").content.decode()
    assert re.search(r'value="yes"[^>]* selected', form)  # its name suggests it; the owner says it
    client.post(f"/foods/own/{row.pk}/edit/", meat | {"raw_animal": "no", "version": "1"})
    row.refresh_from_db()
    assert row.raw_animal is False
    assert "COOK BEFORE EATING" not in client.get(f"/foods/own/{row.pk}/").content.decode()


def test_allergens_are_stated_by_ticks_alone(client: Client) -> None:
    sauce = MILK | {"name": "Peanut sauce", "food_class": "dish", "allergens": []}
    client.post("/foods/own/label/", sauce)
    row = OwnFood.objects.get()
    assert row.allergens == [NOT_STATED]
    assert "Allergens: not stated. Ask whoever made it." in client.get(f"/foods/own/{row.pk}/").content.decode()
    form = client.get(f"/foods/own/{row.pk}/edit/").content.decode()
    assert re.search(r'value="peanut"[^>]* checked', form)  # a suggestion
    assert not re.search(r'value="none"[^>]* checked', form)
    both = client.post(f"/foods/own/{row.pk}/edit/", sauce | {"allergens": ["none", "egg"], "version": "1"})
    assert both.status_code == 422
    assert "Tick the allergens in it or" in both.content.decode()
    for version, ticked, kept in ((1, ["none"], []), (2, ["egg", "milk"], ["milk", "egg"]), (3, [], [NOT_STATED])):
        client.post(f"/foods/own/{row.pk}/edit/", sauce | {"allergens": ticked, "version": str(version)})
        row.refresh_from_db()
        assert row.allergens == kept
        shown = client.get(f"/foods/own/{row.pk}/edit/").content.decode()
        if ticked:
            assert set(re.findall(r'name="allergens" value="([^"]+)"[^>]* checked', shown)) == set(ticked)


@pytest.mark.parametrize("name", ["Camarones", "Nueces", "Pan de trigo", "Leche cruda", "Shrimp", "Raw milk"])
def test_a_name_states_nothing_in_any_language(client: Client, name: str) -> None:
    client.post("/foods/own/label/", MILK | {"name": name, "food_class": "dish", "allergens": []})
    food = food_of(f"own:{OwnFood.objects.get().pk}")
    assert (food.raw_animal, food.allergens) == (None, (NOT_STATED,))
    client.post(f"/foods/own/{food.id.removeprefix('own:')}/edit/", MILK | {
        "name": name, "food_class": "dish", "allergens": ["none"], "raw_animal": "no", "version": "1",
    })  # fmt: skip
    food = food_of(food.id)
    assert (food.raw_animal, food.allergens) == (False, ())
    assert "not stated" not in client.get(f"/foods/own/{OwnFood.objects.get().pk}/").content.decode()


def test_an_allergen_that_no_form_asks_for_stays(client: Client) -> None:
    client.post("/foods/own/label/", MILK)
    row = OwnFood.objects.get()
    OwnFood.objects.update(allergens=["milk", "celery"])
    form = client.get(f"/foods/own/{row.pk}/edit/").content.decode()
    ticked = re.findall(r'name="allergens" value="([^"]+)"[^>]* checked', form)
    assert set(ticked) == {"milk", "celery"}
    client.post(f"/foods/own/{row.pk}/edit/", MILK | {"allergens": ticked, "raw_animal": "no", "version": "1"})
    row.refresh_from_db()
    assert row.allergens == ["milk", "celery"]


def test_a_food_like_another_is_never_said_to_be_free_of_anything(client: Client) -> None:
    berries = find("strawberries raw", 1)[0]
    form = client.get(f"/foods/own/moisture/?like={berries.id}").content.decode()
    assert not re.search(r'value="none"[^>]* checked', form)
    assert not re.search(r'value="no"[^>]* selected', form)


def test_impossible_labels_come_back_with_the_reason(client: Client) -> None:
    answer = client.post("/foods/own/label/", MILK | {"sugars": "30"})
    assert answer.status_code == 422
    assert "more sugars than carbohydrate" in answer.content.decode()
    full = client.post("/foods/own/label/", MILK | {"protein": "120", "fat": "120"})
    assert "check the serving" in full.content.decode()
    assert OwnFood.objects.count() == 0


def test_a_taken_name_is_told_beside_the_name(client: Client) -> None:
    client.post("/foods/own/label/", MILK)
    answer = client.post("/foods/own/label/", MILK)
    assert answer.status_code == 422
    assert 'id="id_name_error"' in answer.content.decode()


def test_a_measured_moisture_keeps_the_dry_matter_of_the_table_food(client: Client) -> None:
    like = find("strawberries raw", 1)[0]
    form = client.get(f"/foods/own/moisture/?like={like.id}").content.decode()
    assert f'value="{like.name}"' in form
    values = {
        "name": "Our strawberries",
        "food_class": "fruit",
        "like": like.name,
        "moisture": "87%",
        "moisture_sd": "0.5%",
        "moisture_from": "oven",
    }
    assert client.post("/foods/own/moisture/", values).status_code == 302
    row = OwnFood.objects.get()
    assert abs(row.composition["water"] - 0.87) < 1e-9
    ratio = row.composition["protein"] / like.composition.protein
    # the solids are the same: everything grows by (1 - 0.87) / (1 - water) (definition)
    assert abs(ratio - 0.13 / (1 - like.composition.water)) < 1e-9
    assert abs(row.nutrients["energy_kcal"] / like.nutrients["energy_kcal"] - ratio) < 1e-9
    assert client.get(f"/foods/own/{row.pk}/").status_code == 200
    wrong = client.post("/foods/own/moisture/", values | {"name": "B", "like": "strawbery"}).content.decode()
    assert "closest" in wrong


def test_the_bin_takes_an_own_food_and_undo_brings_it_back(client: Client) -> None:
    client.post("/foods/own/label/", MILK)
    row = OwnFood.objects.get()
    page = client.post(f"/foods/own/{row.pk}/bin/", follow=True).content.decode()
    assert "None yet." in page
    client.post(f"/undo/{Change.objects.filter(action='bin').get().pk}/")
    assert OwnFood.objects.kept().count() == 1


def test_suggestions_are_options(client: Client) -> None:
    html = client.get("/foods/pick/?line-0-food=carrot").content.decode()
    assert '<option value="Carrots, raw">' in html
    assert "<option" not in client.get("/foods/pick/?line-0-food=").content.decode()


def test_many_own_foods_need_no_more_queries(client: Client) -> None:
    client.post("/foods/own/label/", MILK)
    with CaptureQueriesContext(connection) as few:
        client.get("/foods/?q=milk")
    for number in range(8):
        client.post("/foods/own/label/", MILK | {"name": f"Milk {number}"})
    client.get("/foods/")  # shows the messages once
    with CaptureQueriesContext(connection) as many:
        client.get("/foods/?q=milk")
    assert len(many) <= len(few)


def test_a_new_food_is_hinted_at_once_and_keeps_what_it_is_like_under_any_name(client: Client) -> None:
    berries = MILK | {"name": "Strawberries from the garden", "food_class": "fruit"}
    client.post("/foods/own/label/", berries)
    row = OwnFood.objects.get()
    assert row.like == ["strawberry"]
    assert "<dd>strawberry</dd>" in client.get(f"/foods/own/{row.pk}/").content.decode()
    ref = f"own:{row.pk}"
    before = food_of(ref)
    form = client.get(f"/foods/own/{row.pk}/edit/").content.decode()
    assert re.findall(r'<option value="([^"]+)" selected', form)[:2] == ["fruit", "strawberry"]
    renamed = berries | {"name": "Fresas del huerto", "kinds": ["strawberry"], "version": "1"}
    client.post(f"/foods/own/{row.pk}/edit/", renamed)
    after = food_of(ref)
    assert after.name == "Fresas del huerto"
    assert (after.like, after.food_class) == (before.like, before.food_class) == (("strawberry",), "fruit")
    client.post(f"/foods/own/{row.pk}/edit/", renamed | {"kinds": ["apple"], "skin": "yes", "version": "2"})
    assert (food_of(ref).like, food_of(ref).skin) == (("apple",), True)
    client.post(f"/foods/own/{row.pk}/edit/", berries | {"version": "3"})  # nothing chosen any more: no hint again
    assert (food_of(ref).like, food_of(ref).skin) == ((), None)


def test_rows_that_come_in_bulk_or_from_an_older_copy_are_hinted_too() -> None:
    OwnFood.objects.bulk_create([
        OwnFood(name="Apple rings", food_class="fruit", composition={"water": 0.8, "carbohydrate": 0.2}),
        OwnFood(name="Apple slices", food_class="fruit", composition={"water": 0.8, "carbohydrate": 0.2}, like=[]),
    ])  # fmt: skip
    assert [row.like for row in OwnFood.objects.order_by("name")] == [["apple"], []]


def test_a_measured_food_behaves_like_the_one_whose_dry_matter_it_has(client: Client) -> None:
    values = {"name": "Fresas", "food_class": "fruit", "like": find("strawberries raw", 1)[0].name, "moisture": "90%",
              "moisture_sd": "0.5%", "moisture_from": "oven"}  # fmt: skip
    client.post("/foods/own/moisture/", values)
    assert OwnFood.objects.get().like == ["strawberry"]


def test_a_recipe_keeps_what_it_is_like_when_it_is_renamed(client: Client) -> None:
    potato = find("potatoes boiled flesh", 1)[0]
    lines = {"line-0-food": potato.name, "line-0-mass_kg": "1"}
    recipe = {"name": "Onion pot", "use": "dry", "servings": "4"} | lines
    client.post("/foods/recipes/new/", recipe)
    row = Recipe.objects.get()
    assert row.like == ["with onion"]
    before = food_of(f"recipe:{row.pk}")
    client.post(f"/foods/recipes/{row.pk}/edit/", recipe | {"name": "Olla", "like": row.like, "version": "1"})
    after = food_of(f"recipe:{row.pk}")
    assert (after.name, after.like) == ("Olla", before.like)

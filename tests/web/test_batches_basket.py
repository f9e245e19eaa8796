"""The basket of a batch."""

import re

import pytest
from django.test import Client

from drystow.foods.table import get
from drystow.web.batches.adapters import load_of
from drystow.web.batches.models import Item, Load
from drystow.web.foods.models import OwnFood, Recipe
from drystow.web.kit import records
from tests.web.batch_rows import BERRIES, CARROTS, CHICKEN, a_batch, an_item

SENT = {"mass": "1.8 lb", "shape": "cube", "size": "1/2 inch", "faces": "1"}


def test_a_search_without_javascript_shows_verdicts_and_links(client: Client) -> None:
    batch = a_batch()
    page = client.get(f"/batches/{batch.pk}/basket/?q=carot").content.decode()
    assert f"/batches/{batch.pk}/basket/?food={CARROTS.id}#add" in page
    assert "dries well" in page


def test_htmx_gets_the_found_foods_only(client: Client) -> None:
    batch = a_batch()
    part = client.get(f"/batches/{batch.pk}/basket/?q=carrot", headers={"HX-Request": "true"}).content.decode()
    assert "Carrots, raw" in part
    assert "<html" not in part


def test_nothing_found_says_what_to_try(client: Client) -> None:
    page = client.get(f"/batches/{a_batch().pk}/basket/?q=zzzzqqq").content.decode()
    assert "Nothing matches “zzzzqqq”" in page


def test_own_foods_are_found_and_added(client: Client) -> None:
    parts = {"water": 0.8, "protein": 0.05, "carbohydrate": 0.14, "ash": 0.01}
    own = records.create(OwnFood(name="Grandma's pumpkin mash", composition=parts))
    batch = a_batch()
    assert f"?food=own%3A{own.pk}" in client.get(f"/batches/{batch.pk}/basket/?q=pumpkin mash").content.decode()
    client.post(f"/batches/{batch.pk}/basket/", SENT | {"food": f"own:{own.pk}"})
    assert Item.objects.get().name == "Grandma's pumpkin mash"


def test_a_chosen_food_shows_its_blanching_and_the_source(client: Client) -> None:
    page = client.get(f"/batches/{a_batch().pk}/basket/?food={CARROTS.id}").content.decode()
    assert "Blanch:" in page
    assert "How much" in page


def test_food_goes_in_with_mixed_units(client: Client) -> None:
    batch = a_batch()
    answer = client.post(f"/batches/{batch.pk}/basket/", SENT | {"food": CARROTS.id, "price": "4.5", "frozen": "on"})
    assert answer.status_code == 302
    item = Item.objects.get()
    assert item.mass_kg == pytest.approx(1.8 * 0.45359237)  # international pound
    assert item.size_m == pytest.approx(0.0127)
    assert (item.price, item.frozen, item.start_c) == (4.5, True, -18.0)


def test_a_wrong_mass_comes_back_with_the_form_filled_in(client: Client) -> None:
    page = client.post(f"/batches/{a_batch().pk}/basket/", SENT | {"food": CARROTS.id, "mass": "2 feet"})
    text = page.content.decode()
    assert "not a weight" in text
    assert 'value="2 feet"' in text
    assert Item.objects.count() == 0


def test_an_unknown_food_offers_the_nearest(client: Client) -> None:
    page = client.post(f"/batches/{a_batch().pk}/basket/", SENT | {"food": "carrots rew"}).content.decode()
    assert "Carrots, raw" in page
    assert Item.objects.count() == 0


def test_water_is_counted_against_the_trap(client: Client) -> None:
    batch = a_batch()
    an_item(batch, BERRIES, mass_kg=1.0)
    an_item(batch, CARROTS, mass_kg=4.0)
    page = client.get(f"/batches/{batch.pk}/basket/?units=si").content.decode()
    # usda-fdc: blueberries 84.2 g and carrots 88.3 g of water in 100 g make 4.37 kg; bench-4 holds 3.6 kg
    assert float(re.search(r'Water in it</p><p class="value">([\d.]+) kg', page).group(1)) == pytest.approx(
        4.37, abs=0.02
    )
    assert "More water than the cold trap holds" in page


def test_raw_meat_is_marked_where_it_is_added(client: Client) -> None:
    batch = a_batch()
    an_item(batch, CHICKEN)
    assert "COOK BEFORE EATING" in client.get(f"/batches/{batch.pk}/basket/").content.decode()


def test_an_item_is_changed_and_a_conflict_shown(client: Client) -> None:
    batch = a_batch()
    item = an_item(batch)
    address = f"/batches/{batch.pk}/basket/{item.pk}/"
    assert 'value="3.53 lb"' in client.get(address).content.decode()  # 1.6 kg
    client.post(address, SENT | {"food": item.food, "version": 1, "mass": "2 kg"})
    page = client.post(address, SENT | {"food": item.food, "version": 1, "mass": "3 kg"}).content.decode()
    assert "3 kg" in page
    assert Item.objects.get().mass_kg == 2.0


def test_a_removed_item_leaves_basket_and_trays(client: Client) -> None:
    batch = a_batch()
    item = an_item(batch)
    client.post(f"/batches/{batch.pk}/basket/{item.pk}/remove/")
    assert "Nothing yet" in client.get(f"/batches/{batch.pk}/basket/").content.decode()
    other = a_batch()
    assert client.post(f"/batches/{other.pk}/basket/{item.pk}/remove/").status_code == 404


def test_the_queries_do_not_grow_with_the_basket(client: Client) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    batch = a_batch()
    an_item(batch)
    client.get(f"/batches/{batch.pk}/basket/")
    with CaptureQueriesContext(connection) as few:
        client.get(f"/batches/{batch.pk}/basket/")
    for _more in range(8):
        an_item(batch)
    with CaptureQueriesContext(connection) as many:
        client.get(f"/batches/{batch.pk}/basket/")
    assert len(many) == len(few)


def test_a_recipe_that_no_longer_works_out_is_told_in_place_of_an_error(client: Client) -> None:
    empty = Recipe.objects.create(name="Soup without anything")
    batch = a_batch()
    item = an_item(batch)
    records.change(item, {"food": f"recipe:{empty.pk}", "name": empty.name}, expected=item.version)
    answer = client.get(f"/batches/{batch.pk}/basket/")
    assert answer.status_code == 422
    assert "a recipe needs at least one ingredient" in answer.content.decode()


def test_dry_this_leads_to_the_basket_with_the_food_chosen(client: Client) -> None:
    dryer = a_batch().dryer
    sent = {"title": "Berries", "dryer": dryer.pk, "lot": "L-9"}
    answer = client.post("/batches/new/?food=f00503", sent)
    assert answer.status_code == 302
    assert answer.url.endswith("/basket/?food=f00503")


def test_the_skin_is_asked_of_food_that_has_one_and_comes_with_it(client: Client) -> None:
    batch = a_batch()
    assert "skin_state" not in client.get(f"/batches/{batch.pk}/basket/?food={CARROTS.id}").content.decode()
    assert 'name="skin_state"' in client.get(f"/batches/{batch.pk}/basket/?food={BERRIES.id}").content.decode()
    sent = SENT | {"food": BERRIES.id, "shape": "sphere", "size": "13 mm", "skin_state": "pricked"}
    assert client.post(f"/batches/{batch.pk}/basket/", sent).status_code == 302
    item = Item.objects.get()
    records.create(Load(item=item, tray=1, mass_kg=0.5))
    (pricked,) = load_of(batch).items
    item.skin_state = ""
    item.save()
    (usual,) = load_of(batch).items
    assert pricked.skin is not None
    assert usual.skin is not None
    assert (pricked.skin.state, usual.skin.state) == ("pricked", "whole")
    assert usual.covering > pricked.covering
    assert "prick the skin" in client.get(f"/batches/{batch.pk}/basket/").content.decode()
    item.skin_state = "halved"
    item.save()
    assert "prick the skin" not in client.get(f"/batches/{batch.pk}/basket/").content.decode()


@pytest.mark.parametrize("name", ["Honey", "Jams and preserves", "Candy, caramel"])
def test_food_that_will_not_dry_is_refused_where_it_is_chosen(client: Client, name: str) -> None:
    batch, food = a_batch(), get(name)
    page = client.get(f"/batches/{batch.pk}/basket/?food={food.id}").content.decode()
    assert "it can’t go in" in page
    assert 'name="mass"' not in page
    answer = client.post(f"/batches/{batch.pk}/basket/", SENT | {"food": food.id})
    assert not Item.objects.exists()
    assert "will not dry" in answer.content.decode()

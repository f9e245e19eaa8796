"""A package by hand."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from django.test import Client

from drystow.foods.marks import NOT_STATED
from drystow.foods.table import get
from drystow.keeping.fat import rancidity
from drystow.packing.containers import containers
from drystow.web.foods.models import OwnFood
from drystow.web.kit import records
from drystow.web.pantry.adapters import plan_in, usual_seasons
from drystow.web.pantry.models import Movement, Package
from tests.engine.pdf_reading import page_texts
from tests.web.pantry_rows import STRAWBERRY, place, today


def form(where: int, **values: object) -> dict[str, object]:
    usual = {"name": "Strawberries", "net": "100 g", "count": 1, "container": "jar-quart", "place": where}
    return usual | {"packed_on": today().isoformat(), "version": 1} | values


def test_first_a_place_is_needed(client: Client) -> None:
    answer = client.get("/pantry/add/", follow=True)
    assert "First add a place to keep packages." in answer.content.decode()


def test_foods_of_the_table_and_of_the_kitchen_are_found(client: Client) -> None:
    place()
    parts = {"water": 0.9, "carbohydrate": 0.1}
    records.create(OwnFood(name="Granny's strawberries", food_class="fruit", composition=parts))
    page = client.get("/pantry/add/", {"q": "strawberries raw"}).content.decode()
    assert "Granny" in page
    assert STRAWBERRY in page


def test_a_package_gets_code_date_water_and_energy_from_its_food(client: Client) -> None:
    cellar, food = place(), get(STRAWBERRY)
    answer = client.post(f"/pantry/add/?food={food.id}", form(cellar.pk))
    made = Package.objects.get()
    assert answer.headers["Location"] == f"/pantry/p/{made.code}/"
    assert made.best_before is not None
    assert made.best_before > today()
    assert made.basis
    assert made.fresh_kg is not None
    assert made.energy_kcal == pytest.approx(made.fresh_kg * 10 * food.nutrients["energy_kcal"])
    assert Movement.objects.get().kind == "packed"


def test_several_alike_get_a_code_each(client: Client) -> None:
    cellar = place()
    client.post(f"/pantry/add/?food={get(STRAWBERRY).id}", form(cellar.pk, count=3, lot="GIFT"))
    assert len(set(Package.objects.filter(lot="GIFT").values_list("code", flat=True))) == 3
    assert Movement.objects.count() == 3


def test_a_food_that_no_table_knows_keeps_the_date_on_the_package(client: Client) -> None:
    cellar = place()
    day = today().replace(year=today().year + 1, day=1)
    client.post("/pantry/add/?food=unknown", form(cellar.pk, name="Camp meal", best_before=day.isoformat()))
    made = Package.objects.get()
    assert (made.best_before, made.basis) == (day, "as printed on the package")
    assert "No estimate" in client.get(f"/pantry/p/{made.code}/").content.decode()


def test_a_wrong_weight_comes_back_filled_in(client: Client) -> None:
    cellar = place()
    page = client.post("/pantry/add/?food=unknown", form(cellar.pk, net="100 miles")).content.decode()
    assert 'value="100 miles"' in page
    assert "is not a weight" in page
    assert not Package.objects.exists()


def test_a_package_of_unknown_food_says_that_nobody_has_stated_what_it_is(client: Client) -> None:
    cellar = place()
    page = client.get("/pantry/add/", {"food": "unknown", "q": "Shrimp"}).content.decode()
    assert re.search(r'value="shellfish"[^>]* checked', page)  # a suggestion
    client.post("/pantry/add/?food=unknown", form(cellar.pk, name="Camarones"))
    made = Package.objects.get()
    assert (made.raw_animal, made.allergens) == (None, [NOT_STATED])
    page = client.get(f"/pantry/p/{made.code}/").content.decode()
    assert "MAY BE RAW – COOK BEFORE EATING" in page
    assert "No one has said whether this is raw meat" in page
    assert "Allergens: not stated. Ask whoever made it." in page
    for address in ("/pantry/", "/pantry/list/"):
        assert "may be raw – cook" in client.get(address, follow=True).content.decode()
    assert "MAY BE RAW" in " ".join(page_texts(client.get("/pantry/list.pdf").content))


@pytest.mark.parametrize(
    ("answers", "raw", "allergens"),
    [
        ({"raw_animal": "no", "allergens": ["none"]}, False, []),
        ({"raw_animal": "yes", "allergens": ["shellfish", "milk"]}, True, ["milk", "shellfish"]),
    ],
)
def test_what_is_ticked_is_stated(client: Client, answers: dict[str, object], raw: bool, allergens: list[str]) -> None:
    client.post("/pantry/add/?food=unknown", form(place().pk, name="Camarones", **answers))
    made = Package.objects.get()
    assert (made.raw_animal, made.allergens) == (raw, allergens)
    assert "not stated" not in client.get(f"/pantry/p/{made.code}/").content.decode()


def test_a_food_of_the_table_keeps_its_marks_where_nobody_answers(client: Client) -> None:
    chicken = get("Chicken, breast, boneless, skinless, raw")
    client.post(f"/pantry/add/?food={chicken.id}", form(place().pk))
    made = Package.objects.get()
    assert (made.raw_animal, made.allergens) == (True, list(chicken.allergens))


FOODS = (STRAWBERRY, "Chicken, breast, boneless, skinless, raw", "Cheese, cheddar", "Carrots, raw")


@pytest.mark.parametrize("food", FOODS)
@pytest.mark.parametrize("kind", [name for name, box in containers().items() if 0.0009 < box.volume < 0.005])
def test_a_package_is_dated_by_the_absorber_that_is_written_down(client: Client, food: str, kind: str) -> None:
    """Without one the date is that of food in air, on the page, in the details and on the label."""
    known, cellar, made = get(food), place(), {}
    for answer in ("", "on"):
        data = form(cellar.pk, net="40 g", container=kind, lot=f"L{answer}") | ({"absorber": "on"} if answer else {})
        client.post(f"/pantry/add/?food={known.id}", data)
        made[answer] = Package.objects.get(lot=f"L{answer}")
    without, inside = made[""], made["on"]
    assert (without.absorbers, bool(inside.absorbers)) == ("", True)
    assert without.best_before is not None
    assert inside.best_before is not None
    assert without.best_before <= inside.best_before
    plan = plan_in(without, known, usual_seasons(cellar, without.packed_on))
    assert plan is not None
    assert plan.packing.absorbers.sachets == ()
    in_air = rancidity(replace(plan.packing, absorber_time=0.0))
    assert in_air is not None
    assert without.best_before <= without.packed_on + timedelta(seconds=in_air.low)
    page = client.get(f"/pantry/p/{without.code}/").content.decode()
    barrier = containers()[kind].oxygen_barrier
    assert ("so the time counts on none" in page) is barrier
    assert "Remove the oxygen absorber" not in page
    assert "Remove the oxygen absorber. Do not eat it." in client.get(f"/pantry/p/{inside.code}/").content.decode()
    assert (without.best_before < inside.best_before) or not barrier or inside.limit != "fat"

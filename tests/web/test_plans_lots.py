"""What comes: the table of lots, adding, changing, copying, removing."""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from drystow.web.foods.models import OwnFood, Recipe, RecipeLine
from drystow.web.kit import records
from drystow.web.plans.models import Lot
from tests.web.page_form import sent_back
from tests.web.plan_entry_rows import CHICKEN, CORN, a_dryer, a_lot, a_plan
from tests.web.queries import queries

SENT = {"mass": "9 lb", "arrives": "2026-09-08T18:00", "shape": "sphere", "size": "9 mm", "value": "2"}


def test_an_empty_plan_says_what_to_do(client: Client) -> None:
    page = client.get(f"/plans/{a_plan(a_dryer()).pk}/lots/").content.decode()
    assert "Search above for a food that is coming" in page


def test_a_plan_without_a_dryer_leads_to_one(client: Client) -> None:
    assert "No dryer in this plan yet." in client.get(f"/plans/{a_plan().pk}/lots/").content.decode()


def test_a_search_without_javascript_leads_to_the_form(client: Client) -> None:
    plan = a_plan(a_dryer())
    page = client.get(f"/plans/{plan.pk}/lots/?q=sweet corn").content.decode()
    assert f"/plans/{plan.pk}/lots/?food={CORN.id}#add" in page


def test_htmx_gets_the_found_foods_only(client: Client) -> None:
    part = client.get(f"/plans/{a_plan().pk}/lots/?q=corn", headers={"HX-Request": "true"}).content.decode()
    assert CORN.name in part
    assert "<html" not in part


def test_a_new_lot_begins_on_the_first_day_of_a_plan_to_come(client: Client) -> None:
    begin = timezone.localdate() + timedelta(days=30)
    plan = a_plan(a_dryer(), begin=begin)
    page = client.get(f"/plans/{plan.pk}/lots/?food={CORN.id}").content.decode()
    assert f'value="{begin:%Y-%m-%d}T09:00"' in page


def test_a_new_lot_of_a_plan_under_way_begins_now(client: Client) -> None:
    plan = a_plan(a_dryer(), begin=timezone.localdate() - timedelta(days=1))
    page = client.get(f"/plans/{plan.pk}/lots/?food={CORN.id}").content.decode()
    assert f'value="{timezone.localtime():%Y-%m-%dT%H}' in page


def test_a_lot_goes_in_with_mixed_units(client: Client) -> None:
    plan = a_plan(a_dryer())
    answer = client.post(f"/plans/{plan.pk}/lots/", SENT | {"food": CORN.id, "must": "on", "fridge": "0.5"})
    assert answer.status_code == 302
    lot = Lot.objects.get()
    assert (lot.name, lot.must, lot.fridge_days) == (CORN.name, True, 0.5)
    assert lot.mass_kg == pytest.approx(9 * 0.45359237)  # international pound
    assert lot.value_per_kg == pytest.approx(2 / 0.45359237)  # two for a pound
    assert lot.arrives == datetime(2026, 9, 8, 18, tzinfo=UTC)


def test_what_was_typed_comes_back_with_the_message_beside_it(client: Client) -> None:
    page = client.post(
        f"/plans/{a_plan(a_dryer()).pk}/lots/", SENT | {"food": CORN.id, "mass": "9 feet"}
    ).content.decode()
    assert 'value="9 feet"' in page
    assert 'id="id_mass_error"' in page
    assert 'aria-describedby="id_mass_error"' in page
    assert not Lot.objects.exists()


def test_pieces_above_the_rim_are_told_beside_the_size_or_mass(client: Client) -> None:
    sent = SENT | {"food": CORN.id, "shape": "slab", "size": "9 cm"}
    page = client.post(f"/plans/{a_plan(a_dryer()).pk}/lots/", sent).content.decode()
    assert "rim" in page
    assert not Lot.objects.exists()


def test_a_lot_after_the_last_day_is_refused(client: Client) -> None:
    page = client.post(f"/plans/{a_plan(a_dryer()).pk}/lots/", SENT | {"food": CORN.id, "arrives": "2026-09-14T08:00"})
    assert "The plan is over by then" in page.content.decode()


def test_raw_chicken_may_not_be_given_more_days_than_the_guidance(client: Client) -> None:
    plan = a_plan(a_dryer())
    page = client.post(f"/plans/{plan.pk}/lots/", SENT | {"food": CHICKEN.id, "fridge": "3"}).content.decode()
    assert "raw animal food may wait 1 day in the refrigerator" in page
    assert not Lot.objects.exists()


def test_the_caution_stands_beside_each_lot_with_its_days(client: Client) -> None:
    plan = a_plan(a_dryer(), begin=date(2199, 9, 7))
    a_lot(plan, CHICKEN, arrives=datetime(2199, 9, 8, 10, tzinfo=UTC))
    page = client.get(f"/plans/{plan.pk}/lots/").content.decode()
    # cold-storage-chart: raw poultry 1 day in the refrigerator, pieces 9 months in the freezer
    assert "1 day" in page
    assert "Mon, Sep 9, 10:00 am" in page
    assert "9 months" in page
    assert "freeze-drying does not kill germs" in page


def test_a_lot_whose_time_is_over_is_told(client: Client) -> None:
    plan = a_plan(a_dryer(), begin=timezone.localdate() - timedelta(days=5))
    a_lot(plan, CHICKEN, arrives=timezone.now() - timedelta(days=3))
    assert "dry only what was frozen by then" in client.get(f"/plans/{plan.pk}/lots/").content.decode()


def test_own_foods_and_recipes_come_too(client: Client) -> None:
    parts = {"water": 0.8, "protein": 0.05, "carbohydrate": 0.14, "ash": 0.01}
    own = records.create(OwnFood(name="Pumpkin mash", composition=parts))
    recipe = records.create(Recipe(name="Corn pot", use="dry"))
    RecipeLine.objects.create(recipe=recipe, food=CORN.id, name=CORN.name, mass_kg=1.0)
    plan = a_plan(a_dryer())
    for ref in (f"own:{own.pk}", f"recipe:{recipe.pk}"):
        assert client.post(f"/plans/{plan.pk}/lots/", SENT | {"food": ref}).status_code == 302
    assert {lot.name for lot in Lot.objects.all()} == {"Pumpkin mash", "Corn pot"}
    assert "Pumpkin mash" in client.get(f"/plans/{plan.pk}/lots/").content.decode()


def test_an_unknown_food_offers_the_nearest(client: Client) -> None:
    page = client.post(f"/plans/{a_plan(a_dryer()).pk}/lots/", SENT | {"food": "sweet korn"}).content.decode()
    assert "Corn" in page
    assert not Lot.objects.exists()


def test_a_second_lot_of_a_name_gets_a_number(client: Client) -> None:
    plan = a_plan(a_dryer())
    for _time in range(2):
        client.post(f"/plans/{plan.pk}/lots/", SENT | {"food": CORN.id})
    assert {lot.name for lot in Lot.objects.all()} == {CORN.name, f"{CORN.name} 2"}
    page = client.post(f"/plans/{plan.pk}/lots/", SENT | {"food": CORN.id, "name": CORN.name}).content.decode()
    assert f"how about “{CORN.name} 3”" in page


def test_a_copy_is_the_next_picking(client: Client) -> None:
    plan = a_plan(a_dryer())
    lot = a_lot(plan, value_per_kg=4.5, extra={"faces": 2})
    address = f"/plans/{plan.pk}/lots/?copy={lot.pk}"
    page = client.get(address)
    assert 'value="2026-09-10T18:00"' in page.content.decode()
    client.post(address, sent_back(page, shape="sphere"))
    other = Lot.objects.exclude(pk=lot.pk).get()
    assert (other.name, other.mass_kg, other.extra) == (f"{lot.name} 2", lot.mass_kg, {"faces": 2})


def test_saving_what_was_not_changed_changes_nothing(client: Client) -> None:
    plan = a_plan(a_dryer())
    lot = a_lot(plan, mass_kg=7.123456, size_m=0.00901, tray_kg=1.23456, drying_h=30.123, value_per_kg=4.5)
    address = f"/plans/{plan.pk}/lots/{lot.pk}/"
    client.post(address, sent_back(client.get(address)))
    assert Lot.objects.get().version == 1


def test_two_tablets_keep_both_changes_and_tell_the_same_field(client: Client) -> None:
    plan = a_plan(a_dryer())
    lot = a_lot(plan)
    address = f"/plans/{plan.pk}/lots/{lot.pk}/"
    page = client.get(address)
    client.post(address, sent_back(page, mass="2 kg"))
    client.post(address, sent_back(page, name="Corn of Wednesday"))
    changed = Lot.objects.get()
    assert (changed.mass_kg, changed.name) == (2.0, "Corn of Wednesday")
    told = client.post(address, sent_back(page, mass="3 kg")).content.decode()
    assert "Someone changed this meanwhile" in told
    assert 'value="3 kg"' in told


def test_only_some_dryers_may_be_chosen(client: Client) -> None:
    bench, big = a_dryer(), a_dryer("Big", "kitchen-5")
    plan = a_plan(bench, big)
    client.post(f"/plans/{plan.pk}/lots/", SENT | {"food": CORN.id, "dryers": str(big.pk)})
    lot = Lot.objects.get()
    assert lot.extra == {"dryers": [big.pk]}
    page = client.get(f"/plans/{plan.pk}/lots/{lot.pk}/").content.decode()
    assert "<details open>" in page


def test_a_lot_for_a_dryer_that_is_gone_is_told_and_mended_by_saving(client: Client) -> None:
    bench, gone = a_dryer(), a_dryer("Gone", "kitchen-5")
    plan = a_plan(bench)
    lot = a_lot(plan, name="Peas", extra={"dryers": [gone.pk]})
    told = client.get(f"/plans/{plan.pk}/lots.toml")
    assert told.status_code == 422
    assert "Peas may only go in a dryer that is not part of the plan" in told.content.decode()
    address = f"/plans/{plan.pk}/lots/{lot.pk}/"
    client.post(address, sent_back(client.get(address)))
    assert Lot.objects.get().extra == {}
    assert client.get(f"/plans/{plan.pk}/lots.toml").status_code == 200


def test_what_a_plan_file_set_can_be_forgotten(client: Client) -> None:
    plan = a_plan(a_dryer())
    lot = a_lot(plan, extra={"faces": 2})
    address = f"/plans/{plan.pk}/lots/{lot.pk}/"
    page = client.get(address)
    assert "sides that dry 2" in page.content.decode()
    client.post(address, sent_back(page, forget="on"))
    assert Lot.objects.get().extra == {}


def test_a_removed_lot_is_away_and_undo_brings_it_back(client: Client) -> None:
    plan = a_plan(a_dryer())
    lot = a_lot(plan)
    client.post(f"/plans/{plan.pk}/lots/{lot.pk}/remove/")
    assert "Nothing yet" in client.get(f"/plans/{plan.pk}/lots/").content.decode()
    last = records.history(lot).first()
    client.post(f"/undo/{last.pk}/")
    assert Lot.objects.kept().count() == 1
    assert client.post(f"/plans/{a_plan().pk}/lots/{lot.pk}/remove/").status_code == 404


def test_every_input_has_a_label(client: Client) -> None:
    plan = a_plan(a_dryer(), a_dryer("Big", "kitchen-5"))
    page = client.get(f"/plans/{plan.pk}/lots/?food={CORN.id}").content.decode()
    labelled = set(re.findall(r'<label for="([^"]+)"', page))
    inputs = re.findall(r'<(?:input|select|textarea)\b(?![^>]*type="hidden")[^>]*?id="([^"]+)"', page)
    assert len(inputs) > 12
    assert set(inputs) <= labelled


def test_the_questions_do_not_grow_with_the_lots(client: Client) -> None:
    plan = a_plan(a_dryer())
    for number in range(20):
        a_lot(plan, name=f"Corn {number}")
    client.get(f"/plans/{plan.pk}/lots/")
    with queries(at_most=9):
        client.get(f"/plans/{plan.pk}/lots/")

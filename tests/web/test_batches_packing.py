"""Packing a batch: plans, packages, the clock."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from drystow.web.accounts.tokens import new_token
from drystow.web.batches import judging
from drystow.web.batches.judging import DRYNESS
from drystow.web.batches.models import Batch, Unproved
from drystow.web.foods.models import OwnFood
from drystow.web.foods.spec import food_of
from drystow.web.kit import records
from drystow.web.kit.answers import KeptAnswer
from drystow.web.kit.models import Change
from drystow.web.pantry import actions
from drystow.web.pantry.adapters import contents_of
from drystow.web.pantry.models import Movement, Package
from tests.engine.pdf_reading import page_texts
from tests.web.batch_rows import BERRIES, CARROTS, CHICKEN, a_batch, a_weighing, an_item, on_tray
from tests.web.judged_rows import a_tray, judged_trays
from tests.web.pantry_rows import package, place, today
from tests.web.queries import queries


def form(item: int, where: int, **values: object) -> dict[str, object]:
    usual = {"item": item, "dry": "240 g", "moisture": "3%", "container": "jar-quart", "place": where}
    return usual | {"packed_on": today().isoformat(), "version": 1, "confirmed": "on"} | values


def test_without_food_or_places_the_page_says_what_to_do(client: Client) -> None:
    batch = a_batch()
    assert "this batch’s basket is empty" in client.get(f"/batches/{batch.pk}/packing/").content.decode().lower()
    an_item(batch)
    assert (
        "First add the places where you keep packages" in client.get(f"/batches/{batch.pk}/packing/").content.decode()
    )


def test_a_plan_is_there_before_anything_is_written(client: Client) -> None:
    batch = a_batch(stage="packing")
    an_item(batch)
    place()
    page = client.get(f"/batches/{batch.pk}/packing/").content.decode()
    assert "of dried food in each" in page
    assert "Keeps " in page
    assert "estimated from its composition" in page
    assert "Once you open the chamber" in page


def test_the_dried_mass_is_what_the_scale_said_last(client: Client) -> None:
    batch = a_batch(stage="packing")
    item = an_item(batch, mass_kg=0.8)
    on_tray(item, 1, 0.8)
    place()
    a_weighing(batch, 8, 700.0)
    a_weighing(batch, 20, 130.0)
    page = client.get(f"/batches/{batch.pk}/packing/?units=si").content.decode()
    assert 'value="130 g"' in page


def test_a_weighing_underway_does_not_count_as_dried(client: Client) -> None:
    batch = a_batch(stage="packing")
    item = an_item(batch, mass_kg=0.8)
    on_tray(item, 1, 0.8)
    place()
    a_weighing(batch, 8, 700.0)
    expected = 0.8 * BERRIES.composition.solids / 0.97 * 1000
    page = client.get(f"/batches/{batch.pk}/packing/?units=si").content.decode()
    found = re.search(r'name="dry"[^>]*value="([\d.]+) g"|value="([\d.]+) g"[^>]*name="dry"', page)
    assert found is not None
    assert float(found[1] or found[2]) == pytest.approx(expected, rel=1e-3)


def test_packed_writes_one_package_per_container_and_goes_on_to_the_labels(client: Client) -> None:
    batch = a_batch(stage="packing")
    item, cellar = an_item(batch, price=12.0), place()
    answer = client.post(f"/batches/{batch.pk}/packing/pack/", form(item.pk, cellar.pk, count=4))
    assert answer.headers["Location"] == f"/batches/{batch.pk}/labels/"
    made = list(Package.objects.all())
    assert len(made) == len({one.code for one in made}) == 4
    assert {(one.lot, one.place_id, one.container, one.item_id) for one in made} == {
        (batch.lot, cellar.pk, "jar-quart", item.pk)
    }
    assert sum(one.net_mass_kg for one in made) == pytest.approx(0.24)
    assert sum(one.cost for one in made) == pytest.approx(12.0)
    assert all(one.best_before and one.basis and one.absorbers and one.water_to_add_kg for one in made)
    assert Movement.objects.filter(kind="packed").count() == 4
    assert Batch.objects.get().stage == "labels"


def test_a_batch_of_two_foods_stays_until_both_are_packed(client: Client) -> None:
    batch, cellar = a_batch(stage="packing"), place()
    first, second = an_item(batch), an_item(batch, CARROTS)
    client.post(f"/batches/{batch.pk}/packing/pack/", form(first.pk, cellar.pk))
    assert Batch.objects.get().stage == "packing"
    client.post(f"/batches/{batch.pk}/packing/pack/", form(second.pk, cellar.pk))
    assert Batch.objects.get().stage == "labels"


def test_the_same_food_cut_in_two_ways_is_packed_twice(client: Client) -> None:
    batch, cellar = a_batch(stage="packing"), place()
    first, second = an_item(batch), an_item(batch, shape="slab")
    address, pouch = f"/batches/{batch.pk}/packing/pack/", {"count": 1, "container": "pouch-foil7-10x14"}
    client.post(address, form(first.pk, cellar.pk, **pouch))
    assert Batch.objects.get().stage == "packing"
    client.post(
        f"/batches/{batch.pk}/packing/pack/", form(second.pk, cellar.pk, count=1, container="pouch-foil7-10x14")
    )
    assert Package.objects.count() == 2


def test_a_double_tap_packs_once(client: Client) -> None:
    batch, cellar = a_batch(stage="packing"), place()
    item = an_item(batch)
    for _ in range(2):
        client.post(f"/batches/{batch.pk}/packing/pack/", form(item.pk, cellar.pk, count=4))
    assert Package.objects.count() == 4


def test_a_packing_is_taken_back_and_done_anew(client: Client) -> None:
    batch, cellar = a_batch(stage="packing"), place()
    item = an_item(batch)
    client.post(f"/batches/{batch.pk}/packing/pack/", form(item.pk, cellar.pk, count=4))
    client.post(f"/batches/{batch.pk}/packing/unpack/", {"item": item.pk})
    assert not Package.objects.kept().exists()
    assert Batch.objects.get().stage == "packing"
    client.post(f"/batches/{batch.pk}/packing/pack/", form(item.pk, cellar.pk, count=5))
    assert Package.objects.kept().count() == 5


def test_a_packing_in_use_is_not_taken_back(client: Client) -> None:
    batch, cellar = a_batch(stage="packing"), place()
    item = an_item(batch)
    client.post(f"/batches/{batch.pk}/packing/pack/", form(item.pk, cellar.pk, count=4))
    actions.take(Package.objects.all()[0], "used", 0.01, expected=1)
    answer = client.post(f"/batches/{batch.pk}/packing/unpack/", {"item": item.pk}, follow=True)
    assert "have already been used" in answer.content.decode()
    assert Package.objects.kept().count() == 4


def test_cautions_that_several_foods_share_stand_once(client: Client) -> None:
    batch = a_batch(stage="packing")
    an_item(batch)
    an_item(batch, CARROTS)
    place()
    assert client.get(f"/batches/{batch.pk}/packing/").content.decode().count("Keep absorbers away from children") == 1


def test_trays_that_nobody_judged_share_one_caution_and_a_single_one_has_its_own(client: Client) -> None:
    batch = a_batch(stage="packing")
    item = an_item(batch)
    on_tray(item, 1, 0.4)
    place()
    assert "Tray 1 (" in client.get(f"/batches/{batch.pk}/packing/").content.decode()
    on_tray(item, 3, 0.4)
    html = client.get(f"/batches/{batch.pk}/packing/").content.decode()
    assert html.count("no one has judged how dry") == 1
    assert "Trays 1, 3: no one has judged how dry they are." in html


def test_working_it_out_writes_nothing(client: Client) -> None:
    batch, cellar = a_batch(stage="packing"), place()
    item = an_item(batch)
    page = client.post(f"/batches/{batch.pk}/packing/plan/", form(item.pk, cellar.pk, count=7)).content.decode()
    assert "7 × quart glass jar" in page
    assert not Package.objects.exists()


def test_too_few_containers_are_told_beside_the_field(client: Client) -> None:
    batch, cellar = a_batch(stage="packing"), place()
    item = an_item(batch)
    answer = client.post(f"/batches/{batch.pk}/packing/pack/", form(item.pk, cellar.pk, dry="5 kg", count=1))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "can&#x27;t hold" in page
    assert 'value="5 kg"' in page
    assert not Package.objects.exists()


def test_food_too_moist_to_seal_is_warned_of_and_gets_no_date(client: Client) -> None:
    batch, cellar = a_batch(stage="packing"), place()
    item = an_item(batch)
    data = form(item.pk, cellar.pk, moisture="25%")
    assert "can grow the botulism germ" in client.post(f"/batches/{batch.pk}/packing/plan/", data).content.decode()
    client.post(f"/batches/{batch.pk}/packing/pack/", data)
    assert all(one.best_before is None for one in Package.objects.all())
    assert Package.objects.exists()


def test_raw_chicken_says_cook(client: Client) -> None:
    batch = a_batch(stage="packing")
    an_item(batch, CHICKEN)
    place()
    assert "RAW – COOK BEFORE EATING" in client.get(f"/batches/{batch.pk}/packing/").content.decode()


def test_the_clock_runs_from_the_opening_and_says_when_it_is_over(client: Client) -> None:
    batch = a_batch(stage="packing")
    an_item(batch)
    place()
    client.post(f"/batches/{batch.pk}/packing/opened/")
    opened = Batch.objects.get()
    assert opened.opened_at is not None
    assert (timezone.now() - opened.opened_at).total_seconds() < 60
    page = client.get(f"/batches/{batch.pk}/packing/").content.decode()
    assert "data-until=" in page
    assert "Seal everything by" in page
    records.change(opened, {"opened_at": timezone.now() - timedelta(days=2)}, expected=opened.version)
    page = client.get(f"/batches/{batch.pk}/packing/").content.decode()
    assert ">Time is up: pack now</span>" in page


def test_a_warmer_place_gives_an_earlier_date(client: Client) -> None:
    days = []
    for number, celsius in enumerate((10.0, 30.0)):
        batch = a_batch(stage="packing")
        item, where = an_item(batch), place(f"Place {number}", temperature_c=celsius)
        client.post(f"/batches/{batch.pk}/packing/pack/", form(item.pk, where.pk))
        days.append(Package.objects.filter(batch=batch)[0].best_before)
    assert days[0] > days[1]


def test_many_foods_take_few_questions(client: Client) -> None:
    batch = a_batch(stage="packing")
    place()
    for number in range(6):
        on_tray(an_item(batch, mass_kg=0.3), number % 4 + 1, 0.3)
    client.get(f"/batches/{batch.pk}/packing/")
    with queries(at_most=11):
        client.get(f"/batches/{batch.pk}/packing/")


def test_the_moisture_begins_with_what_the_proof_says_and_trays_not_dry_are_told(client: Client) -> None:
    batch = a_batch(stage="packing")
    item = an_item(batch, mass_kg=0.8)
    on_tray(item, 1, 0.8)
    place()
    at = timezone.now()
    tray = a_tray(at, moisture=(0.03, 0.057, 0.09), activity=(0.1, 0.2, 0.3), moistures=(0.057,))
    DRYNESS.keep(KeptAnswer(batch.pk, at=at, result=judged_trays(at, [tray])))
    page = client.get(f"/batches/{batch.pk}/packing/?units=si").content.decode()
    assert 'value="5.7%"' in page
    assert "From the weighings of the run" in page
    assert "the chance that it is dry was 2 in 10 when last calculated" in page
    DRYNESS.keep(KeptAnswer(batch.pk, at=at, result=judged_trays(at, [replace(tray, pieces=())])))
    unseen = client.get(f"/batches/{batch.pk}/packing/?units=si").content.decode()
    assert "How dry you got it." in unseen
    assert item.name in unseen


def never_judged() -> Batch:
    """Food on a tray that nobody asked about."""
    batch = a_batch(stage="packing")
    on_tray(an_item(batch, mass_kg=0.8), 1, 0.8)
    return batch


def on_no_tray() -> Batch:
    """Food that lies on no tray."""
    batch = a_batch(stage="packing")
    an_item(batch)
    return batch


def judged_wet() -> Batch:
    """Food that still loses weight."""
    noon = timezone.now().replace(2026, 3, 1, 0, 0, 0, 0)
    began = {"started_at": noon - timedelta(hours=12), "drying_began_at": noon - timedelta(hours=6)}
    batch = a_batch(stage="packing", ended_at=noon + timedelta(hours=11), **began)
    on_tray(an_item(batch, mass_kg=0.8), 1, 0.8)
    a_weighing(batch, 9, 190.0)
    a_weighing(batch, 11, 175.0)
    judging.DRYNESS.work_out(batch.pk)
    return batch


def judged_dry() -> Batch:
    """Food whose weight stands for hours."""
    noon = timezone.now().replace(2026, 3, 1, 0, 0, 0, 0)
    began = {"started_at": noon - timedelta(hours=12), "drying_began_at": noon - timedelta(hours=6)}
    batch = a_batch(stage="packing", ended_at=noon + timedelta(hours=22), **began)
    on_tray(an_item(batch, mass_kg=0.8), 1, 0.8)
    for hour in (12, 16, 20):
        a_weighing(batch, hour, 129.0, resolution_g=0.1)
    judging.DRYNESS.work_out(batch.pk)
    return batch


def judged_dry_before_a_new_weighing() -> Batch:
    """Food that was dry by the last answer; that does not know yet what was seen since."""
    batch = judged_dry()
    a_weighing(batch, 21, 140.0)
    return batch


@pytest.fixture
def few_members(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(judging, "MEMBERS", 200)


@pytest.mark.usefixtures("few_members")
@pytest.mark.parametrize("make", [never_judged, on_no_tray, judged_wet, judged_dry_before_a_new_weighing])
def test_packing_what_is_not_known_to_be_dry_needs_a_confirmation_that_is_written_down(
    client: Client, make: Callable[[], Batch]
) -> None:
    batch, where = make(), place()
    item = batch.items.get()
    address = f"/batches/{batch.pk}/packing/"
    assert 'name="confirmed"' in client.get(address).content.decode()
    unticked = {name: value for name, value in form(item.pk, where.pk).items() if name != "confirmed"}
    answer = client.post(f"{address}pack/", unticked)
    assert answer.status_code == 422
    assert "or tick this to pack it anyway" in answer.content.decode()
    assert not Package.objects.exists()
    assert not Unproved.objects.exists()
    assert client.post(f"{address}pack/", form(item.pk, where.pk)).status_code == 302
    row = Unproved.objects.kept().get()
    assert (row.item, row.packed) == (item, True)
    assert (row.chance is not None) == (make is judged_wet)
    code = Package.objects.all()[0].code
    told = "packed without knowing that it was dry"
    for page in (f"/pantry/p/{code}/", f"/batches/{batch.pk}/done/", address, "/history/"):
        assert told in client.get(page).content.decode(), page
    secret = new_token("screen", "read")[1]
    seen = client.get(f"/api/v1/batches/{batch.pk}", headers={"Authorization": f"Bearer {secret}"}).json()
    assert [(one["item"], one["packed"]) for one in seen["unproved"]] == [(item.pk, True)]
    if row.tray is not None:
        sheet = page_texts(client.get(f"/batches/{batch.pk}/sheet.pdf").content)[0]
        assert told in " ".join(sheet.split())
    client.post(f"{address}unpack/", {"item": item.pk})
    assert not Unproved.objects.kept().exists()


@pytest.mark.usefixtures("few_members")
def test_packing_what_is_dry_asks_nothing(client: Client) -> None:
    batch, where = judged_dry(), place()
    item = batch.items.get()
    address = f"/batches/{batch.pk}/packing/"
    assert 'name="confirmed"' not in client.get(address).content.decode()
    data = {name: value for name, value in form(item.pk, where.pk).items() if name != "confirmed"}
    assert client.post(f"{address}pack/", data).status_code == 302
    assert Package.objects.exists()
    assert not Unproved.objects.exists()


def test_what_was_confirmed_on_the_way_to_packing_is_not_asked_again_and_is_undone_with_it(client: Client) -> None:
    batch, where = never_judged(), place()
    records.change(
        batch,
        {"stage": "proof", "started_at": timezone.now() - timedelta(hours=30), "ended_at": timezone.now()},
        expected=batch.version,
    )
    client.post(f"/batches/{batch.pk}/move/", {"stage": "packing", "confirmed": "yes"})
    address = f"/batches/{batch.pk}/packing/"
    assert 'name="confirmed"' not in client.get(address).content.decode()
    data = {name: value for name, value in form(batch.items.get().pk, where.pk).items() if name != "confirmed"}
    assert client.post(f"{address}pack/", data).status_code == 302
    assert Unproved.objects.kept().get().packed
    last = Change.objects.filter(kind="pantry.package").first()
    assert last is not None
    client.post(f"/undo/{last.pk}/")
    assert not Package.objects.kept().exists()
    assert not Unproved.objects.kept().get().packed


def test_food_of_which_nobody_has_said_anything_says_so_down_to_the_label(client: Client) -> None:
    cellar, batch = place(), a_batch(stage="packing")
    parts = {"water": 0.8, "protein": 0.1, "carbohydrate": 0.1}
    own = food_of(f"own:{records.create(OwnFood(name='Camarones', composition=parts)).pk}")
    item = an_item(batch, own)
    page = client.get(f"/batches/{batch.pk}/packing/").content.decode()
    assert "MAY BE RAW – COOK BEFORE EATING" in page
    assert "Allergens: not stated. Ask whoever made it." in page
    values = contents_of(own, 0.1, 0.02)
    made = package(cellar, batch=batch, item=item, food=own.id, name=own.name, lot=batch.lot, **values)
    assert (made.raw_animal, made.allergens) == (None, ["not stated"])
    records.change(batch, {"stage": "labels"}, expected=batch.version)
    (text,) = page_texts(client.get(f"/batches/{batch.pk}/labels.pdf?sheet=letter-2x5").content)
    assert "MAY BE RAW – COOK BEFORE EATING" in text
    assert "Allergens: not stated. Ask whoever made it." in text

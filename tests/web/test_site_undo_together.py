"""Actions that write several records: one undo takes them back, or says what stays."""

import re

import pytest
from django.test import Client

from drystow.web.accounts import people
from drystow.web.batches.models import Batch, Load
from drystow.web.kit import records
from drystow.web.kit.models import Change
from drystow.web.pantry import actions
from drystow.web.pantry.models import Movement, Package
from tests.web.batch_rows import CARROTS, a_batch, an_item, on_tray
from tests.web.lan import LAN, PASSWORD, device, sign_in
from tests.web.pantry_rows import package, place
from tests.web.test_batches_packing import form


def press_undo(client: Client, page: str) -> str:
    """Press the undo of the message on a page and return the page that follows."""
    found = re.search(r'action="(/undo/\d+/)" class="undo"', page)
    assert found is not None
    return client.post(found[1], {"next": "/history/"}, follow=True).content.decode()


def on_the_trays() -> list[tuple[int, float]]:
    return sorted((load.tray, round(load.mass_kg, 3)) for load in Load.objects.kept())


def test_one_undo_takes_back_the_spreading_over_the_trays(client: Client) -> None:
    batch = a_batch()
    on_tray(an_item(batch), 1, 1.6)
    on_tray(an_item(batch, CARROTS), 1, 0.5)
    before = on_the_trays()
    page = client.post(f"/batches/{batch.pk}/trays/spread/", follow=True).content.decode()
    assert on_the_trays() != before
    page = press_undo(client, page)
    assert "All undone." in page
    assert on_the_trays() == before
    press_undo(client, page)  # taking back is one action too
    assert on_the_trays() != before


def test_one_undo_takes_back_a_packing_with_its_stage(client: Client) -> None:
    batch, where = a_batch(stage="packing"), place()
    item = an_item(batch)
    page = client.post(
        f"/batches/{batch.pk}/packing/pack/", form(item.pk, where.pk, container="jar-pint"), follow=True
    ).content.decode()
    assert Package.objects.kept().count() > 1
    assert Batch.objects.get().stage == "labels"
    press_undo(client, page)
    assert Package.objects.kept().count() == 0
    assert Batch.objects.get().stage == "packing"


def test_a_package_that_was_used_since_stays_and_is_named(client: Client) -> None:
    batch, where = a_batch(stage="packing"), place()
    item = an_item(batch)
    page = client.post(
        f"/batches/{batch.pk}/packing/pack/", form(item.pk, where.pk, container="jar-pint"), follow=True
    ).content.decode()
    used = Package.objects.kept().first()
    assert used is not None
    actions.take(used, "used", 0.01, expected=1, who="Ben")
    page = press_undo(client, page)
    assert "Partly undone" in page
    assert re.search(r"left alone: Package Blueberries", page)
    assert list(Package.objects.kept()) == [used]


def test_one_undo_takes_back_a_count_of_the_stock(client: Client) -> None:
    cellar, attic = place("Cellar"), place("Attic")
    less, gone, lost = package(cellar), package(cellar), package(attic)
    fields = {f"{less.code}-found": "80 g", f"{gone.code}-gone": "on", "strangers": lost.code}
    fields |= {f"{one.code}-version": "1" for one in (less, gone)}
    page = client.post(f"/pantry/count/?place={cellar.pk}", fields, follow=True).content.decode()
    assert "3 packages were corrected" in page
    assert "All undone." in press_undo(client, page)
    now = {one.pk: one for one in Package.objects.all()}
    assert [now[one.pk].left_mass_kg for one in (less, gone)] == pytest.approx([0.1, 0.1])
    assert now[gone.pk].state == "stored"
    assert now[lost.pk].place == attic
    for one in (less, gone):  # masses add up: what was counted away was counted back
        counted = Movement.objects.filter(package=one, kind="counted").values_list("mass_kg", flat=True)
        assert sum(counted) == pytest.approx(0.0)


def test_a_count_that_found_nothing_new_offers_no_undo_of_something_else(client: Client) -> None:
    cellar = place()
    here = package(cellar)
    page = client.post(f"/pantry/count/?place={cellar.pk}", {"strangers": here.code}, follow=True).content.decode()
    assert "everything matches" in page
    assert 'class="undo"' not in page


def test_the_history_shows_one_action_as_one_and_can_undo_a_part_of_it(client: Client) -> None:
    cellar = place()
    less, gone = package(cellar), package(cellar)
    fields = {f"{less.code}-found": "80 g", f"{gone.code}-gone": "on"}
    client.post(f"/pantry/count/?place={cellar.pk}", fields)
    page = client.get("/history/").content.decode()
    assert page.count("2 changes at once") == 1
    assert page.count("Undo only this") == 2
    assert page.count("Undo all of it") == 1
    change = Change.objects.get(object_id=less.pk, kind="pantry.package", version=2)
    client.post(f"/undo/{change.pk}/only/")
    assert Package.objects.get(pk=less.pk).left_mass_kg == pytest.approx(0.1)
    assert Package.objects.get(pk=gone.pk).left_mass_kg == 0.0


def test_when_all_was_changed_since_nothing_is_undone(client: Client) -> None:
    cellar = place()
    one, two = package(cellar), package(cellar)
    fields = {f"{one.code}-found": "80 g", f"{two.code}-found": "70 g"}
    page = client.post(f"/pantry/count/?place={cellar.pk}", fields, follow=True).content.decode()
    for each in (one, two):
        each.refresh_from_db()
        actions.take(each, "used", 0.01, expected=2)
    assert "Nothing was undone" in press_undo(client, page)
    assert [each.left_mass_kg for each in Package.objects.order_by("pk")] == pytest.approx([0.07, 0.06])


def test_a_helper_may_not_undo_an_action_that_touches_what_only_owners_write() -> None:
    with records.one_action():
        cellar = place()
        records.change(records.kitchen(), {"name": "Ours"}, expected=1)
    change = records.history(cellar).first()
    with LAN:
        people.add("ben", people.HELPER, PASSWORD)
        helper = device()
        sign_in(helper, "ben")
        assert helper.post(f"/undo/{change.pk}/").status_code == 403

"""One food in several kinds and sizes of package: what is left stays visible, and everything adds up."""

import re
from typing import Any

import pytest
from django.test import Client

from drystow.web.batches.models import Batch, Item
from drystow.web.costs import sums
from drystow.web.costs.models import BatchSums
from drystow.web.kit import records
from drystow.web.kit.models import Change
from drystow.web.packing.packed import packages_of, packed_foods
from drystow.web.packing.spec import come_to, save_costs
from drystow.web.pantry.models import Package, Place
from tests.web.batch_rows import CARROTS, a_batch, an_item
from tests.web.pantry_rows import place, today


def send(client: Client, item: Item, where: Place, part: str = "", **values: object) -> Any:
    """Pack a part of 240 g."""
    usual = {"item": item.pk, "dry": "240 g", "part": part, "moisture": "3%", "container": "jar-pint"}
    usual |= {"confirmed": "on"}
    usual |= {"place": where.pk, "packed_on": today().isoformat(), "version": Item.objects.get(pk=item.pk).version}
    return client.post(f"/batches/{item.batch_id}/packing/pack/", usual | values)


def page(client: Client, item: Item) -> str:
    """The packing page in grams."""
    html = client.get(f"/batches/{item.batch_id}/packing/?units=si").content.decode()
    return re.sub(r"\s+", " ", html.replace("\N{NO-BREAK SPACE}", " "))


def left(item: Item) -> float:
    """Still to be packed [kg]."""
    row = Item.objects.get(pk=item.pk)
    return packed_foods([row], packages_of(row.batch))[row.pk].left


def berries(**values: Any) -> tuple[Item, Place]:
    return an_item(a_batch(stage="packing", **values), price=12.0), place()


def test_four_snack_jars_and_the_rest_in_bags(client: Client) -> None:
    """4 jars of 25 g and 2 bags of 70 g are 240 g; a price of 12 is 5 for the jars and 7 for the bags."""
    item, cellar = berries()
    assert send(client, item, cellar, "100 g", count=4).headers["Location"].endswith("/packing/")
    told = page(client, item)
    assert "100 g of 240 g" in told
    assert "140 g is not packed yet." in told
    assert "4 × pint glass jar" in told
    assert 'value="240 g"' in told
    assert Batch.objects.get().stage == "packing"
    rest = send(client, item, cellar, container="pouch-foil7-8x12", count=2)
    assert rest.headers["Location"].endswith("/labels/")
    assert Batch.objects.get().stage == "labels"
    masses = [(one.container, one.net_mass_kg, one.cost) for one in Package.objects.order_by("pk")]
    assert masses == [
        *[("jar-pint", pytest.approx(0.025), pytest.approx(1.25))] * 4,
        *[("pouch-foil7-8x12", pytest.approx(0.07), pytest.approx(3.5))] * 2,
    ]
    assert all(one.absorbers and one.best_before for one in Package.objects.all())
    assert "not packed yet" not in page(client, item)
    labels = client.get(f"/batches/{item.batch_id}/labels/").content.decode()
    assert "6 labels" in labels


def test_each_kind_has_its_own_place_day_and_use(client: Client) -> None:
    item, cellar = berries()
    attic = place("Attic", temperature_c=28.0)
    send(client, item, cellar, "100 g", count=4)
    send(client, item, attic, "140 g", powder="on", container="pouch-foil7-8x12")
    first, *_, last = Package.objects.order_by("pk")
    assert (first.place, last.place, first.powder, last.powder) == (cellar, attic, False, True)
    assert first.best_before > last.best_before  # the attic is warmer


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"part": "150 g"}, "only 140 g of the dried food is left"),
        ({"dry": "90 g"}, "100 g is packed or gone already"),
        ({"dry": "100 g"}, "all of it is packed"),
    ],
)
def test_packages_never_hold_more_than_was_dried_without_a_word(
    client: Client, values: dict[str, str], words: str
) -> None:
    item, cellar = berries()
    send(client, item, cellar, "100 g", count=4)
    client.cookies["units"] = "si"
    answer = send(client, item, cellar, **values)
    assert answer.status_code == 422
    assert words in answer.content.decode().replace("\N{NO-BREAK SPACE}", " ")
    assert Package.objects.count() == 4


def test_who_dried_more_than_was_weighed_puts_the_weight_right(client: Client) -> None:
    item, cellar = berries()
    send(client, item, cellar)
    assert left(item) == 0.0
    again = send(client, item, cellar)
    assert again.status_code == 422
    assert "all of it is packed; if you dried more, enter how much it was in all" in again.content.decode()
    assert 'name="dry"' not in page(client, item)
    more = f"?more={item.pk}"
    assert more in page(client, item)
    assert 'name="dry"' in client.get(f"/batches/{item.batch_id}/packing/{more}").content.decode()
    assert send(client, item, cellar, dry="290 g").status_code == 302
    assert sum(one.net_mass_kg for one in Package.objects.all()) == pytest.approx(0.29)


def test_a_page_from_before_somebody_packed_is_told(client: Client) -> None:
    item, cellar = berries()
    send(client, item, cellar, "100 g", count=4, before=0)
    answer = send(client, item, cellar, "50 g", before=0)
    assert answer.status_code == 422
    assert "someone packed some of it meanwhile" in answer.content.decode()
    assert Package.objects.count() == 4
    assert 'name="before" value="100000"' in page(client, item)


def test_one_kind_is_taken_back_and_the_other_stays(client: Client) -> None:
    item, cellar = berries()
    send(client, item, cellar, "100 g", count=4)
    send(client, item, cellar, container="pouch-foil7-8x12", count=2)
    bags = Package.objects.filter(container="pouch-foil7-8x12").order_by("pk")[0]
    where = f"/batches/{item.batch_id}/packing/"
    client.post(f"{where}unpack/", {"item": item.pk, "group": bags.pk})
    assert {one.container for one in Package.objects.kept()} == {"jar-pint"}
    assert left(item) == pytest.approx(0.14)
    assert Batch.objects.get().stage == "packing"


def test_undo_takes_back_one_packing_as_a_whole(client: Client) -> None:
    item, cellar = berries()
    send(client, item, cellar, "100 g", count=4)
    send(client, item, cellar, container="pouch-foil7-8x12", count=2)
    last = Change.objects.filter(kind="pantry.package").first()
    assert last is not None
    client.post(f"/undo/{last.pk}/", {})
    assert Package.objects.kept().count() == 4
    assert left(item) == pytest.approx(0.14)
    assert Batch.objects.get().stage == "packing"


def test_what_is_left_is_told_on_the_labels_and_at_the_end(client: Client) -> None:
    item, cellar = berries()
    send(client, item, cellar, "100 g", count=4)
    for stage in ("labels", "done"):
        told = client.get(f"/batches/{item.batch_id}/{stage}/?units=si").content.decode()
        assert "140 g is not packed yet." in told.replace("\N{NO-BREAK SPACE}", " "), stage


def test_a_rest_that_was_eaten_is_yield_and_not_left(client: Client) -> None:
    item, cellar = berries()
    send(client, item, cellar, "200 g", container="jar-quart")
    where = f"/batches/{item.batch_id}/packing/"
    client.post(f"{where}aside/", {"item": item.pk})
    assert left(item) == 0.0
    assert "40 g eaten or lost" in page(client, item)
    outcome, _, _ = come_to(Batch.objects.get())
    assert (outcome.dried, outcome.packed, outcome.left) == pytest.approx((0.24, 0.2, 0.0))
    change = Change.objects.filter(kind="batches.item").first()
    assert change is not None
    client.post(f"/undo/{change.pk}/", {})
    assert left(item) == pytest.approx(0.04)


def test_yields_and_costs_add_up_over_all_packages(client: Client) -> None:
    """Two foods; energy 10 kWh at 0.20 a kWh, packaging 3: 5 + 12 + 6 for 240 + 120 g."""
    batch, cellar = a_batch(stage="packing", energy_kwh=10.0, packaging_cost=3.0), place()
    kitchen = records.kitchen()
    records.change(kitchen, {"tariff_per_kwh": 0.2}, expected=kitchen.version)
    first, second = an_item(batch, price=12.0, mass_kg=1.5), an_item(batch, CARROTS, price=6.0, mass_kg=1.0)
    send(client, first, cellar, "100 g", count=4)
    send(client, second, cellar, dry="120 g", container="jar-quart")
    outcome, _, _ = come_to(Batch.objects.get())
    assert (outcome.dried, outcome.packed, outcome.left) == pytest.approx((0.36, 0.22, 0.14))
    assert outcome.share == pytest.approx(0.36 / 2.5)
    save_costs(Batch.objects.get(), who="Ana")
    packed = sum(one.cost for one in Package.objects.all())
    assert packed == pytest.approx(5 * 0.22 / 0.36 + 12 * 100 / 240 + 6, abs=1e-3)
    send(client, first, cellar, container="pouch-foil7-8x12", count=2)
    save_costs(Batch.objects.get(), who="Ana")
    assert sum(one.cost for one in Package.objects.all()) == pytest.approx(5 + 12 + 6, abs=1e-3)


def test_what_is_packed_after_the_end_gets_its_cost_too(client: Client) -> None:
    """Energy 10 kWh at 0.20 and 12 for the food: 14 for 240 g."""
    item, cellar = berries(energy_kwh=10.0)
    kitchen = records.kitchen()
    records.change(kitchen, {"tariff_per_kwh": 0.2}, expected=kitchen.version)
    send(client, item, cellar, "100 g", count=4)
    where = f"/batches/{item.batch_id}/done/"
    batch = Batch.objects.get()
    assert client.post(f"{where}finish/", {"version": batch.version, "energy": "10 kWh"}).status_code == 302
    assert sum(one.cost for one in Package.objects.all()) == pytest.approx(14 * 100 / 240, abs=1e-3)
    send(client, item, cellar, container="pouch-foil7-8x12", count=2)
    assert sum(one.cost for one in Package.objects.all()) == pytest.approx(14.0, abs=1e-3)


def test_the_sums_of_the_batches_count_what_is_not_packed_yet(client: Client) -> None:
    from django.utils import timezone

    item, cellar = berries(ended_at=timezone.now())
    send(client, item, cellar, "100 g", count=4)
    sums.rebuild_sums()
    assert BatchSums.objects.get().dried_kg == pytest.approx(0.24)

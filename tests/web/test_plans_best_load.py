"""The best load of a batch: wishes, the search beside the requests, and using what it found."""

import html
import math
import re
from dataclasses import replace

import pytest
from django.test import Client
from django.utils import timezone

from drystow.foods import table
from drystow.machine.run import simulate
from drystow.messages import Message
from drystow.planning.load.best_load import plan_load
from drystow.web.accounts import people
from drystow.web.batches.adapters import predict, predict_overload, tray_loads
from drystow.web.batches.models import Batch, Item, Load
from drystow.web.foods.models import OwnFood
from drystow.web.foods.spec import foods_of
from drystow.web.kit import records
from drystow.web.kit.answers import KeptAnswer
from drystow.web.plans import batch_adapters
from drystow.web.plans.batch_adapters import basket_of, load_question
from drystow.web.plans.found import BEST_LOAD, FoundLoad
from drystow.web.plans.laying import use_load
from tests.web.batch_rows import BERRIES, CARROTS, CHICKEN, ONIONS, a_batch, an_item, on_tray
from tests.web.lan import LAN, PASSWORD, device, sign_in
from tests.web.queries import queries
from tests.web.waiting import clear, waits

WORDS = re.compile(r"<[^>]+>")


def carrots(**values: object) -> Batch:
    batch = a_batch()
    an_item(batch, CARROTS, **({"shape": "slab", "size_m": 0.006, "mass_kg": 1.2} | values))
    return batch


def text(client: Client, address: str) -> str:
    page = client.get(address).content.decode()
    return " ".join(html.unescape(WORDS.sub(" ", page)).split())


def wish(client: Client, batch: Batch, **more: str) -> object:
    sent = {"time": "30 h", "share": "1", "smells": "on", "colours": "on"} | more
    return client.post(f"/batches/{batch.pk}/best-load/", sent)


def search(client: Client, batch: Batch, **more: str) -> KeptAnswer[FoundLoad]:
    assert wish(client, batch, **more).status_code == 302
    found = BEST_LOAD.work_out(batch.pk)
    assert found is not None
    clear()
    return found


def use(client: Client, row: KeptAnswer[FoundLoad], **more: str) -> object:
    sent = {"fingerprint": row.fingerprint} | more
    return client.post(f"/batches/{row.subject}/best-load/use/", sent)


def test_the_page_asks_what_is_wished_with_thirty_hours_at_first(client: Client) -> None:
    batch = carrots()
    page = client.get(f"/batches/{batch.pk}/best-load/").content.decode()
    assert 'value="30 h"' in page
    assert "Carrots, raw" in page
    assert "Use this load" not in page


def test_the_time_wished_for_is_at_first_that_of_the_load_as_it_lies(client: Client) -> None:
    batch = carrots()
    on_tray(Item.objects.get(), 1, 0.8)
    page = client.get(f"/batches/{batch.pk}/best-load/").content.decode()
    hours = float(re.search(r'name="time" value="([\d.]+) h"', page)[1])
    assert hours * 2 == round(hours * 2)
    assert hours * 3600 >= predict(batch)[0].total_time  # 8 of 10 runs take longer than the middle one


def test_an_empty_basket_says_what_to_do(client: Client) -> None:
    assert "Add food first" in text(client, f"/batches/{a_batch().pk}/best-load/")


def test_a_search_runs_beside_the_requests_and_tells_how_far_it_is(client: Client) -> None:
    batch = carrots()
    answer = wish(client, batch)
    assert answer.headers["Location"] == f"/batches/{batch.pk}/best-load/#found"
    assert waits(BEST_LOAD.task) == [batch.pk]
    BEST_LOAD.task.tell(batch.pk, 12)
    said = text(client, f"/batches/{batch.pk}/best-load/")
    assert "12 loads tried so far" in said
    assert "Check again" in said  # without JavaScript
    part = client.get(f"/batches/{batch.pk}/best-load/", headers={"HX-Request": "true"}).content.decode()
    assert part.lstrip().startswith('<section id="found" hx-get=')


def test_a_search_that_was_broken_off_says_so(client: Client) -> None:
    batch = carrots()
    wish(client, batch)
    clear()  # as after a restart
    assert "stopped before it found anything" in text(client, f"/batches/{batch.pk}/best-load/")


def test_a_search_can_be_stopped(client: Client) -> None:
    batch = carrots()
    wish(client, batch)
    assert "Stop searching" in text(client, f"/batches/{batch.pk}/best-load/")
    answer = client.post(f"/batches/{batch.pk}/best-load/stop/")
    assert answer.headers["Location"] == f"/batches/{batch.pk}/best-load/"
    assert BEST_LOAD.work_out(batch.pk) is None
    clear()
    assert "stopped before it found anything" in text(client, f"/batches/{batch.pk}/best-load/")
    assert search(client, batch).result.parts  # asked again, it is searched for again


def test_what_is_found_is_what_the_engine_finds_and_is_shown(client: Client) -> None:
    batch = carrots()
    row = search(client, batch)
    plan = plan_load(load_question(batch, row.asked, basket_of(batch)).counter)
    found = row.result
    assert [(part.tray, part.mass) for part in found.parts] == [(tray.tray, tray.mass) for tray in plan.trays]
    assert found.sure == pytest.approx(plan.end.p80, rel=1e-4)
    said = text(client, f"/batches/{batch.pk}/best-load/")
    assert plan.end.p80 > 10 * 3600  # hours alone from there on
    assert f"In 8 of 10 simulated runs, dry within {math.ceil(plan.end.p80 / 3600)} h" in said
    assert "Ice on the cold trap" in said
    assert "per lb of fresh food" in said
    assert "Tray 1" in said
    assert "Use this load" in said


def test_using_it_writes_cut_and_trays_and_one_undo_takes_all_back(client: Client) -> None:
    batch = carrots(mass_kg=4.0)
    item = Item.objects.get()
    on_tray(item, 4, 0.3)
    row = search(client, batch, **{f"food{item.pk}-thin": "4 mm", f"food{item.pk}-thick": "10 mm"})
    found = row.result
    assert abs(found.parts[0].size - 0.006) > 1e-4
    answer = use(client, row)
    assert answer.headers["Location"] == f"/batches/{batch.pk}/trays/"
    assert Item.objects.get().size_m == pytest.approx(found.parts[0].size, abs=1e-6)
    lying = Load.objects.kept().values_list("tray", "mass_kg")
    assert sorted(lying) == sorted((part.tray, pytest.approx(part.mass)) for part in found.parts)
    page = client.get(f"/batches/{batch.pk}/trays/").content.decode()
    assert "This load is on the trays." in text(client, f"/batches/{batch.pk}/best-load/")
    undo = re.search(r'action="(/undo/\d+/)"', page)[1]
    client.post(undo)
    assert Item.objects.get().size_m == 0.006
    assert list(Load.objects.kept().values_list("tray", "mass_kg")) == [(4, 0.3)]


def test_the_batch_then_takes_as_long_as_the_engine_said(client: Client) -> None:
    """A tray that is partly covered by a layer keeps the area that the engine gave it."""
    batch = carrots(mass_kg=0.5)
    row = search(client, batch)
    plan = plan_load(load_question(batch, row.asked, basket_of(batch)).counter)
    use(client, row)
    now = Batch.objects.get()
    assert predict_overload(now, tray_loads(now)).total_time == pytest.approx(simulate(plan.load).total_time, rel=1e-3)


def test_what_is_left_over_stays_in_the_basket_and_is_told(client: Client) -> None:
    batch = carrots(mass_kg=30.0)
    row = search(client, batch)
    said = text(client, f"/batches/{batch.pk}/best-load/")
    assert re.search(r"lb of Carrots, raw stays in the basket: \w", said)
    page = use(client, row)
    assert Item.objects.get().mass_kg == 30.0
    said = text(client, page.headers["Location"])
    assert "What is left over stays in the basket." in said


def test_a_wish_that_cannot_be_met_gives_the_nearest_load(client: Client) -> None:
    batch = carrots()
    search(client, batch, time="2 h", **{f"food{Item.objects.get().pk}-must": "on"})
    said = text(client, f"/batches/{batch.pk}/best-load/")
    assert "The closest load that works" in said
    assert "Different from what you asked: All of Carrots, raw takes at least" in said
    assert "Use this load" in said


def test_ice_that_gets_too_warm_is_told_with_the_way_to_a_better_program(client: Client) -> None:
    batch = a_batch(program=[{"shelf_c": 60.0, "hours": None}])
    an_item(batch, table.get("Applesauce, unsweetened"), shape="slab", size_m=0.01, mass_kg=1.0)
    row = search(client, batch, time="200 h")
    assert row.result.parts[0].too_warm
    page = client.get(f"/batches/{batch.pk}/best-load/").content.decode()
    assert "gets warmer than its limit" in page
    assert f'href="/batches/{batch.pk}/best-program/"' in page


def test_raw_meat_and_berries_are_parted_by_their_marks(client: Client) -> None:
    batch = a_batch()
    an_item(batch, CHICKEN, shape="slab", size_m=0.008, mass_kg=0.8)
    an_item(batch, BERRIES, mass_kg=0.8)
    row = search(client, batch)
    assert len({part.item for part in row.result.parts}) == 1
    assert "germs survive freeze-drying" in text(client, f"/batches/{batch.pk}/best-load/")


def test_an_own_food_keeps_its_marks(client: Client) -> None:
    parts = {"water": 0.75, "protein": 0.2, "fat": 0.03, "carbohydrate": 0.0, "fibre": 0.0, "ash": 0.02}
    own = records.create(
        OwnFood(name="Elk, our own", food_class="meat", composition=parts, raw_animal=True, allergens=["celery"])
    )
    batch = a_batch()
    item = Item(batch=batch, food=f"own:{own.pk}", name=own.name, mass_kg=0.8, shape="slab", size_m=0.008)
    records.create(item)
    an_item(batch, CARROTS, shape="slab", size_m=0.006, mass_kg=0.5)
    asked = {"time_h": 40.0, "share": 1, "apart": [], "foods": {}}
    wish_of_elk = load_question(batch, asked, basket_of(batch)).counter.wishes[0]
    assert wish_of_elk.full[0].food.raw_animal
    assert wish_of_elk.full[0].food.allergens == ("celery",)


def test_wrong_wishes_come_back_with_the_reason(client: Client) -> None:
    batch = carrots()
    number = Item.objects.get().pk
    page = wish(client, batch, **{f"food{number}-thin": "9 mm", f"food{number}-thick": "5 mm"}).content.decode()
    assert "thinner than the thinnest" in page
    page = wish(client, batch, **{f"food{number}-thick": "90 mm"}).content.decode()
    assert "above the tray" in html.unescape(page)
    assert 'value="90 mm"' in page
    page = wish(client, batch, time="soon").content.decode()
    assert "soon" in page
    assert BEST_LOAD.kept(batch.pk) is None


def test_a_changed_basket_makes_what_was_found_outdated_and_it_cannot_be_used(client: Client) -> None:
    batch = carrots()
    row = search(client, batch)
    item = Item.objects.get()
    records.change(item, {"mass_kg": 0.9}, expected=item.version)
    said = text(client, f"/batches/{batch.pk}/best-load/")
    assert "has changed since, so this may no longer fit" in said
    assert "Use this load" not in said
    page = use(client, row).content.decode()
    assert "Someone changed the batch" in page
    assert not Load.objects.exists()


def test_a_change_at_the_same_moment_is_not_overwritten(client: Client) -> None:
    batch = carrots(mass_kg=4.0)
    item = Item.objects.get()
    row = search(client, batch, **{f"food{item.pk}-thin": "4 mm", f"food{item.pk}-thick": "10 mm"})
    seen = basket_of(batch)
    records.change(item, {"size_m": 0.005}, expected=item.version)
    with pytest.raises(records.Conflict):
        use_load(seen, row.result, who="")
    assert Item.objects.get().size_m == 0.005
    assert not Load.objects.exists()


def test_a_title_changed_meanwhile_does_not_matter(client: Client) -> None:
    batch = carrots()
    row = search(client, batch)
    records.change(batch, {"title": "Another"}, expected=batch.version)
    assert use(client, row).status_code == 302


def test_the_load_of_a_begun_run_stays(client: Client) -> None:
    batch = carrots()
    row = search(client, batch)
    records.change(batch, {"started_at": timezone.now(), "stage": "running"}, expected=batch.version)
    assert "stays as it is" in use(client, row).content.decode()
    assert "stays as it is" in wish(client, batch).content.decode()
    assert BEST_LOAD.work_out(batch.pk) is None
    assert "Use this load" not in text(client, f"/batches/{batch.pk}/best-load/")


def test_wishes_that_changed_during_a_search_are_searched_for(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    batch = carrots()
    wish(client, batch)
    asked = []

    def question(pk: int, wishes: dict[str, object]) -> object:
        asked.append(wishes["time_h"])
        if len(asked) == 1:
            wish(client, batch, time="20 h")
        return find(pk, wishes)

    find = BEST_LOAD.recipe.rests_on
    monkeypatch.setattr(BEST_LOAD, "recipe", replace(BEST_LOAD.recipe, rests_on=question))
    found = BEST_LOAD.work_out(batch.pk)
    assert asked[:2] == [30.0, 20.0]
    assert found is not None
    assert found.asked["time_h"] == 20.0


def test_two_foods_side_by_side_take_as_long_in_the_batch_as_the_engine_said(client: Client) -> None:
    batch = a_batch()
    for food, size, mass in ((CARROTS, 0.006, 0.9), (ONIONS, 0.007, 0.7), (BERRIES, 0.009, 0.6)):
        an_item(batch, food, shape="cube", size_m=size, mass_kg=mass)
    row = search(client, batch, share="2", smells="", time="40 h")
    plan = plan_load(load_question(batch, row.asked, basket_of(batch)).counter)
    assert len({part.tray for part in row.result.parts}) < len(plan.trays)
    use(client, row)
    now = Batch.objects.get()
    assert predict_overload(now, tray_loads(now)).total_time == pytest.approx(simulate(plan.load).total_time, rel=0.02)


def test_what_the_dryer_has_learned_counts(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """Less heat from the shelf makes every run longer, whatever the food."""
    batch = carrots(mass_kg=0.5)
    usual = search(client, batch).result
    monkeypatch.setattr(batch_adapters, "calibration_for", lambda _dryer: {("contact", ""): (-2.0, 0.3)})
    assert "has changed since, so this may no longer fit" in text(client, f"/batches/{batch.pk}/best-load/")
    slow = search(client, batch).result
    assert slow.sure > 1.05 * usual.sure


def test_a_food_taken_out_of_the_basket_does_not_break_the_page(client: Client) -> None:
    batch = carrots()
    an_item(batch, BERRIES, mass_kg=0.4)
    search(client, batch)
    records.put_in_bin(Item.objects.get(name=CARROTS.name))
    assert "has changed since, so this may no longer fit" in text(client, f"/batches/{batch.pk}/best-load/")


def test_who_may_only_look_sees_what_was_found_and_cannot_search() -> None:
    with LAN:
        people.add("ana", people.OWNER, PASSWORD)
        people.add("cleo", people.VIEWER, PASSWORD)
        owner, viewer = device(), device()
        sign_in(owner, "ana")
        sign_in(viewer, "cleo")
        batch = carrots()
        row = search(owner, batch)
        page = viewer.get(f"/batches/{batch.pk}/best-load/").content.decode()
        assert "The best load found" in page
        assert "Use this load" not in page
        assert "<fieldset disabled" in page
        assert wish(viewer, batch).status_code == 403
        assert use(viewer, row).status_code == 403


def test_sentences_of_the_engine_are_kept_with_their_patterns(client: Client) -> None:
    """So that another language can be told from what was kept."""
    batch = carrots()
    row = search(client, batch, time="2 h", **{f"food{Item.objects.get().pk}-must": "on"})
    row = BEST_LOAD.kept(batch.pk)
    words = row.result.refusal[0]
    assert isinstance(words, Message)
    assert words.values["wished"] == 2.0


def test_ways_lead_to_it_from_basket_and_trays(client: Client) -> None:
    batch = carrots()
    for page in ("basket", "trays"):
        assert f'href="/batches/{batch.pk}/best-load/"' in client.get(f"/batches/{batch.pk}/{page}/").content.decode()


def test_few_questions_to_the_database_however_many_foods(client: Client) -> None:
    batch = carrots()
    an_item(batch, BERRIES, mass_kg=0.5)
    search(client, batch)
    foods_of([])
    with queries(at_most=10):
        client.get(f"/batches/{batch.pk}/best-load/")

"""The page of one package, and what is done there."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from drystow.foods import table
from drystow.web.kit import records
from drystow.web.kit.models import Change
from drystow.web.pantry import actions, dates
from drystow.web.pantry.models import Movement, Package, Place
from drystow.web.pantry.readings import add_readings
from tests.engine.pdf_reading import page_texts
from tests.engine.test_reports_water_back import SHOWN, check_sum
from tests.web.pantry_rows import package, place, today
from tests.web.queries import queries


def seen(client: Client, made: Package) -> str:
    """The page of a package."""
    return client.get(f"/pantry/p/{made.code}/").content.decode().replace("\N{NO-BREAK SPACE}", " ")


def post(client: Client, code: str, action: str, **data: object):  # type: ignore[no-untyped-def]
    return client.post(f"/pantry/p/{code}/{action}/", data, follow=True)


def balance(one: Package) -> float:
    """Packed, less what went out, plus what was counted."""
    signs = {"packed": 1, "used": -1, "given": -1, "discarded": -1, "counted": 1}
    return sum(signs[move.kind] * (move.mass_kg or 0) for move in one.movements.all() if move.kind in signs)


def test_the_code_opens_the_package_also_in_small_letters(client: Client) -> None:
    made = package(place())
    page = client.get(f"/pantry/p/{made.code.lower()}/").content.decode()
    assert "Strawberries" in page
    assert "A-1" in page
    assert "best before" in page
    assert client.get("/pantry/p/NOTHIN/").status_code == 404


def test_a_package_is_used_in_two_parts(client: Client) -> None:
    made = package(place())
    post(client, made.code, "use", version=1, mass="40 g")
    half = Package.objects.get()
    assert (round(half.left_mass_kg, 4), half.state, half.opened_on) == (0.06, "open", today())
    answer = post(client, made.code, "use", version=half.version, share="1")
    empty = Package.objects.get()
    assert (empty.left_mass_kg, empty.state) == (0.0, "used")
    assert "Nothing is left of this package" in answer.content.decode()
    assert [move.kind for move in empty.movements.all()] == ["packed", "used", "used"]
    assert balance(empty) == pytest.approx(0.0, abs=1e-9)


def test_after_taking_a_part_its_own_water_is_told(client: Client) -> None:
    """40 of 100 g need 0.4 of the water of the full package, which is set to 800 g here: 320 mL."""
    made = package(place(), water_to_add_kg=0.8)
    client.cookies["units"] = "si"
    answer = post(client, made.code, "use", version=1, mass="40 g")
    assert "Add up to 320 mL of water to it." in answer.content.decode()


def test_a_share_is_of_what_is_left(client: Client) -> None:
    made = package(place())
    post(client, made.code, "use", version=1, share="0.5")
    post(client, made.code, "use", version=2, share="0.5")
    assert Package.objects.get().left_mass_kg == pytest.approx(0.025)


def test_more_than_is_left_is_refused_and_what_was_typed_stays(client: Client) -> None:
    made = package(place())
    answer = client.post(f"/pantry/p/{made.code}/use/", {"version": 1, "mass": "150 g"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "left is left" not in page
    assert "only 3.5 oz is left" in page
    assert 'value="150 g"' in page
    assert Package.objects.get().left_mass_kg == 0.1


def test_neither_weight_nor_share_is_told(client: Client) -> None:
    made = package(place())
    assert "enter a weight or choose a share" in post(client, made.code, "use", version=1).content.decode()


def test_a_double_tap_takes_only_once(client: Client) -> None:
    made = package(place())
    post(client, made.code, "use", version=1, mass="40 g")
    answer = post(client, made.code, "use", version=1, mass="30 g")
    assert "Someone changed this meanwhile" in answer.content.decode()
    assert Package.objects.get().left_mass_kg == pytest.approx(0.06)
    assert Movement.objects.filter(kind="used").count() == 1


def test_the_message_offers_to_undo_and_the_movements_stay_right(client: Client) -> None:
    made = package(place())
    answer = post(client, made.code, "use", version=1, mass="40 g")
    change = Change.objects.filter(kind="pantry.package").first()
    assert change is not None
    assert f"/undo/{change.pk}/" in answer.content.decode()
    client.post(f"/undo/{change.pk}/", {"next": f"/pantry/p/{made.code}/"})
    back = Package.objects.get()
    assert (back.left_mass_kg, back.state) == (0.1, "stored")
    assert balance(back) == pytest.approx(0.1)
    assert "undone" in seen(client, made)


def test_opening_is_noted_with_its_day(client: Client) -> None:
    made = package(place())
    answer = post(client, made.code, "open", version=1)
    assert Package.objects.get().opened_on == today()
    assert "it keeps as food does in a zip freezer bag" in answer.content.decode()
    assert Package.objects.get().best_before < made.best_before


def test_giving_away_needs_somebody_and_discarding_a_reason(client: Client) -> None:
    made = package(place())
    assert "Fill this in." in post(client, made.code, "give", version=1, share="1").content.decode()
    assert "Fill this in." in post(client, made.code, "discard", version=1, share="1").content.decode()
    post(client, made.code, "give", version=1, share="1", to="Food bank")
    assert Package.objects.get().state == "given"
    assert Movement.objects.get(kind="given").to == "Food bank"


def test_it_moves_to_another_place(client: Client) -> None:
    made, attic = package(place()), place("Attic", temperature_c=30.0)
    post(client, made.code, "move", version=1, place=attic.pk)
    assert Package.objects.get().place == attic
    assert Movement.objects.get(kind="moved").place == attic


def test_raw_meat_says_cook(client: Client) -> None:
    made = package(place(), food="f00001", raw_animal=True)
    assert "RAW – COOK BEFORE EATING" in seen(client, made)


def days_left(made: Package) -> int:
    """Days until the best-before date as the temperatures have it."""
    keeps = dates.closed(made, list(made.movements.select_related("place")), today())
    assert keeps is not None
    return (keeps.best_before - today()).days


def test_a_warm_past_shortens_the_life_and_logged_readings_count() -> None:
    cool = place("Cellar", temperature_c=15.0)
    made = package(cool, packed_on=today() - timedelta(days=200), absorbers="1 × 300 cc")
    usual = days_left(made)
    for back in range(0, 200, 7):
        at = timezone.now() - timedelta(days=back)
        add_readings(cool, [(at, 25.0)])
    assert days_left(made) < usual - 100


def test_a_date_that_warm_places_made_too_late_is_told_and_worked_out_again_on_demand(client: Client) -> None:
    loft = place("Loft", temperature_c=15.0)
    made = package(loft, packed_on=today() - timedelta(days=200))
    records.change(made, dates.again(made, [], today()), expected=1)
    assert "its date is too late" not in seen(client, made)
    add_readings(loft, [(timezone.now() - timedelta(days=back), 30.0) for back in range(0, 200, 7)])
    made.refresh_from_db()
    before = made.best_before
    assert "its date is too late" in seen(client, made)
    post(client, made.code, "reckon", version=made.version)
    made.refresh_from_db()
    assert made.best_before is not None
    assert before is not None
    assert made.best_before < before
    assert days_left(made) == (made.best_before - today()).days
    assert "its date is too late" not in seen(client, made)


@pytest.mark.parametrize(
    ("food", "moisture", "dated", "told"),
    [
        ("Cheese, cheddar", 0.02, "check by", "How long it keeps is not known, so check it after"),
        ("Rice, white, cooked, glutinous", 0.03, "best before", "a storage study of such food found no end"),
        ("Chicken, breast, boneless, skinless, raw", 0.02, "best before", "before its fat turns rancid (estimate)"),
    ],
)
def test_every_page_says_whether_a_date_is_one_to_eat_by_or_to_check(
    client: Client, food: str, moisture: float, dated: str, told: str
) -> None:
    """The package's page, its tag on the shelf, the list and the printed list say the same."""
    made = package(
        place(), food=table.get(food).id, name=food, absorbers="1 × 300 cc", container="can-10",
        residual_moisture=moisture, net_mass_kg=0.2,
    )  # fmt: skip
    records.change(made, dates.again(made, [], today()), expected=1)
    made.refresh_from_db()
    page, shelf = seen(client, made), client.get("/pantry/").content.decode()
    other = "best before" if dated == "check by" else "check by"
    assert told in page
    assert dated in page
    assert dated in shelf
    assert other not in shelf
    listed = " ".join(page_texts(client.get("/pantry/list.pdf").content))
    assert ("check by its date" in listed) is (dated == "check by")
    assert ("(check by)" in client.get("/pantry/list/").content.decode()) is (dated == "check by")


def test_what_is_over_is_told_on_the_page(client: Client) -> None:
    made = package(place(), packed_on=today() - timedelta(days=900), best_before=today() - timedelta(days=3))
    assert "Its date has passed" in seen(client, made)


def test_a_place_with_a_cold_winter_keeps_longer() -> None:
    same, seasonal = place("Shelf", temperature_c=25.0), place("Shed", temperature_c=25.0, winter_c=0.0)
    assert days_left(package(seasonal)) > days_left(package(same))


def test_water_to_add_is_that_of_the_dry_solids(client: Client) -> None:
    """Dry solids stay: 0.1 kg at 2% stands for 0.098 kg solids; the rest is arithmetic on the food's own water."""
    made = package(place())
    from drystow.foods.table import get

    solids = get(made.food).composition.solids
    assert made.water_to_add_kg == pytest.approx(0.098 / solids - 0.1, rel=1e-6)


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("mass", [0.0075, 0.0486, 0.2112, 0.9996])
def test_water_back_adds_up_on_the_page(client: Client, units: str, mass: float) -> None:
    made = package(place(), net_mass_kg=mass)
    client.get(f"/?units={units}")
    text = re.sub(r"<[^>]+>", "", seen(client, made))
    sums = re.findall(rf"({SHOWN.pattern}) \+ ({SHOWN.pattern}) [a-z]+ → ({SHOWN.pattern})", text)
    assert len(sums) >= 3
    for found in sums:
        check_sum(found[0], found[5], found[10])


def test_a_package_in_the_bin_cannot_be_used(client: Client) -> None:
    made = package(place())
    post(client, made.code, "bin", version=1)
    page = post(client, made.code, "use", version=1, mass="10 g").content.decode()
    assert "in the trash" in page
    assert Package.objects.get().left_mass_kg == 0.1


def test_the_page_asks_few_questions(client: Client) -> None:
    made = package(place())
    for number in range(10):
        records.change(made, {"basis": f"b{number}"}, expected=number + 1)
        Movement.objects.create(package=made, kind="moved", at=timezone.now(), place=made.place)
    client.get(f"/pantry/p/{made.code}/")
    with queries(at_most=9):
        client.get(f"/pantry/p/{made.code}/")


def test_a_code_that_is_taken_is_drawn_again(monkeypatch: pytest.MonkeyPatch) -> None:
    cellar = place()
    first = package(cellar)
    drawn = iter([first.code, first.code, "ZZZZZ9"])
    monkeypatch.setattr(actions, "new_code", lambda: next(drawn))
    assert package(cellar).code == "ZZZZZ9"
    assert Package.objects.count() == 2


def test_codes_have_no_letters_that_look_alike() -> None:
    drawn = "".join(actions.new_code() for _ in range(500))
    assert not set(drawn) & set("0O1ILU")
    assert len(actions.ALPHABET) ** actions.LENGTH > 500_000_000


def test_raw_is_what_the_package_says_not_the_table(client: Client) -> None:
    cellar, chicken = place(), "Chicken, breast, boneless, skinless, raw"
    cooked = seen(client, package(cellar, food=table.get(chicken).id, name="Cooked chicken", raw_animal=False))
    assert "Raw animal food" not in cooked
    assert "does not kill germs" not in cooked
    raw = seen(client, package(cellar, food=table.get(chicken).id, name="Chicken", raw_animal=True))
    assert "cook the middle to 165 °F (74 °C)" in raw  # poultry; USDA safe minimum temperatures (cooking-chart)


def test_a_raw_package_of_an_unknown_food_is_to_be_cooked_as_the_worst_case(client: Client) -> None:
    page = seen(client, package(place(), food="unknown", name="From the neighbour", raw_animal=True))
    assert "cook the middle to 165 °F (74 °C)" in page  # the highest of the chart (cooking-chart)
    assert "storage does not make food safe" in page
    assert "cook the middle to" not in seen(client, package(Place.objects.get(), food="unknown", name="Peas"))


def test_food_that_was_packed_moist_gets_advice_for_a_package(client: Client) -> None:
    page = seen(client, package(place(), residual_moisture=0.25))
    assert "before packing" not in page
    assert "Keep this package in the refrigerator or freezer" in page or "Throw it out, unless" in page


def test_a_package_without_an_absorber_says_that_the_time_counts_on_none(client: Client) -> None:
    cellar = place()
    told = "No oxygen absorber is recorded for this package"
    assert told in seen(client, package(cellar, absorbers=""))
    assert told not in seen(client, package(cellar, absorbers="1 × 300 cc"))

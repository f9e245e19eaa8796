"""Counting the stock."""

import pytest
from django.test import Client

from drystow.web.pantry.models import Movement, Package
from tests.web.pantry_rows import package, place
from tests.web.queries import queries


def count(client: Client, where: int, **fields: str):  # type: ignore[no-untyped-def]
    return client.post(
        f"/pantry/count/?place={where}", {name.replace("__", "-"): text for name, text in fields.items()}
    )


def test_only_differences_become_movements(client: Client) -> None:
    cellar = place()
    same, less, gone = (package(cellar) for _ in range(3))
    fields = {f"{less.code}__found": "80 g", f"{less.code}__version": "1", f"{gone.code}__gone": "on"}
    fields |= {f"{gone.code}__version": "1", f"{same.code}__found": "", f"{same.code}__version": "1"}
    answer = client.post(
        f"/pantry/count/?place={cellar.pk}", {key.replace("__", "-"): text for key, text in fields.items()}, follow=True
    )
    assert "2 packages were corrected" in answer.content.decode()
    assert [one.left_mass_kg for one in Package.objects.order_by("pk")] == pytest.approx([0.1, 0.08, 0.0])
    counted = Movement.objects.filter(kind="counted").order_by("package_id")
    assert [move.mass_kg for move in counted] == pytest.approx([-0.02, -0.1])


def test_a_package_found_in_the_wrong_place_is_moved(client: Client) -> None:
    cellar, attic = place("Cellar"), place("Attic")
    lost = package(attic)
    count(client, cellar.pk, strangers=lost.code.lower())
    assert Package.objects.get().place == cellar
    assert Movement.objects.get(kind="moved").place == cellar


def test_an_unknown_code_is_told_and_what_was_typed_stays(client: Client) -> None:
    cellar = place()
    answer = count(client, cellar.pk, strangers="NNNNN2")
    assert answer.status_code == 422
    assert "NNNNN2" in answer.content.decode().split("Not known:")[1]


def test_nonsense_is_told_beside_its_package(client: Client) -> None:
    made = package(place())
    page = count(client, made.place_id, **{f"{made.code}__found": "80 miles", f"{made.code}__version": "1"})
    assert 'value="80 miles"' in page.content.decode()
    assert "is not a weight" in page.content.decode()
    assert Package.objects.get().left_mass_kg == 0.1


def test_without_a_place_there_is_nothing_to_count(client: Client) -> None:
    assert "No places to count" in client.get("/pantry/count/").content.decode()


def test_a_full_shelf_takes_few_questions(client: Client) -> None:
    cellar = place()
    for _ in range(55):
        package(cellar)
    client.get(f"/pantry/count/?place={cellar.pk}")
    with queries(at_most=6):
        client.get(f"/pantry/count/?place={cellar.pk}")

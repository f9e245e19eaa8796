"""The sums of the packages: what is left follows from the movements, the doctor finds what does not, and mends it."""

import pytest

from drystow.web.data.health import checks
from drystow.web.kit import records
from drystow.web.kit.models import Change
from drystow.web.pantry import actions, books
from drystow.web.pantry.models import Movement, Package
from tests.web.pantry_rows import package, place
from tests.web.queries import queries


def told() -> tuple[bool, str]:
    """What the doctor says of the books."""
    return next((check.ok, check.words) for check in checks() if check.name == "books")


def spoilt(one: Package, **values: object) -> Package:
    """A package whose row was written past the movements."""
    Package.objects.filter(pk=one.pk).update(**values)
    return Package.objects.get(pk=one.pk)


def test_what_is_left_follows_from_the_movements_whatever_the_row_says() -> None:
    made = spoilt(package(place()), left_mass_kg=0.5)
    used = actions.take(made, "used", 0.03, expected=1)
    assert used.left_mass_kg == pytest.approx(0.07)
    assert told()[0]


def test_the_doctor_names_every_package_whose_sum_differs() -> None:
    cellar = place()
    assert told()[0]
    more, binned, right = package(cellar), package(cellar), package(cellar)
    spoilt(more, left_mass_kg=0.08)
    spoilt(records.put_in_bin(binned), left_mass_kg=0.02)
    good, words = told()
    assert not good
    assert f"{more.code} Strawberries: 80 g left, its movements say 100 g" in words
    assert f"{binned.code} Strawberries: 20 g left, its movements say 100 g" in words
    assert right.code not in words
    assert "drystow doctor --mend" in words


@pytest.mark.parametrize(
    ("row", "movements", "left", "state"),
    [
        ({"left_mass_kg": 0.08, "state": "open"}, [("used", 0.02), ("used", 0.02)], 0.06, "open"),
        ({"left_mass_kg": 0.0, "state": "used"}, [("used", 0.1), ("used", 0.1)], 0.0, "used"),
        ({"left_mass_kg": 0.05, "state": "open"}, [("used", 0.07), ("given", 0.07)], 0.0, "used"),
        ({"left_mass_kg": 0.0, "state": "used"}, [("used", 0.06)], 0.04, "open"),
        ({"left_mass_kg": 0.1, "state": "stored"}, [("discarded", 0.1)], 0.0, "used"),
    ],
    ids=["booked twice", "emptied twice", "more went out than was in", "emptied too early", "never written"],
)
@pytest.mark.parametrize("binned", [False, True])
def test_mending_lets_the_row_say_what_the_movements_say(
    row: dict[str, object], movements: list[tuple[str, float]], left: float, state: str, binned: bool
) -> None:
    made = package(place())
    for kind, mass_kg in movements:
        Movement.objects.create(package=made, kind=kind, mass_kg=mass_kg, at=made.created_at)
    made = spoilt(records.put_in_bin(made) if binned else made, **row)
    mended = books.mend(made, who="drystow doctor")
    assert (mended.left_mass_kg, mended.state) == (pytest.approx(left), state)
    assert (mended.binned_at is not None) == binned
    assert books.left_in(mended) == pytest.approx(left, abs=1e-9)
    assert told()[0]
    by_doctor = {"who": "drystow doctor"}
    assert made.movements.filter(**by_doctor) or Change.objects.filter(object_id=made.pk, **by_doctor)


def test_a_package_from_before_its_movements_were_kept_gets_them_from_its_row() -> None:
    made = package(place())
    made.movements.all().delete()
    made = spoilt(made, left_mass_kg=0.04, state="open")
    assert not told()[0]
    assert books.mend(made).left_mass_kg == pytest.approx(0.04)
    assert [(move.kind, move.mass_kg) for move in made.movements.all()] == [
        ("packed", 0.1),
        ("counted", pytest.approx(-0.06)),
    ]


def test_all_sums_are_checked_with_two_questions() -> None:
    cellar = place()
    for _ in range(5):
        spoilt(package(cellar), left_mass_kg=0.01)
    with queries(at_most=2):
        assert len(books.wrong_sums()) == 5

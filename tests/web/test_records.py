"""Records: versions, conflicts, the bin, history and undo."""

import pytest

from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.models import Change, Kitchen


def dryer(**values: object) -> Dryer:
    return records.create(Dryer(**({"name": "Bench", "profile": "bench-4"} | values)), who="Ana")


def test_a_change_counts_the_version_and_is_remembered() -> None:
    made = dryer()
    changed = records.change(made, {"notes": "new oil"}, expected=1, who="Ben", words="oil")
    assert changed.version == 2
    last = records.history(changed).first()
    assert (last.who, last.action, last.before["notes"], last.after["notes"]) == ("Ben", "change", "", "new oil")


def test_saving_without_a_difference_changes_nothing() -> None:
    made = dryer()
    assert records.change(made, {"notes": ""}, expected=1).version == 1
    assert Change.objects.count() == 1


def test_two_people_on_different_fields_lose_nothing() -> None:
    made = dryer()
    records.change(made, {"notes": "new oil"}, expected=1, who="Ben")
    both = records.change(made, {"notes": "", "oil_hours_limit": 90.0}, expected=1, who="Ana")
    assert (both.notes, both.oil_hours_limit, both.version) == ("new oil", 90.0, 3)


def test_two_people_on_one_field_are_told() -> None:
    made = dryer()
    records.change(made, {"notes": "new oil"}, expected=1, who="Ben")
    with pytest.raises(records.Conflict, match="notes: now 'new oil', you wrote 'old gasket'"):
        records.change(made, {"notes": "old gasket"}, expected=1, who="Ana")
    assert Dryer.objects.get().notes == "new oil"


def test_the_bin_keeps_a_record_and_gives_it_back() -> None:
    made = records.put_in_bin(dryer())
    assert list(Dryer.objects.kept()) == []
    with pytest.raises(records.Gone):
        records.change(made, {"notes": "x"}, expected=2)
    assert records.take_back(made).binned_at is None
    assert Dryer.objects.kept().count() == 1


def test_each_kind_of_change_can_be_undone() -> None:
    made = records.change(dryer(), {"notes": "wrong"}, expected=1)
    assert records.undo(Change.objects.get(version=2)).notes == ""  # type: ignore[attr-defined]
    records.undo(Change.objects.get(action="create"))
    assert Dryer.objects.get(pk=made.pk).binned_at is not None


def test_undoing_an_old_change_spares_what_came_after_on_other_fields() -> None:
    made = records.change(dryer(), {"notes": "wrong"}, expected=1)
    records.change(made, {"oil_hours_limit": 90.0}, expected=2)
    undone = records.undo(Change.objects.get(version=2))
    assert (undone.notes, undone.oil_hours_limit) == ("", 90.0)  # type: ignore[attr-defined]


def test_the_kitchen_has_settings_from_the_first_moment_and_a_row_from_the_first_change() -> None:
    kitchen = records.kitchen()
    assert (kitchen.units, kitchen.version, Kitchen.objects.count()) == ("us", 1, 0)
    records.change(kitchen, {"units": "si"}, expected=1)
    records.change(Kitchen(), {"people": 3}, expected=1)  # read before the first change, written after it
    kept = records.kitchen()
    assert (kept.units, kept.people, kept.version, Kitchen.objects.count()) == ("si", 3, 3, 1)
    assert [change.version for change in records.history(kept)] == [3, 2, 1]
    records.undo(records.history(kept)[1])
    assert records.kitchen().units == "us"

"""Fields of files that had another name: the old one still works, and a note says the new one."""

import json
from collections.abc import Callable
from datetime import date, datetime
from typing import Any, NamedTuple

import pytest

from drystow.errors import InputErrors
from drystow.fields import RENAMED
from drystow.machine.loadfile import parse_load, tray_table
from drystow.packing.packfile import parse_pack
from drystow.packing.plan import pack_batch
from drystow.planning.load.basket import parse_basket
from drystow.planning.schedule.plan_file import parse_lots
from drystow.planning.season.garden_file import parse_garden

FRAME = {"dryer": {"profile": "bench-4"}, "program": {"shelf": ["-10 degC for 2 h", "40 degC until dry"]}}
BERRIES = {"food": "Strawberries, raw", "mass": "2 kg", "size": "9 mm"}


def load(**changes: Any) -> dict[str, Any]:
    return {**FRAME, "tray": [BERRIES | {"mass": "0.5 kg"} | changes]}


def basket(**changes: Any) -> dict[str, Any]:
    return {**FRAME, "time": "30 h", "food": [BERRIES | changes]}


def plan(name: str = "arrival", **changes: Any) -> dict[str, Any]:
    arrival = BERRIES | {"arrives": datetime(2026, 9, 7, 9), "drying_time": "20 h"} | changes
    return {"begin": date(2026, 9, 7), "dryer": [{"profile": "bench-4"}], name: [arrival]}


def garden(**changes: Any) -> dict[str, Any]:
    days = {"first": date(2026, 6, 1), "peak": date(2026, 6, 15), "last": date(2026, 7, 6)}
    dryer = {"profile": "bench-4"}
    return {
        "begin": date(2026, 5, 18),
        "crop": [BERRIES | {"mass": "20 kg"} | days | changes],
        "choice": [{"dryer": [dryer]}, {"dryer": [dryer, dryer]}],
    }


def pack(**changes: Any) -> dict[str, Any]:
    return {"dry_mass": "1 lb", "residual_moisture": "3%", "food": {"name": "Strawberries, raw"} | changes}


def pack_notes(raw: dict[str, Any]) -> tuple[str, ...]:
    read = parse_pack("\n".join(f"{key} = {_toml(value)}" for key, value in raw.items()))
    assert read.food.food_class == "vegetable"
    return pack_batch(read).notes


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(one)}" for key, one in value.items()) + " }"
    return json.dumps(value)


def garden_notes(raw: dict[str, Any]) -> tuple[str, ...]:
    read = parse_garden(raw)
    assert {choice.frame.lots[0].item.food.food_class for choice in read.choices} == {"vegetable"}
    return read.choices[0].frame.notes


class Old(NamedTuple):
    """A file with an old name of a field, the same with the new one, and with both.

    old: name that the field had
    field: dotted name under which a problem of it is told
    notes: reads a file and returns its notes
    before: the file with the old name
    now: the file with the new one
    both: the file with both
    """

    old: str
    field: str
    notes: Callable[[dict[str, Any]], tuple[str, ...]]
    before: dict[str, Any]
    now: dict[str, Any]
    both: dict[str, Any]


BY = datetime(2026, 9, 9, 8)
LIKE, CLASS, STONE = {"like": "vegetable"}, {"class": "vegetable"}, {"class": "stone"}
CASES = {
    "plan, lot": Old("lot", "lot", lambda raw: parse_lots(raw).notes, plan("lot"), plan(), plan() | plan("lot")),
    "plan, ready_by": Old("ready_by", "arrival[1].ready_by", lambda raw: parse_lots(raw).notes,
                          plan(ready_by=BY), plan(needed_by=BY), plan(ready_by=BY, needed_by=BY)),
    "plan, class": Old("class", "arrival[1].class", lambda raw: parse_lots(raw).notes,
                       plan(**CLASS), plan(**LIKE), plan(**CLASS, **LIKE)),
    "basket, class": Old("class", "food[1].class", lambda raw: parse_basket(raw).notes,
                         basket(**CLASS), basket(**LIKE), basket(**CLASS, **LIKE)),
    "load, class": Old("class", "tray[1].class", lambda raw: parse_load(raw).notes,
                       load(**CLASS), load(**LIKE), load(**CLASS, **LIKE)),
    "pack, class": Old("class", "food.class", pack_notes, pack(**CLASS), pack(**LIKE), pack(**CLASS, **LIKE)),
    "garden, class": Old("class", "crop[1].class", garden_notes,
                         garden(**CLASS), garden(**LIKE), garden(**CLASS, **LIKE)),
}  # fmt: skip


def test_every_old_name_is_tried() -> None:
    assert {case.old for case in CASES.values()} == set(RENAMED)


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_an_old_name_reads_the_same_and_one_note_says_the_new_one(case: Old) -> None:
    written = repr(case.before)
    told = [note for note in case.notes(case.before) if f"'{case.old}'" in note]
    assert [RENAMED[case.old] in note for note in told] == [True]
    assert repr(case.before) == written  # what was read is left as it is
    assert [note for note in case.notes(case.now) if "is now called" in note] == []


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_both_names_at_once_are_an_error_that_names_the_one_to_take_out(case: Old) -> None:
    with pytest.raises(InputErrors) as caught:
        case.notes(case.both)
    told = [(one.field, one.message) for one in caught.value.problems]
    assert told == [(case.field, f"'{RENAMED[case.old]}' says the same; leave '{case.old}' out")]


def test_an_old_plan_means_what_the_new_one_means() -> None:
    before, now = parse_lots(plan("lot", ready_by=BY, **CLASS)), parse_lots(plan(needed_by=BY, **LIKE))
    assert len(before.notes) == 3
    assert (before.lots, before.dryers) == (now.lots, now.dryers)
    assert now.lots[0].ready_by == BY


@pytest.mark.parametrize(
    ("read", "raw", "field"),
    [
        (parse_lots, plan("lot", mass="9 h"), "lot[1].mass"),
        (parse_lots, plan("lot", ready_by="soon"), "lot[1].ready_by"),
        (parse_lots, plan(needed_by="soon"), "arrival[1].needed_by"),
        (parse_lots, plan("lot", **STONE), "lot[1].class"),
        (parse_lots, plan("lot") | {"lot": []}, "lot"),
        (parse_basket, basket(**STONE), "food[1].class"),
        (parse_garden, garden(**STONE), "crop[1].class"),
        (parse_load, load(**STONE), "tray[1].class"),
    ],
)
def test_a_problem_stands_under_the_name_that_was_written(
    read: Callable[[dict[str, Any]], object], raw: dict[str, Any], field: str
) -> None:
    with pytest.raises(InputErrors) as caught:
        read(raw)
    assert [one.field for one in caught.value.problems] == [field]


def test_an_old_name_is_only_read_where_the_new_one_is_known() -> None:
    with pytest.raises(InputErrors, match=r"dryer\[1\]\.lot: there is no field called 'lot'"):
        parse_lots(plan() | {"dryer": [{"profile": "bench-4", "lot": 3}]})


def test_what_is_written_from_an_old_basket_has_the_new_names() -> None:
    written = tray_table(parse_basket(basket(**CLASS)).wishes[0].spec.tray)
    assert written["like"] == "vegetable"
    assert not RENAMED.keys() & written.keys()

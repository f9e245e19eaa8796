"""From what was seen of a batch to the engine's evidence, and how the answer is kept."""

from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.test import Client, override_settings
from django.utils import timezone

from drystow.errors import InputError
from drystow.messages import msg
from drystow.web.batches import evidence_adapters, judging
from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.evidence_adapters import Question, question_of, with_readings
from drystow.web.batches.models import Batch, Happening, PressureRise, Sample, Seen, Weighing
from drystow.web.batches.outage_adapters import DryingClock, began_at, pauses_of
from drystow.web.batches.outlook import finish_of
from drystow.web.batches.proof_view import trays_view
from drystow.web.batches.views.corrected import STRUCK
from drystow.web.data.backup import write_backup
from drystow.web.data.restore import restore_backup
from drystow.web.data.tables import TABLES, csv_lines, table_named
from drystow.web.foods.spec import foods_of
from drystow.web.kit.answers import KeptAnswer
from drystow.web.kit.models import Answer
from drystow.web.packing.spec import dried_masses
from drystow.web.readings.models import Channel
from drystow.web.readings.storage import add_readings
from tests.web.batch_rows import CARROTS, a_batch, a_weighing, an_item, on_tray
from tests.web.judged_rows import a_tray, judged_trays
from tests.web.waiting import waits

BEGAN = datetime(2026, 3, 1, 6, 0, tzinfo=UTC)
HOUR = 3600.0


def begun(**values: Any) -> Batch:
    """Food on trays 1 and 3, drying since six in the morning of 1 March 2026 until ten at night."""
    usual = {
        "started_at": BEGAN - timedelta(hours=8),
        "drying_began_at": BEGAN,
        "ended_at": BEGAN + timedelta(hours=16),
    }
    batch = a_batch(**({"stage": "proof"} | usual | values))
    berries, carrots = an_item(batch), an_item(batch, CARROTS, shape="stick", size_m=0.008)
    on_tray(berries, 3, 0.5)
    on_tray(berries, 1, 0.4)
    on_tray(carrots, 3, 0.2)
    return batch


def asked(batch: Batch) -> Question:
    question = question_of(batch, tray_loads(batch))
    assert question is not None
    return question


def test_the_clock_counts_hours_under_vacuum_only() -> None:
    at = [BEGAN + timedelta(hours=hour) for hour in range(12)]
    clock = DryingClock(BEGAN, at[10], ((at[2], at[3]), (at[5], at[7])))
    # by hand: 4 h less the pause of 1 h; 6 h less 1 h and half of the pause of 2 h; 10 h less 3 h, and no more after it
    assert [clock.dried_until(moment) / HOUR for moment in (at[0], at[4], at[6], at[10], at[11])] == [0, 3, 4, 7, 7]
    assert clock.dried_until(BEGAN - timedelta(hours=1)) == 0.0


def test_power_cuts_and_doors_are_pauses_that_join() -> None:
    batch = begun()
    rows = [
        Happening(batch=batch, kind="power", at=BEGAN + timedelta(hours=2), minutes=30),
        Happening(batch=batch, kind="door", at=BEGAN + timedelta(hours=2, minutes=20), minutes=20),
        Happening(batch=batch, kind="door", at=BEGAN + timedelta(hours=4), minutes=6),
        Happening(batch=batch, kind="note", at=BEGAN + timedelta(hours=5), minutes=6),
        Happening(batch=batch, kind="power", at=BEGAN + timedelta(hours=6)),
    ]
    weighed = [a_weighing(batch, 10.05, 200)]
    spans = pauses_of(rows, weighed, 600.0)
    # by hand: 2:00 to 2:40 and ten minutes for the vacuum; the door at 4:00 was opened for the weighing of 4:03
    assert spans == ((BEGAN + timedelta(hours=2), BEGAN + timedelta(hours=2, minutes=50)),)


def test_trays_keep_their_numbers_and_what_lies_on_them() -> None:
    batch = begun()
    a_weighing(batch, 12, 150, tray=3, outside_min=6)
    question = asked(batch)
    assert question.trays == (1, 3)
    assert question.groups == ((0,), (1, 2))
    (row,) = question.evidence.weighed
    assert (row.tray, row.gross, row.tare, row.outside) == (2, 0.65, 0.5, 360.0)
    assert row.time == 6 * HOUR


def test_after_the_run_nothing_dries_any_more() -> None:
    batch = begun()
    a_weighing(batch, 22.5, 150, outside_min=5)
    a_weighing(batch, 23.5, 150, outside_min=5)
    times = [row.time for row in asked(batch).evidence.weighed]
    assert times == [16 * HOUR + 300.0, 16 * HOUR + 300.0]
    assert asked(batch).now(timezone.now()) == 16 * HOUR + 300.0


def test_what_was_seen_before_the_vacuum_is_not_heard() -> None:
    batch = begun()
    a_weighing(batch, 5, 400)
    a_weighing(batch, 8, 300, tray=2)
    question = asked(batch)
    assert (question.evidence.weighed, question.unheard) == ((), 2)


def test_samples_and_cut_pieces_are_heard_corrected_ones_are_not() -> None:
    batch = begun()
    at = BEGAN + timedelta(hours=15)
    oven = {"kind": "oven", "before_g": 5.0, "resolution_g": 0.01}
    wrong = Sample.objects.create(batch=batch, tray=1, at=at, after_g=4.0, **oven)
    Sample.objects.create(batch=batch, tray=1, at=at, after_g=4.9, corrects=wrong, **oven)
    Sample.objects.create(batch=batch, tray=3, at=at, kind="meter", activity=0.2)
    Happening.objects.create(batch=batch, kind="core", at=at, tray=3, finding="cold")
    Happening.objects.create(batch=batch, kind="core", at=at, text="noted before findings were kept")
    seen = asked(batch).evidence
    assert [(row.tray, row.before, round(row.after, 7)) for row in seen.samples] == [(1, 0.005, 0.0049)]
    assert [(row.tray, row.activity) for row in seen.activities] == [(2, 0.2)]
    assert [(row.tray, row.finding) for row in seen.cuts] == [(2, "cold")]


SEEN = {
    Weighing: {"tray": 1, "gross_g": 640.0, "tare_g": 500.0},
    Sample: {"tray": 1, "kind": "oven", "before_g": 5.0, "after_g": 4.9, "resolution_g": 0.01},
    PressureRise: {"seconds": 60.0, "before_pa": 15.0, "after_pa": 40.0},
}


def test_everything_that_was_seen_can_be_struck_out() -> None:
    assert set(SEEN) == set(Seen.__subclasses__())
    assert set(STRUCK.values()) == set(SEEN)


@pytest.mark.parametrize("model", SEEN)
def test_what_is_struck_out_has_no_part_in_any_answer_until_it_is_put_back(client: Client, model: type[Seen]) -> None:
    batch = begun()
    items = list(batch.items.all())
    foods = foods_of(item.food for item in items)

    def answers() -> tuple[object, ...]:
        question = asked(batch)
        shown = [len(tray.weighings) for tray in trays_view(batch, tray_loads(batch), None)]
        return question.fingerprint, dried_masses(batch, items, foods), shown

    without = answers()
    row = model.objects.create(batch=batch, at=BEGAN + timedelta(hours=15), **SEEN[model])
    with_it = answers()
    assert with_it != without
    name = next(name for name, kind in STRUCK.items() if kind is model)
    client.post(f"/batches/{batch.pk}/seen/{name}/{row.pk}/strike/")
    assert answers() == without
    table = next(table for table in TABLES if table.model is model)
    (line,) = table.rows()
    assert line[table.titles.index("Crossed out")] is not None
    client.post(f"/batches/{batch.pk}/seen/{name}/{row.pk}/count/")
    assert answers() == with_it


def test_drying_begins_as_written_else_as_predicted() -> None:
    assert began_at(begun()) == BEGAN
    forecast = begun(drying_began_at=None, prediction={"drying_start_h": 5.5})
    assert began_at(forecast) == BEGAN - timedelta(hours=2.5)
    computed = began_at(begun(drying_began_at=None))
    assert computed is not None
    assert BEGAN - timedelta(hours=8) < computed
    assert began_at(begun(drying_began_at=None, started_at=None)) is None


def test_whatever_the_answer_rests_on_changes_the_fingerprint() -> None:
    batch = begun()
    marks = [asked(batch).fingerprint, asked(batch).fingerprint]
    a_weighing(batch, 12, 150)
    marks.append(asked(batch).fingerprint)
    Happening.objects.create(batch=batch, kind="power", at=BEGAN + timedelta(hours=2), minutes=30)
    marks.append(asked(batch).fingerprint)
    batch.program = [{"shelf_c": 30.0, "hours": None}]
    marks.append(asked(batch).fingerprint)
    assert marks[0] == marks[1]
    assert len(set(marks)) == 4


def test_the_answer_is_kept_and_read_again_with_its_sentences(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(judging, "MEMBERS", 40)
    batch = begun()
    a_weighing(batch, 12, 150, tray=3)
    row = judging.DRYNESS.work_out(batch.pk)
    assert row is not None
    found = judging.DRYNESS.kept(batch.pk).result
    assert [tray.number for tray in found.trays] == [1, 3]
    assert found.began == BEGAN
    assert "moisture" in found.trays[0].words
    assert found.trays[0].words.template != str(found.trays[0].words)  # type: ignore[attr-defined]
    assert list(found.trays[1].moistures) == sorted(found.trays[1].moistures)
    assert len(found.trays[1].moistures) == 20
    assert found.seen
    known = judging.answer_state(batch)
    assert (known.current, known.share) == (True, None)


def test_while_the_run_goes_on_an_old_answer_is_worked_out_anew() -> None:
    batch = begun(ended_at=None, stage="running")
    old = timezone.now() - timedelta(hours=1)
    judging.DRYNESS.keep(KeptAnswer(batch.pk, None, asked(batch).fingerprint, old, judged_trays(old, [])))
    assert judging.answer_state(batch).share == 0
    assert batch.pk in waits(judging.DRYNESS.task)


def test_an_error_of_the_engine_is_kept_with_its_field(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_arguments: object, **_more: object) -> None:
        raise InputError("tray", msg("there is no tray {tray}", tray=7))

    monkeypatch.setattr(judging, "judge", refuse)
    row = judging.DRYNESS.work_out(begun().pk)
    assert [(one.field, one.words, one.words.values) for one in row.problems] == [
        ("tray", "there is no tray 7", {"tray": 7})
    ]
    assert judging.DRYNESS.kept(row.subject) == row


def test_the_end_is_told_by_what_was_seen_once_there_is_something(monkeypatch: pytest.MonkeyPatch) -> None:
    total = {"total_h": {"p10": 20.0, "p50": 24.0, "p90": 30.0}}
    batch = begun(ended_at=None, stage="running", prediction=total)
    found = judged_trays(BEGAN, [a_tray(BEGAN, (3.0, None))], (2.0, 3.0, None))
    finish = finish_of(batch, found)
    assert finish is not None
    assert (finish.seen, finish.middle, finish.late, finish.overdue) == (True, BEGAN + timedelta(hours=3), None, False)
    forecast = finish_of(batch, None)
    assert forecast is not None
    assert (forecast.seen, forecast.middle) == (False, batch.started_at + timedelta(hours=24))
    assert found.slowest is not None
    assert found.slowest.weigh == BEGAN + timedelta(hours=1)


def test_samples_and_answers_go_into_the_backup_and_the_tables(tmp_path: Path) -> None:
    batch = begun()
    at = BEGAN + timedelta(hours=15)
    Sample.objects.create(batch=batch, tray=1, at=at, kind="meter", activity=0.2, note="three pieces")
    Happening.objects.create(batch=batch, kind="core", at=at, tray=3, finding="cold")
    a_weighing(batch, 12, 150, tray=3, outside_min=6)
    judging.DRYNESS.keep(KeptAnswer(batch.pk, None, "f" * 64, at, judged_trays(at, [a_tray(at)], (1.0, 2.5, None))))
    models = (Batch, Sample, Happening, Weighing, Answer)
    before = [list(model._default_manager.values()) for model in models]
    file = BytesIO()
    write_backup(file)
    with override_settings(MEDIA_ROOT=tmp_path / "media", DATA_FOLDER=tmp_path):
        restore_backup(file, replace=True)
    assert [list(model._default_manager.values()) for model in models] == before
    lines = "".join(csv_lines(table_named("samples"))).splitlines()
    assert "three pieces" in lines[1]
    assert "Minutes outside the chamber" in "".join(csv_lines(table_named("weighings"))).splitlines()[0]


def test_sensors_of_the_dryer_are_heard_on_the_clock_of_drying(monkeypatch: pytest.MonkeyPatch) -> None:
    batch = begun(drying_began_at=None)
    alone = asked(batch)
    Happening.objects.create(batch=batch, kind="power", at=BEGAN + timedelta(hours=4), minutes=60)
    channels = [("pressure", 0), ("shelf", 0), ("product", 3), ("product", 2)]
    rows = {
        (name, tray): Channel.objects.create(
            dryer=batch.dryer, quantity=name, tray=tray, unit="Pa", source=f"{name}{tray}"
        )
        for name, tray in channels
    }
    moments = [BEGAN + timedelta(minutes=10 * number) for number in range(-12, 97)]
    stamps = [round(moment.timestamp() * 1000) for moment in moments]
    add_readings(rows["pressure", 0], stamps, [90_000.0 if moment < BEGAN else 60.0 for moment in moments])
    for place in channels[1:]:
        add_readings(rows[place], stamps, [270.0] * len(stamps))
    question = asked(batch)
    assert question.clock.began == BEGAN  # the pressure fell then
    assert len(question.marks) == 4
    assert question.fingerprint != alone.fingerprint
    full = with_readings(batch, question)
    assert {row.tray for row in full.evidence.probes} == {2}  # tray 3 is the second with food; tray 2 holds none
    times = [row.time for row in full.evidence.pressures]
    assert times == sorted(times)
    # sixteen hours less the hour without power and the time until the vacuum was back
    assert times[-1] <= 15 * HOUR
    assert {row.pressure for row in full.evidence.pressures} == {60.0}


def test_what_the_dryer_was_taught_is_known(monkeypatch: pytest.MonkeyPatch) -> None:
    batch = begun()
    untaught = asked(batch)
    monkeypatch.setattr(evidence_adapters, "calibration_for", lambda _dryer: {("contact", ""): (-0.5, 0.6)})
    assert asked(batch).known == {("contact", ""): (-0.5, 0.6)}
    assert asked(batch).fingerprint != untaught.fingerprint

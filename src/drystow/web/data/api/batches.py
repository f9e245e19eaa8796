"""Batches for programs: list, make from a load table, predict, weigh."""

from datetime import datetime
from typing import Annotated, Any

from django.db import transaction
from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from ninja import Body, Field, Query, Router, Schema, Status
from pydantic import AwareDatetime

from drystow.errors import InputError
from drystow.evidence.dryness.judge import DECISION_LEVEL
from drystow.figures import typed
from drystow.machine.ensemble import simulate_spread
from drystow.machine.loadfile import parse_load
from drystow.machine.run import simulate
from drystow.reports.plain_data import load_json
from drystow.web.batches.judged import HOUR, Judged, TrayJudged
from drystow.web.batches.judging import answer_state
from drystow.web.batches.models import Batch, Load, Weighing
from drystow.web.data.api.access import READ, WRITE, PageNumber, page_of, who
from drystow.web.data.loads import batch_from_table
from drystow.web.kit.answers import KeptAnswer
from drystow.web.kit.words import sentence_json

router = Router(tags=["batches"])
WEIGHED = ("running", "proof")
"""Stages at which trays go on the scale."""
LoadTable = Annotated[dict[str, Any], Body(..., description="A load file as JSON: title, dryer, program, tray.")]


class NewWeighing(Schema):
    """A tray on the scale."""

    tray: Annotated[int, Field(ge=1, le=100)]
    at: AwareDatetime
    gross_g: Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False)]
    tare_g: Annotated[float, Field(ge=0, le=100_000, allow_inf_nan=False)]
    resolution_g: Annotated[
        float | None,
        Field(gt=0, le=100, allow_inf_nan=False, description="Step of the scale; 1 g when it is left out."),
    ] = None
    outside_min: Annotated[
        float, Field(ge=0, le=600, allow_inf_nan=False, description="Out of the chamber before it lay on the scale.")
    ] = 4.0
    note: Annotated[str, Field(max_length=200)] = ""


@router.post("/predict", auth=READ, summary="Predict a load without keeping it")
def predict(request: HttpRequest, load: LoadTable, members: Annotated[int, Query(ge=1, le=200)] = 1) -> dict[str, Any]:
    """Return what `drystow simulate --json` prints for the same load."""
    parsed = parse_load(load)
    result = simulate(parsed, series=False)
    return load_json(result, spread=simulate_spread(parsed, members) if members > 1 else None)


@router.get("/batches", auth=READ, summary="Batches, newest first")
def list_batches(request: HttpRequest, page: PageNumber = 1, stage: str = "") -> dict[str, Any]:
    """Return a page of batches."""
    rows = Batch.objects.kept().select_related("dryer")
    if stage:
        stages = [name for name, _ in Batch.STAGES]
        if stage not in stages:
            raise InputError("stage", f"'{stage[:20]}' is not a stage; the stages are {', '.join(stages)}")
        rows = rows.filter(stage=stage)
    return page_of(rows, page, _short)


@router.get("/batches/{int:pk}", auth=READ, summary="One batch")
def one_batch(request: HttpRequest, pk: int) -> dict[str, Any]:
    """Return a batch with its food and trays."""
    return _whole(get_object_or_404(Batch.objects.kept().select_related("dryer"), pk=pk))


@router.post("/batches", auth=WRITE, summary="Make a batch of a load table", response={201: dict[str, Any]})
def make_batch(request: HttpRequest, load: LoadTable) -> Status[dict[str, Any]]:
    """Make a batch; its food lies on the trays and its program is set."""
    batch, notes = batch_from_table(load, who(request))
    return Status(201, _whole(batch) | {"notes": list(notes)})


@router.get("/batches/{int:pk}/judgement", auth=READ, summary="How dry the trays of a batch are")
def one_judgement(request: HttpRequest, pk: int) -> dict[str, Any]:
    """Return how dry each tray is, as last worked out; while `current` is false it is being worked out anew, so ask
    again after some seconds. Times in hours from `at`; null means never.
    """
    batch = get_object_or_404(Batch.objects.kept().select_related("dryer"), pk=pk)
    known = answer_state(batch)
    row = known.row
    return {
        "current": known.current,
        "working_percent": known.share,
        "problem": known.problem,
        "decision_level": DECISION_LEVEL,
        "at": None if row is None else row.at if row.result is None else row.result.at,
        "judgement": None if row is None else _judgement(row),
    }


def _judgement(row: KeptAnswer[Judged]) -> dict[str, Any]:
    if row.result is None:
        return {"problems": [{"field": one.field, **sentence_json(one.words)} for one in row.problems]}
    found = row.result
    return {
        "began_at": found.began.isoformat(),
        "dried_h": round(found.dried / HOUR, 3),
        "unheard": found.unheard,
        "finish_h": [_hours(found.at, moment) for moment in found.ready],
        "trays": [_tray(found.at, tray) for tray in found.trays],
    }


def _tray(at: datetime, tray: TrayJudged) -> dict[str, Any]:
    return {
        "tray": tray.number,
        "name": sentence_json(tray.name),
        "verdict": tray.verdict,
        "words": sentence_json(tray.words),
        "probability_dry": tray.chance,
        "residual_moisture": tray.moisture,
        "water_activity": tray.activity,
        "wettest_activity": tray.wettest,
        "wet_piece": sentence_json(tray.wet_piece) if tray.wet_piece else {},
        "target_moisture": tray.target,
        "more_h": [_hours(at, moment) for moment in tray.ready],
        "next_weighing_h": _hours(at, tray.weigh),
        "evidence": [{"kind": one.kind, "pull": one.pull, **sentence_json(one.words)} for one in tray.pieces],
        "notes": [sentence_json(note) for note in tray.notes],
        "moistures": tray.moistures,
    }


def _hours(at: datetime, moment: datetime | None) -> float | None:
    return None if moment is None else round((moment - at).total_seconds() / HOUR, 3)


@router.get("/batches/{int:pk}/weighings", auth=READ, summary="Weighings of a batch")
def list_weighings(request: HttpRequest, pk: int) -> dict[str, Any]:
    """Return all weighings of a batch, oldest first."""
    batch = get_object_or_404(Batch.objects.kept(), pk=pk)
    return {"results": [_weighing(row) for row in batch.weighings.all()]}


@router.post("/batches/{int:pk}/weighings", auth=WRITE, summary="Add a weighing", response={201: dict[str, Any]})
def add_weighing(request: HttpRequest, pk: int, weighing: NewWeighing) -> Status[dict[str, Any]]:
    """Add a weighing of a tray that has food on it, while the batch runs or is proved dry; none is ever changed."""
    with transaction.atomic():
        batch = get_object_or_404(Batch.objects.kept(), pk=pk)
        _check_stage(batch)
        trays = sorted(set(Load.objects.kept().filter(item__batch=batch).values_list("tray", flat=True)))
        if weighing.tray not in trays:
            known = ", ".join(str(tray) for tray in trays) or "none yet"
            raise InputError("tray", f"there is no food on tray {weighing.tray}; trays with food: {known}")
        if weighing.gross_g <= weighing.tare_g:
            full, empty = typed(weighing.gross_g, 6), typed(weighing.tare_g, 6)
            words = f"{full} g is not more than the empty tray's {empty} g; weigh again"
            raise InputError("gross_g", words)
        values = weighing.dict() | {"resolution_g": weighing.resolution_g or 1.0}
        written = weighing.resolution_g is not None
        row = Weighing.objects.create(batch=batch, who=who(request), step_written=written, **values)
    return Status(201, _weighing(row))


def _check_stage(batch: Batch) -> None:
    if batch.stage not in WEIGHED:
        early = batch.started_at is None
        why = "it has not been started; start the run first" if early else "its trays are not in the dryer any more"
        raise InputError(
            "stage", f"batch {batch.pk} is at the stage '{batch.stage}': {why}. Weighings are taken while it is running"
            " or being proved dry (stages 'running' and 'proof')"
        )  # fmt: skip


def _short(batch: Batch) -> dict[str, Any]:
    return {
        "id": batch.pk,
        "version": batch.version,
        "lot": batch.lot,
        "title": batch.title,
        "stage": batch.stage,
        "dryer": {"id": batch.dryer_id, "name": batch.dryer.name},
        "started_at": batch.started_at,
        "ended_at": batch.ended_at,
        "done_at": batch.done_at,
    }


def _whole(batch: Batch) -> dict[str, Any]:
    items = batch.items.filter(binned_at=None)
    loads = Load.objects.kept().filter(item__batch=batch, item__binned_at=None)
    return _short(batch) | {
        "program": batch.program,
        "freezer": batch.freezer,
        "prediction": batch.prediction,
        "energy_kwh": batch.energy_kwh,
        "notes_text": batch.notes,
        "items": [
            {"id": item.pk, "food": item.food, "name": item.name, "mass_kg": item.mass_kg, "shape": item.shape}
            | {"size_m": item.size_m, "width_m": item.width_m, "length_m": item.length_m, "packing": item.packing}
            | {"lies_on": item.lies_on, "faces": 2 if item.lies_on == "mesh" else 1, "wrapper": item.wrapper}
            | {"opening": item.opening, "wrapper_kg": item.wrapper_kg}
            | {"frozen": item.frozen, "start_c": item.start_c}
            | {"skin_state": item.skin_state}
            for item in items
        ],
        "trays": [{"tray": load.tray, "item": load.item_id, "mass_kg": load.mass_kg} for load in loads],
        "unproved": [
            {"item": row.item_id, "tray": row.tray, "chance": row.chance, "packed": row.packed, "at": row.created_at}
            | {"who": row.who}
            for row in batch.unproved.filter(binned_at=None)
        ],
    }


def _weighing(row: Weighing) -> dict[str, Any]:
    return {
        "id": row.pk,
        "tray": row.tray,
        "at": row.at,
        "gross_g": row.gross_g,
        "tare_g": row.tare_g,
        "net_g": row.gross_g - row.tare_g,
        "resolution_g": row.resolution_g,
        "outside_min": row.outside_min,
        "note": row.note,
        "corrects": row.corrects_id,
        "struck_at": row.binned_at,
    }

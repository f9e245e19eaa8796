"""The forecast that a batch keeps, worked out anew beside the requests where what was kept cannot be read."""

from contextlib import suppress

from drystow.errors import InputError, InputErrors
from drystow.web.batches.adapters import predict, prediction_json, tray_loads
from drystow.web.batches.models import Batch
from drystow.web.kit.background import task


def work_out(pk: int) -> Batch | None:
    """Forecast the run of a batch anew, now and here, and keep it; nothing before a run, None when it is gone."""
    batch = Batch.objects.kept().select_related("dryer").filter(pk=pk).first()
    if batch is None or not batch.unreadable:
        return batch
    kept = {}
    if batch.started_at is not None:
        loads = tray_loads(batch)
        with suppress(InputError, InputErrors):  # as its page tells
            kept = prediction_json(loads, *predict(batch, loads))
    Batch.objects.filter(pk=pk).update(prediction=kept)
    batch.prediction, batch.unreadable = kept, False
    return batch


FORECAST = task("forecast", work_out)
"""Works out anew what could not be read."""

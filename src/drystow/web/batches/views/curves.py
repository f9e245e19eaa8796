"""The curves of a batch's forecast: food and machine, hour by hour."""

from collections import OrderedDict

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import get_language

from drystow.errors import InputError, InputErrors
from drystow.machine.result import LoadResult
from drystow.web.batches.adapters import load_of, predict, tray_loads
from drystow.web.batches.load_page import load_page
from drystow.web.batches.request import kept_batch, only_part, units_of
from drystow.web.kit.drawing import Drawing, draw
from drystow.web.kit.words import page_problem_words

MOST_KEPT = 32
_kept: "OrderedDict[tuple[int, str, str], tuple[LoadResult, tuple[Drawing, ...]]]" = OrderedDict()


def show_curves(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the curves, as a page or, for htmx, as the part that the program and running pages fetch."""
    batch, units = kept_batch(pk), units_of(request)
    loads = tray_loads(batch)
    context: dict[str, object] = {"batch": batch, "here": batch.stage}
    try:
        result, spread = predict(batch, loads)
        context |= {
            "page": load_page(load_of(batch, loads), result, spread, units),
            "drawings": _drawings(result, units),
        }
    except (InputError, InputErrors) as problem:
        context["problem"] = page_problem_words(problem)
    return render(request, "batches/curves_part.html" if only_part(request) else "batches/curves.html", context)


def _drawings(result: LoadResult, units: str) -> tuple[Drawing, ...]:
    """Return the drawings of a forecast, drawn once as long as the forecast is remembered."""
    key = (id(result), units, get_language() or "")
    if key not in _kept or _kept[key][0] is not result:
        _kept[key] = (result, draw(result, units))
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return _kept[key][1]

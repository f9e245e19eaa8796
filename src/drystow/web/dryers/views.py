"""Add a dryer, change its numbers; its tests: how to do them, what they gave, and their numbers for the forecasts."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.errors import InputError, InputErrors
from drystow.evidence.machine_tests.outcome import MachineFinding
from drystow.machine.profile import dryer_profile, machine_of, profile_names
from drystow.messages import msg
from drystow.sources import cite
from drystow.web.accounts.rights import right
from drystow.web.dryers.adapters import shown_numbers
from drystow.web.dryers.forms import DryerForm, MeasuredForm
from drystow.web.dryers.machine_adapters import (
    cautions_of,
    finding_of,
    last_leak,
    measured_numbers,
    numbers_view,
    shown_values,
    trend_of,
)
from drystow.web.dryers.machine_forms import FORMS, GUIDES
from drystow.web.dryers.models import Dryer, MachineTest
from drystow.web.kit.reader import wished_units
from drystow.web.kit.record_forms import bin_view, page_with, refused, save_or_show
from drystow.web.kit.records import kitchen
from drystow.web.kit.words import problem_words

KEPT = 100  # tests of one kind that are shown
PAPER_LINES = 10  # of the table to write on


@right(reads="viewer")
def show_tests(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the tests of a dryer: each kind with its last result and its course over time."""
    dryer = get_object_or_404(Dryer.objects.kept(), pk=pk)
    units = _units(request)
    by_kind: dict[str, list[MachineTest]] = {kind: [] for kind in GUIDES}
    for row in dryer.tests.kept():
        by_kind[row.kind].append(row)
    kinds = [
        {
            "kind": kind,
            "guide": guide,
            "rows": [(row, shown_values(_main(row), units)) for row in by_kind[kind][:KEPT]],
            "drawing": trend_of(kind, by_kind[kind][:KEPT], units),
        }
        for kind, guide in GUIDES.items()
    ]
    return render(request, "dryers/tests.html", {"dryer": dryer, "kinds": kinds})


@right(reads="viewer", writes="owner")
def run_test(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """Show how a test is done; a POST works out and keeps its result."""
    dryer = get_object_or_404(Dryer.objects.kept(), pk=pk)
    if kind not in GUIDES:
        raise Http404
    try:
        machine = machine_of(dryer.profile, dryer.numbers)
    except InputErrors as many:
        messages.error(request, problem_words(many))
        return redirect("dryer-edit", pk)
    form = FORMS[kind].of(request, row=MachineTest(dryer=dryer, kind=kind, on=timezone.localdate()))
    page = page_with(
        request, "dryers/test_new.html",
        dryer=dryer, kind=kind, guide=GUIDES[kind], cautions=cautions_of(kind), volume_m3=machine.chamber_volume,
        area=machine.tray_area, sheet=_sheet(kind, machine.trays),
    )  # fmt: skip
    return save_or_show(request, form, "machine-test", page)


@right(reads="viewer")
def show_test(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the result of a test, and what to do about it."""
    row = get_object_or_404(MachineTest.objects.kept().select_related("dryer"), pk=pk)
    units = _units(request)
    context: dict[str, Any] = {"test": row, "dryer": row.dryer, "guide": GUIDES[row.kind]}
    context["values"] = shown_values(row.values, units)
    try:
        finding = _finding(row)
        context["finding"] = finding
        context["numbers"] = numbers_view(finding, units)
        context["sources"] = [cite(key) for key in finding.sources]
    except (InputError, InputErrors) as problem:
        context["problem"] = problem_words(problem)
    return render(request, "dryers/test.html", context)


@right(writes="owner")
def use_values(request: HttpRequest, pk: int) -> HttpResponse:
    """Write what a test measured into the numbers of its dryer."""
    row = get_object_or_404(MachineTest.objects.kept().select_related("dryer"), pk=pk)
    form = MeasuredForm.of(request, row=row.dryer, day=row.on, numbers=measured_numbers(_finding(row)))
    return save_or_show(request, form, "dryer", refused(request, "machine-test", row.pk))


bin_test = right(writes="owner")(
    bin_view(
        MachineTest,
        lambda row: redirect("machine-tests", row.dryer_id),
        says=msg("The test is in the trash."),
    )
)


def _sheet(kind: str, trays: int) -> dict[str, Any]:
    """Return the table to write on, for paper."""
    if kind == "ice":
        heads = [_("Tray"), _("Empty tray"), _("With ice, before"), _("With ice, after")]
        return {"heads": heads, "rows": [[str(number), "", "", ""] for number in range(1, trays + 1)]}
    if kind == "power":
        names = [_("Idle"), _("With compressor, trap cold"), _("With the pump too, settled")]
        return {"heads": ["", _("Power"), _("Trap")], "rows": [[name, "", ""] for name in names]}
    return {"heads": [_("Minutes"), _("Pressure"), _("Minutes"), _("Pressure")], "rows": [[""] * 4] * PAPER_LINES}


def _finding(row: MachineTest) -> MachineFinding:
    machine = machine_of(row.dryer.profile, row.dryer.numbers)
    return finding_of(row.kind, row.readings, machine, last_leak(row.dryer) if row.kind == "pump" else None)


def _main(row: MachineTest) -> dict[str, list[float]]:
    return {name: three for name, three in row.values.items() if name != "expected" and not name.startswith("tray ")}


def _units(request: HttpRequest) -> str:
    return wished_units(request, kitchen().units)


@right(reads="viewer", writes="owner")
def add_dryer(request: HttpRequest) -> HttpResponse:
    """Choose the nearest size, then name the dryer and put in its numbers."""
    chosen = request.POST.get("profile") or request.GET.get("profile", "")
    if chosen not in profile_names():
        units = wished_units(request, kitchen().units)
        sizes = [(name, dryer_profile(name), shown_numbers(dryer_profile(name), units)) for name in profile_names()]
        return render(request, "dryers/sizes.html", {"sizes": sizes})
    return _edit(request, Dryer(profile=chosen), _("Add a dryer"))


@right(reads="viewer", writes="owner")
def edit_dryer(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a dryer."""
    row = get_object_or_404(Dryer.objects.kept(), pk=pk)
    return _edit(request, row, _("Edit {name}").format(name=row.name))


def _edit(request: HttpRequest, row: Dryer, title: str) -> HttpResponse:
    form = DryerForm.of(request, row=row)
    page = page_with(request, "dryers/dryer_form.html", title=title)
    return save_or_show(request, form, "dryer", page)

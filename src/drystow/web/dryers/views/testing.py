"""Tests of a dryer: how to do them, what they gave, how it went over time, and their numbers for the forecasts."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.days import day_text
from drystow.errors import InputError, InputErrors
from drystow.evidence.machine_tests.outcome import MachineFinding
from drystow.messages import msg
from drystow.sources import cite
from drystow.web.accounts.rights import right
from drystow.web.dryers.adapters import machine_of
from drystow.web.dryers.machine_adapters import (
    air_pressure,
    cautions_of,
    finding_of,
    last_leak,
    numbers_view,
    shown_values,
    trend_of,
    values_json,
    written_numbers,
)
from drystow.web.dryers.machine_forms import FORMS, GUIDES, MachineForm
from drystow.web.dryers.models import Dryer, MachineTest
from drystow.web.kit import records
from drystow.web.kit.forms import KitchenForm
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import wished_units
from drystow.web.kit.records import kitchen
from drystow.web.kit.saving import tell, try_to_save
from drystow.web.kit.words import in_english, problem_words

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
    options: dict[str, Any] = {"units": _units(request), "initial": {"on": timezone.localdate()}}
    if kind == "ice":
        options["trays"] = machine.trays
    form = FORMS[kind](request.POST or None, **options)
    if request.method == "POST" and form.is_valid():
        made = _keep(request, dryer, kind, form, machine)
        if made is not None:
            saved(request, made, _("Test saved."))
            return redirect("machine-test", made.pk)
    context = {
        "dryer": dryer,
        "kind": kind,
        "guide": GUIDES[kind],
        "cautions": cautions_of(kind),
        "form": form,
        "volume_m3": machine.chamber_volume,
        "area": machine.tray_area,
        "sheet": _sheet(kind, machine.trays),
    }
    return render(request, "dryers/test_new.html", context, status=422 if form.is_bound else 200)


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
    form = KitchenForm(request.POST)
    form.is_valid()
    dryer = row.dryer

    def write() -> Dryer:
        numbers = dryer.numbers | written_numbers(_finding(row))
        machine_of(dryer.profile, numbers)
        words = msg("numbers from the test on {day}", day=day_text(row.on))
        return records.change(dryer, {"numbers": numbers}, expected=form.expected, who=person(request), words=words)

    done = try_to_save(form, write)
    if done is None:
        messages.error(request, " ".join(str(error) for errors in form.errors.values() for error in errors))
        return redirect("machine-test", pk)
    saved(request, done, _("Forecasts for {name} now use these numbers.").format(name=dryer.name))
    return redirect("dryer", dryer.pk)


@right(writes="owner")
def bin_test(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a test in the bin."""
    row = records.put_in_bin(get_object_or_404(MachineTest, pk=pk), who=person(request))
    saved(request, row, _("The test is in the trash."))
    return redirect("machine-tests", row.dryer_id)


def _sheet(kind: str, trays: int) -> dict[str, Any]:
    """Return the table to write on, for paper."""
    if kind == "ice":
        heads = [_("Tray"), _("Empty tray"), _("With ice, before"), _("With ice, after")]
        return {"heads": heads, "rows": [[str(number), "", "", ""] for number in range(1, trays + 1)]}
    if kind == "power":
        names = [_("Idle"), _("With compressor, trap cold"), _("With the pump too, settled")]
        return {"heads": ["", _("Power"), _("Trap")], "rows": [[name, "", ""] for name in names]}
    return {"heads": [_("Minutes"), _("Pressure"), _("Minutes"), _("Pressure")], "rows": [[""] * 4] * PAPER_LINES}


def _keep(request: HttpRequest, dryer: Dryer, kind: str, form: MachineForm, machine: Any) -> MachineTest | None:
    readings = form.data_of(air_pressure(kitchen().altitude_m))
    try:
        finding = finding_of(kind, readings, machine, last_leak(dryer) if kind == "pump" else None)
    except (InputError, InputErrors) as problem:
        for one in problem.problems:
            tell(form, one)
        return None
    row = MachineTest(
        dryer=dryer, kind=kind, on=form.cleaned_data["on"], readings=readings, values=values_json(finding),
        verdict=finding.verdict, notes=form.cleaned_data["notes"],
    )  # fmt: skip
    return try_to_save(form, lambda: records.create(row, who=person(request), words=in_english(row.get_kind_display())))


def _finding(row: MachineTest) -> MachineFinding:
    machine = machine_of(row.dryer.profile, row.dryer.numbers)
    return finding_of(row.kind, row.readings, machine, last_leak(row.dryer) if row.kind == "pump" else None)


def _main(row: MachineTest) -> dict[str, list[float]]:
    return {name: three for name, three in row.values.items() if name != "expected" and not name.startswith("tray ")}


def _units(request: HttpRequest) -> str:
    return wished_units(request, kitchen().units)

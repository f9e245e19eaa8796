"""The dryers of the kitchen, and one of them: its numbers, its care, what its runs taught and whether that is used."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.errors import InputErrors
from drystow.evidence.machine_tests.leak_test import LEAK_REFERENCE
from drystow.machine.profile import dryer_profile
from drystow.messages import msg
from drystow.shown import quantity
from drystow.web.accounts.rights import right
from drystow.web.batches import teaching
from drystow.web.batches.dryer_runs import oil_hours, shown_of, taught_by
from drystow.web.dryers.adapters import MAIN_NUMBERS, leak_source, learned_row, machine_of, shown_numbers
from drystow.web.dryers.forms import ServiceForm
from drystow.web.dryers.models import Dryer, Service
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import wished_units
from drystow.web.kit.records import kitchen
from drystow.web.kit.saving import try_to_save
from drystow.web.kit.words import in_words, problem_words

PER_PAGE = 50


@right(reads="viewer")
def show_dryer(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a dryer."""
    dryer = get_object_or_404(Dryer, pk=pk)
    return _page(request, dryer, ServiceForm(initial={"on": timezone.localdate(), "kind": "oil"}))


@right(writes="owner")
def add_service(request: HttpRequest, pk: int) -> HttpResponse:
    """Write an entry of the service log."""
    dryer = get_object_or_404(Dryer.objects.kept(), pk=pk)
    form = ServiceForm(request.POST)
    if form.is_valid():
        values = {name: form.cleaned_data[name] for name in ("kind", "on", "value", "notes")}
        if values["kind"] != "leak":
            values["value"] = None
        done = try_to_save(
            form, lambda: records.create(Service(dryer=dryer, **values), who=person(request), words=msg("service log"))
        )
        if done is not None:
            saved(request, done, _("Added to the service log."))
            return redirect("dryer", pk)
    return _page(request, dryer, form)


@right(writes="owner")
def bin_service(request: HttpRequest, pk: int) -> HttpResponse:
    """Put an entry of the service log in the bin."""
    row = records.put_in_bin(get_object_or_404(Service, pk=pk), who=person(request))
    saved(request, row, _("Entry moved to trash."))
    return redirect("dryer", row.dryer_id)


@right(writes="owner")
def bin_dryer(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a dryer in the bin; its batches stay."""
    row = records.put_in_bin(get_object_or_404(Dryer, pk=pk), who=person(request))
    saved(request, row, _("{name} is in the trash.").format(name=row.name))
    return redirect("dryers")


def _page(request: HttpRequest, dryer: Dryer, form: ServiceForm) -> HttpResponse:
    log = Paginator(dryer.services.kept(), PER_PAGE).get_page(request.GET.get("page"))
    runs, ratio = taught_by(dryer)
    if runs and learned_row(dryer) is None and not dryer.binned_at and request.method == "GET":
        teaching.QUEUE.ask(dryer.pk)  # the first look; later ones are asked for when a batch is done
    context = {
        "dryer": dryer,
        "form": form,
        "page": log,
        "kept": "",
        "log": [(row, "" if row.value is None else in_words(quantity(row.value, "leak"))) for row in log.object_list],
        "leak_reference": LEAK_REFERENCE,
        "leak_source": leak_source(),
        "oil": oil_hours([dryer])[dryer.pk],
        "taught": shown_of(dryer, runs),
        "working": teaching.QUEUE.percent(dryer.pk),
        "slower": (abs(round(100 * (ratio - 1))), ratio > 1) if ratio is not None else None,
    }
    try:
        shown = shown_numbers(machine_of(dryer.profile, dryer.numbers), wished_units(request, kitchen().units))
        context["numbers"] = [(_(words), shown[name], name in dryer.numbers) for name, words in MAIN_NUMBERS.items()]
    except InputErrors as many:
        context["problem"] = problem_words(many)
    return render(request, "dryers/dryer.html", context, status=422 if form.is_bound else 200)


@right(reads="viewer")
def show_dryers(request: HttpRequest) -> HttpResponse:
    """Show the dryers with the hours on their pump oil."""
    page = Paginator(Dryer.objects.kept().order_by("name"), PER_PAGE).get_page(request.GET.get("page"))
    hours = oil_hours(page.object_list)
    cards = [(dryer, dryer_profile(dryer.profile).words, hours[dryer.pk]) for dryer in page.object_list]
    return render(request, "dryers/dryers.html", {"page": page, "cards": cards, "kept": ""})


@right(writes="owner")
def learn_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Have what the batches of a dryer teach worked out in the background."""
    dryer = get_object_or_404(Dryer.objects.kept(), pk=pk)
    teaching.QUEUE.ask(dryer.pk)
    saved(request, None, _("Calculating; this takes a few seconds per batch. Refresh the page then."))
    return redirect("dryer", pk)


@right(writes="owner")
def use_taught(request: HttpRequest, pk: int) -> HttpResponse:
    """Have forecasts use what batches taught, or not."""
    dryer = get_object_or_404(Dryer.objects.kept(), pk=pk)
    wished = request.POST.get("use") == "yes"
    words = msg("forecasts use what batches taught") if wished else msg("forecasts use the dryer’s own numbers")
    done = records.change(dryer, {"use_taught": wished}, expected=dryer.version, who=person(request), words=words)
    saved(request, done, _("Saved."))
    return redirect("dryer", pk)

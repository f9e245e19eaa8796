"""The dryers of the kitchen, and one of them: its numbers, its care, what its runs taught and whether that is used."""

from functools import partial

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.errors import InputErrors
from drystow.evidence.machine_tests.leak_test import LEAK_REFERENCE
from drystow.machine.profile import dryer_profile, machine_of
from drystow.messages import msg
from drystow.shown import quantity
from drystow.web.accounts.rights import right
from drystow.web.batches.dryer_runs import oil_hours, shown_of, taught_by
from drystow.web.dryers.adapters import MAIN_NUMBERS, leak_source, shown_numbers
from drystow.web.dryers.forms import ServiceForm
from drystow.web.dryers.lessons import LESSONS, lessons_of
from drystow.web.dryers.models import Dryer, Service
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import wished_units
from drystow.web.kit.record_forms import bin_view, save_or_show
from drystow.web.kit.records import kitchen
from drystow.web.kit.words import in_words, problem_words

PER_PAGE = 50


@right(reads="viewer")
def show_dryer(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a dryer."""
    return _page(request, ServiceForm.of(request, row=_service(get_object_or_404(Dryer, pk=pk))))


@right(writes="owner")
def add_service(request: HttpRequest, pk: int) -> HttpResponse:
    """Write an entry of the service log."""
    form = ServiceForm.of(request, row=_service(get_object_or_404(Dryer.objects.kept(), pk=pk)))
    return save_or_show(request, form, redirect("dryer", pk), partial(_page, request))


bin_service = right(writes="owner")(
    bin_view(Service, lambda row: redirect("dryer", row.dryer_id), says=msg("Entry moved to trash."))
)
bin_dryer = right(writes="owner")(bin_view(Dryer, lambda row: redirect("dryers")))


def _service(dryer: Dryer) -> Service:
    return Service(dryer=dryer, on=timezone.localdate(), kind="oil")


def _page(request: HttpRequest, form: ServiceForm) -> HttpResponse:
    dryer = form.row.dryer
    log = Paginator(dryer.services.kept(), PER_PAGE).get_page(request.GET.get("page"))
    runs, ratio = taught_by(dryer)
    if runs and lessons_of(dryer) is None and not dryer.binned_at and request.method == "GET":
        LESSONS.ask(dryer.pk)  # the first look; later ones are asked for when a batch is done
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
        "working": LESSONS.task.percent(dryer.pk),
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
    LESSONS.ask(dryer.pk)
    saved(request, None, _("Calculating; this takes a few seconds per batch. Refresh the page then."))
    return redirect("dryer", pk)


@right(writes="owner")
def use_taught(request: HttpRequest, pk: int, wished: bool) -> HttpResponse:
    """Have forecasts use what batches taught, or not."""
    dryer = get_object_or_404(Dryer.objects.kept(), pk=pk)
    told = msg("Forecasts use what the batches taught.") if wished else msg("Forecasts use the dryer’s own numbers.")
    done = records.change(dryer, {"use_taught": wished}, expected=dryer.version, who=person(request), words=told)
    saved(request, done, told)
    return redirect("dryer", pk)

"""A batch as a load file, out and in."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import NoReverseMatch, reverse
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from drystow.errors import InputError, InputErrors
from drystow.web.batches.models import Batch
from drystow.web.data.forms import LoadFileForm, RestoreForm
from drystow.web.data.loads import batch_from_text, load_text
from drystow.web.data.views.overview import data_page
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.words import in_words, problem_words


@require_safe
def load_out(request: HttpRequest, pk: int) -> HttpResponse:
    """Send a batch as a load file, ready for ``drystow simulate``."""
    batch = get_object_or_404(Batch.objects.kept().select_related("dryer"), pk=pk)
    try:
        text = load_text(batch)
    except InputError as problem:
        messages.error(request, problem_words(problem))
        return redirect("data")
    response = HttpResponse(text, content_type="text/plain; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="load-{slugify(batch.lot) or batch.pk}.toml"'
    return response


@require_POST
def load_in(request: HttpRequest) -> HttpResponse:
    """Make a batch of a load file."""
    form = LoadFileForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            batch, notes = batch_from_text(form.cleaned_data["load_file"], who=person(request))
        except (InputError, InputErrors) as error:
            for problem in error.problems:
                form.add_error("load_file", problem_words(problem))
        else:
            words = _("Batch {lot} was made from the load file.").format(lot=batch.lot)
            saved(request, records.history(batch).first(), " ".join((words, *map(in_words, notes))))
            return redirect(_address(batch))
    return data_page(request, form, RestoreForm())


def _address(batch: Batch) -> str:
    try:
        return reverse("batch", args=[batch.pk])
    except NoReverseMatch:
        return reverse("data")

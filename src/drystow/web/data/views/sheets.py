"""Tables to take along, and a batch as a load file, out and in."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _

from drystow.errors import InputError, InputErrors
from drystow.web.accounts.rights import right
from drystow.web.batches.models import Batch
from drystow.web.data.forms import LoadFileForm, RestoreForm
from drystow.web.data.loads import batch_from_text, load_text
from drystow.web.data.tables import TABLES, Table, csv_lines, table_named, xlsx_file
from drystow.web.data.views.overview import data_page
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.words import in_words, problem_words

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@right(reads="owner")
def one_csv(request: HttpRequest, name: str) -> HttpResponseBase:
    """Send a table as CSV; ``?bom=1`` marks it as UTF-8 for spreadsheets."""
    lines = csv_lines(_table(name), bom=request.GET.get("bom") == "1")
    response = StreamingHttpResponse(lines, content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="{file_name(name, "csv")}"'
    return response


@right(reads="owner")
def one_xlsx(request: HttpRequest, name: str) -> HttpResponseBase:
    """Send a table as a spreadsheet."""
    return _sheets(request, (_table(name),), name)


@right(reads="owner")
def workbook(request: HttpRequest) -> HttpResponseBase:
    """Send every table as one spreadsheet with a sheet for each."""
    return _sheets(request, TABLES, "tables")


def file_name(name: str, ending: str) -> str:
    """Return a file name with the day in it."""
    return f"drystow-{name}-{timezone.localdate().isoformat()}.{ending}"


def _table(name: str) -> Table:
    try:
        return table_named(name)
    except InputError as problem:
        raise Http404(problem.message) from None


def _sheets(request: HttpRequest, tables: tuple[Table, ...], name: str) -> HttpResponseBase:
    try:
        file = xlsx_file(tables)
    except InputError as problem:
        messages.error(request, in_words(problem.message))
        back: HttpResponse = redirect("data")
        return back
    return FileResponse(file, as_attachment=True, filename=file_name(name, "xlsx"), content_type=XLSX)


@right(reads="owner")
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


@right(writes="owner")
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

"""The data page: tables, load files and the whole kitchen as one file, out and in."""

import tempfile

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache

from drystow.errors import InputError, InputErrors
from drystow.web.accounts.models import ApiToken
from drystow.web.accounts.rights import right
from drystow.web.accounts.tokens import new_token
from drystow.web.batches.models import Batch
from drystow.web.data.backup import write_backup
from drystow.web.data.forms import LoadFileForm, RestoreForm, TokenForm
from drystow.web.data.loads import batch_from_text, load_text
from drystow.web.data.restore import restore_backup
from drystow.web.data.tables import TABLES, Table, csv_lines, table_named, xlsx_file
from drystow.web.kit import records
from drystow.web.kit.forms import sent
from drystow.web.kit.notices import person, saved
from drystow.web.kit.words import in_words, problem_words
from drystow.web.once.answers import shown_once

NEWEST = 20


@right(reads="owner")
def show_data(request: HttpRequest) -> HttpResponse:
    """Show what can be taken along and what can be read in."""
    return data_page(request, LoadFileForm(), RestoreForm())


def data_page(request: HttpRequest, load_form: LoadFileForm, restore_form: RestoreForm) -> HttpResponse:
    """Return the page with its two forms, 422 when one of them came back."""
    context = {
        "tables": [{"name": table.name, "words": _(table.words), "count": table.count()} for table in TABLES],
        "batches": Batch.objects.kept().filter(items__loads__isnull=False).distinct()[:NEWEST],
        "load_form": load_form,
        "restore_form": restore_form,
    }
    return render(
        request, "data/overview.html", context, status=422 if load_form.errors or restore_form.errors else 200
    )


@right(reads="owner", writes="owner")
@never_cache
def tokens(request: HttpRequest) -> HttpResponse:
    """Show the tokens; make a new one and show its secret this one time."""
    form, secret = TokenForm(**sent(request)), ""
    if form.is_valid():
        _token, secret = new_token(form.cleaned_data["name"], form.cleaned_data["scope"])
        form = TokenForm()
    context = {"form": form, "secret": secret, "tokens": ApiToken.objects.all()}
    response = render(request, "data/tokens.html", context, status=422 if form.errors else 200)
    return shown_once(response) if secret else response


@right(writes="owner")
def revoke_token(request: HttpRequest, pk: int) -> HttpResponse:
    """Shut a token out for good."""
    token = get_object_or_404(ApiToken, pk=pk)
    if token.revoked is None:
        token.revoked = timezone.now()
        token.save(update_fields=["revoked"])
    messages.success(request, _("The token {name} is revoked and no longer works.").format(name=token.name))
    return redirect("data-tokens")


@right(reads="owner")
def take_everything(request: HttpRequest) -> FileResponse:
    """Send the backup."""
    file = tempfile.TemporaryFile()  # noqa: SIM115 (the response closes it)
    write_backup(file)
    file.seek(0)
    name = file_name("backup", "zip")
    return FileResponse(file, as_attachment=True, filename=name, content_type="application/zip")


@right(writes="owner")
def restore(request: HttpRequest) -> HttpResponse:
    """Read a backup in."""
    form = RestoreForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            done = restore_backup(form.cleaned_data["backup"], replace=form.cleaned_data["replace"])
        except InputError as problem:
            form.add_error("backup", in_words(problem.message))
        else:
            count = sum(done.counts.values())
            words = ngettext("{count} record was restored.", "{count} records were restored.", count)
            kept = _("What was here before is saved in {path}.").format(path=done.kept) if done.kept else ""
            messages.success(request, " ".join((words.format(count=count), kept, *map(in_words, done.notes))).strip())
            return redirect("data")
    return data_page(request, LoadFileForm(), form)


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

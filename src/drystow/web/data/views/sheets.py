"""Tables to take along."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_safe

from drystow.errors import InputError
from drystow.web.data.sheets import csv_lines, xlsx_file
from drystow.web.data.tables import TABLES, Table, table_named
from drystow.web.kit.words import in_words

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@require_safe
def one_csv(request: HttpRequest, name: str) -> HttpResponseBase:
    """Send a table as CSV; ``?bom=1`` marks it as UTF-8 for spreadsheets."""
    lines = csv_lines(_table(name), bom=request.GET.get("bom") == "1")
    response = StreamingHttpResponse(lines, content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="{file_name(name, "csv")}"'
    return response


@require_safe
def one_xlsx(request: HttpRequest, name: str) -> HttpResponseBase:
    """Send a table as a spreadsheet."""
    return _sheets(request, (_table(name),), name)


@require_safe
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

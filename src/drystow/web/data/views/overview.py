"""The data page: everything to take along, and the ways in."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from drystow.web.batches.models import Batch
from drystow.web.data.forms import LoadFileForm, RestoreForm
from drystow.web.data.tables import TABLES

NEWEST = 20


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

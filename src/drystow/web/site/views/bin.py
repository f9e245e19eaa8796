"""The bin: what was removed, and how it comes back."""

from collections import defaultdict
from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drystow.numerals import whole_in
from drystow.web.accounts.guard import may_take_back, role_here
from drystow.web.kit import records
from drystow.web.kit.differences import kind_words, names_of, record_kinds, title_of
from drystow.web.kit.notices import person, safe_next, saved

PER_PAGE = 50


def show_bin(request: HttpRequest) -> HttpResponse:
    """Show the records in the bin, last removed first."""
    kinds = record_kinds()
    found = [
        (when, kind, number)
        for kind, model in kinds.items()
        for number, when in model.objects.binned().order_by().values_list("pk", "binned_at")
    ]
    page = Paginator(sorted(found, reverse=True), PER_PAGE).get_page(request.GET.get("page"))
    wanted: dict[str, list[int]] = defaultdict(list)
    for _when, kind, number in page.object_list:
        wanted[kind].append(number)
    read = {kind: kinds[kind].objects.in_bulk(numbers) for kind, numbers in wanted.items()}
    values = {(kind, number): records.snapshot(row) for kind, rows in read.items() for number, row in rows.items()}
    names = names_of((kinds[kind], one) for (kind, _number), one in values.items())
    role = role_here(request)
    rows: list[dict[str, Any]] = [
        {
            "when": when,
            "kind": kind,
            "number": number,
            "allowed": role is None or may_take_back(role, {kind}),
            "kind_words": kind_words(kind),
            "title": title_of(values[kind, number], number, kinds[kind], names),
        }
        for when, kind, number in page.object_list
    ]
    return render(request, "site/bin.html", {"page": page, "rows": rows, "kept": ""})


@require_POST
def restore(request: HttpRequest) -> HttpResponse:
    """Take one record out of the bin."""
    model = record_kinds().get(request.POST.get("kind", ""))
    number = whole_in(request.POST.get("number", ""))
    if model is None or number is None:
        raise Http404
    record = get_object_or_404(model, pk=number)
    saved(request, records.take_back(record, who=person(request)), _("Restored."))
    return redirect(safe_next(request, "/bin/"))

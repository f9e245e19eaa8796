"""All changes, newest first."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.http import urlencode

from drystow.web.site.differences import kind_words, record_kinds, tell
from drystow.web.site.models import Change
from drystow.web.site.records import household
from drystow.web.site.wishes import wished_units

PER_PAGE = 50


def show_history(request: HttpRequest) -> HttpResponse:
    """Show what was changed, of one kind or of all."""
    kind = request.GET.get("kind", "")
    changes = Change.objects.order_by("-at", "-pk")
    if kind in record_kinds():
        changes = changes.filter(kind=kind)
    page = Paginator(changes, PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "told": tell(page.object_list, wished_units(request, household().units)),
        "kind": kind,
        "kinds": sorted(((name, kind_words(name)) for name in record_kinds()), key=lambda pair: pair[1]),
        "kept": f"{urlencode({'kind': kind})}&" if kind else "",
    }
    return render(request, "site/history.html", context)

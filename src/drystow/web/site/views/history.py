"""All changes, newest first."""

from itertools import groupby
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.http import urlencode

from drystow.web.accounts.guard import may_take_back, role_here
from drystow.web.kit.differences import ToldChange, kind_words, record_kinds, tell
from drystow.web.kit.models import Change
from drystow.web.kit.records import household
from drystow.web.kit.wishes import wished_units

PER_PAGE = 50


def show_history(request: HttpRequest) -> HttpResponse:
    """Show what was changed, of one kind or of all."""
    kind = request.GET.get("kind", "")
    changes = Change.objects.order_by("-at", "-pk")
    if kind in record_kinds():
        changes = changes.filter(kind=kind)
    page = Paginator(changes.values_list("pk", flat=True), PER_PAGE).get_page(request.GET.get("page"))
    numbers = list(page.object_list)  # found by an index alone, then read
    read = Change.objects.in_bulk(numbers)
    page.object_list = [read[number] for number in numbers]
    context = {
        "page": page,
        "actions": _actions(tell(page.object_list, wished_units(request, household().units)), role_here(request)),
        "kind": kind,
        "kinds": sorted(((name, kind_words(name)) for name in record_kinds()), key=lambda pair: pair[1]),
        "kept": f"{urlencode({'kind': kind})}&" if kind else "",
    }
    return render(request, "site/history.html", context)


def _actions(told: list[ToldChange], role: str | None) -> list[dict[str, Any]]:
    """Return the changes with those of one action together, and how many such an action has in all."""
    wanted = {row.change.together for row in told} - {""}
    counts = dict(
        Change.objects.filter(together__in=wanted).order_by().values_list("together").annotate(Count("pk"))
        if wanted
        else ()
    )
    groups = []
    for together, rows in groupby(told, key=lambda row: row.change.together or row.change.pk):
        of_one = list(rows)
        allowed = role is None or may_take_back(role, {row.change.kind for row in of_one})
        groups.append({"rows": of_one, "first": of_one[0], "allowed": allowed, "count": counts.get(together, 1)})
    return groups

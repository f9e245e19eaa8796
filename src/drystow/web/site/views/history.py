"""All changes, newest first; taking one back; the bin, and how things come back from it."""

from collections import defaultdict
from itertools import groupby
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist, ValidationError
from django.core.paginator import Paginator
from django.db.models import Count
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drystow.numerals import whole_in
from drystow.web.accounts.people import HELPER
from drystow.web.accounts.rights import may_take_back, right, role_here
from drystow.web.kit import records
from drystow.web.kit.differences import ToldChange, kind_words, names_of, record_kinds, tell, title_of
from drystow.web.kit.models import Change
from drystow.web.kit.notices import person, safe_next, saved
from drystow.web.kit.reader import wished_units
from drystow.web.kit.records import kitchen
from drystow.web.kit.undoing import parts_of, undo_all

PER_PAGE = 50


@right(reads="viewer")
def show_history(request: HttpRequest) -> HttpResponse:
    """Show what was changed, of one kind or of all."""
    kind = request.GET.get("kind", "")
    changes = Change.objects.order_by("-at", "-pk")
    if kind in record_kinds():
        changes = changes.filter(kind=kind)
    page = Paginator(changes.values_list("pk", flat=True), PER_PAGE).get_page(request.GET.get("page"))
    numbers = list(page.object_list)  # found by an index alone, then read
    read = Change.objects.in_bulk(numbers)
    rows = [read[number] for number in numbers]
    context = {
        "page": page,
        "actions": _actions(tell(rows, wished_units(request, kitchen().units)), role_here(request)),
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


FIRST_NAMES = 6


def changed_work(_request: HttpRequest, pk: int) -> bool:
    """Return whether all that a change and its action wrote is work of helpers."""
    change = Change.objects.filter(pk=pk).first()
    return change is not None and may_take_back(HELPER, {one.kind for one in parts_of(change)})


def binned_work(request: HttpRequest) -> bool:
    """Return whether the record that is to come back is one of helpers."""
    return may_take_back(HELPER, {request.POST.get("kind", "")})


@right(writes="helper", helpers=changed_work)
def undo_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo a change with all of its action and return to where the person was."""
    parts = parts_of(get_object_or_404(Change, pk=pk))
    if len(parts) == 1:
        return undo_only(request, pk)
    _undo_all(request, parts)
    return redirect(safe_next(request, reverse("history")))


@right(writes="helper", helpers=changed_work)
def undo_only(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo one change of an action and return to where the person was."""
    try:
        saved(request, records.undo(get_object_or_404(Change, pk=pk), who=person(request)), _("Undone."))
    except records.Conflict:
        words = _("This has been changed again since, so it can’t be undone on its own. History shows both changes.")
        messages.error(request, words)
    except records.Gone:
        messages.error(request, _("This is in the trash. Restore it first."))
    except ObjectDoesNotExist:
        messages.error(request, _("This no longer exists."))
    except ValidationError as problem:
        words = _("This can no longer be undone: {why}")
        messages.error(request, words.format(why=" ".join(problem.messages)))
    return redirect(safe_next(request, reverse("history")))


def _undo_all(request: HttpRequest, parts: list[Change]) -> None:
    """Undo an action and say what stays, because somebody changed it since."""
    done = undo_all(parts, who=person(request))
    if not done.kept:
        saved(request, done.last, _("All undone."))
        return
    names = [f"{one.kind} {one.title}" for one in tell(done.kept)]
    more = f" +{len(names) - FIRST_NAMES}" if len(names) > FIRST_NAMES else ""
    words = ngettext(
        "Partly undone: {n} record is back as before. Changed since by someone else, so left alone: {names}.",
        "Partly undone: {n} records are back as before. Changed since by someone else, so left alone: {names}.",
        done.count,
    )
    if done.count == 0:
        words = _("Nothing was undone. Changed since by someone else, so left alone: {names}.")
    messages.warning(request, words.format(n=done.count, names=", ".join(names[:FIRST_NAMES]) + more))


@right(reads="viewer")
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


@right(writes="helper", helpers=binned_work)
def restore(request: HttpRequest) -> HttpResponse:
    """Take one record out of the bin."""
    model = record_kinds().get(request.POST.get("kind", ""))
    number = whole_in(request.POST.get("number", ""))
    if model is None or number is None:
        raise Http404
    record = get_object_or_404(model, pk=number)
    saved(request, records.take_back(record, who=person(request)), _("Restored."))
    return redirect(safe_next(request, "/bin/"))

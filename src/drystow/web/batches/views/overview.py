"""All batches: running ones first."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import Case, IntegerField, Q, Value, When
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from drystow.web.accounts.rights import right
from drystow.web.batches.judged import Judged
from drystow.web.batches.judging import DRYNESS
from drystow.web.batches.models import Batch, Happening, Item
from drystow.web.batches.outage_adapters import cuts_of
from drystow.web.batches.outlook import Finish, finish_of
from drystow.web.batches.request import kept_batch
from drystow.web.dryers.models import Dryer
from drystow.web.kit.answers import KeptAnswer

A_PAGE = 50
RUNNING, AFTER, PLANNED, DONE = range(4)


@right(reads="viewer", forms="helper")
def show_batches(request: HttpRequest) -> HttpResponse:
    """Show the batches, those that match a search when there is one."""
    text = request.GET.get("q", "").strip()[:80]
    order = Case(
        When(Q(stage="done") | Q(done_at__isnull=False), then=Value(DONE)),
        When(started_at=None, then=Value(PLANNED)),
        When(ended_at=None, then=Value(RUNNING)),
        default=Value(AFTER),
        output_field=IntegerField(),
    )
    rows = Batch.objects.kept().annotate(order=order).select_related("dryer").order_by("order", "-created_at", "-pk")
    for word in text.split():
        named = Item.objects.kept().filter(name__icontains=word).values("batch")
        rows = rows.filter(Q(lot__icontains=word) | Q(title__icontains=word) | Q(pk__in=named))
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    batches: list[Any] = list(page.object_list)  # each with its `order`
    foods: dict[int, list[str]] = {}
    for batch_id, name in Item.objects.kept().filter(batch__in=batches).values_list("batch_id", "name"):
        foods.setdefault(batch_id, []).append(name)
    powers: dict[int, list[Happening]] = {}
    running = [batch for batch in batches if batch.order == RUNNING]
    dry = DRYNESS.kept_about(batch.pk for batch in batches if batch.started_at and not batch.ended_at)
    for power in Happening.objects.kept().filter(batch__in=running, kind="power"):
        powers.setdefault(power.batch_id, []).append(power)
    words = {RUNNING: _("Running"), AFTER: _("To check and pack"), PLANNED: _("Planned"), DONE: _("Done")}
    groups: dict[str, list[dict[str, Any]]] = {}
    for batch in batches:
        finish = _finish(batch, dry.get(batch.pk), powers.get(batch.pk, []))
        row = {"batch": batch, "foods": foods.get(batch.pk, []), "finish": finish}
        groups.setdefault(words[batch.order], []).append(row)
    context = {
        "groups": groups,
        "page": page,
        "kept": f"{urlencode({'q': text})}&" if text else "",
        "q": text,
        "steps": () if batches or text else _guide(),
    }
    return render(request, "batches/overview.html", context)


@right(reads="viewer", forms="helper")
def open_batch(request: HttpRequest, pk: int) -> HttpResponse:
    """Go to the stage at which a batch is."""
    batch = kept_batch(pk)
    try:
        return redirect(f"batch-{batch.stage}", pk)
    except NoReverseMatch:
        return redirect("batch-proof", pk)


def _finish(batch: Batch, dry: KeptAnswer[Judged] | None, powers: list[Happening]) -> Finish | None:
    """Return when a batch is expected to be over, as last worked out."""
    return finish_of(batch, None if dry is None else dry.result, cuts_of(batch, powers))


def _guide() -> list[dict[str, Any]]:
    """Return the five steps to the first batch."""
    dryer = Dryer.objects.kept().exists()
    return [
        {
            "words": _("Add your dryer"),
            "more": _("Its trays, its cold trap, its heat."),
            "url": _address("dryers"),
            "done": dryer,
        },
        {"words": _("Start a batch"), "more": _("A title is enough."), "url": reverse("batch-new"), "done": False},
        {
            "words": _("Fill the basket and the trays"),
            "more": _("See at once when each tray will be dry and what slows it down."),
        },
        {"words": _("Start the dryer and weigh"), "more": _("The scale tells you when the food is dry.")},
        {"words": _("Pack and label"), "more": _("Then find everything in the pantry.")},
    ]


def _address(name: str) -> str:
    try:
        return str(reverse(name))
    except NoReverseMatch:
        return ""

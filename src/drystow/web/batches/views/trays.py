"""The trays: put food on them and see at once when each is ready."""

from collections import defaultdict
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drystow.messages import msg
from drystow.numerals import whole_in
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import dryer_of, takes_of, tray_loads
from drystow.web.batches.arrange import LEAST, lay_out, move_food, spread_evenly
from drystow.web.batches.extra import extras_of, let_trap_fill, take_back
from drystow.web.batches.forms import LoadTrayForm, MoveFoodForm
from drystow.web.batches.models import Batch, Item, Load
from drystow.web.batches.request import kept_batch, only_part, units_of
from drystow.web.batches.traypicture import looks_of, outlook, tray_views
from drystow.web.foods.spec import foods_of
from drystow.web.kit import records
from drystow.web.kit.differences import refusal_words
from drystow.web.kit.notices import person, saved
from drystow.web.kit.records import Conflict, Gone

Act = Callable[[HttpRequest, Batch], str]
"""Does one thing and returns why it cannot be, else nothing."""


@right(reads="viewer", forms="helper")
def show_trays(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the trays."""
    return _page(request, kept_batch(pk))


def on_the_trays(act: Act) -> Callable[[HttpRequest, int], HttpResponse]:
    """Return the view that does one thing with the food on the trays, then shows them, as a page or for htmx."""

    @right(writes="helper", page="batch-trays")
    @wraps(act)
    def view(request: HttpRequest, pk: int) -> HttpResponse:
        batch = kept_batch(pk)
        try:
            refusal = act(request, batch)
        except (Conflict, Gone) as error:
            refusal = refusal_words(error, units_of(request))
        return redirect("batch-trays", pk) if not refusal and not only_part(request) else _page(request, batch, refusal)

    return view


def _page(request: HttpRequest, batch: Batch, refusal: str = "") -> HttpResponse:
    context = _trays(batch) | {"batch": batch, "here": "trays", "refusal": refusal, "part": only_part(request)}
    return render(request, "batches/parts/trays.html" if only_part(request) else "batches/trays.html", context)


@on_the_trays
def put_on(request: HttpRequest, batch: Batch) -> str:
    """Put food of the basket on a tray, or another amount of what lies there."""
    form = LoadTrayForm(request.POST, units=units_of(request))
    if not form.is_valid():
        return " ".join(str(error) for errors in form.errors.values() for error in errors)
    tray, mass = form.cleaned_data["tray"], form.cleaned_data["mass"]
    item = Item.objects.kept().filter(batch=batch, pk=form.cleaned_data["item"]).first()
    trays = dryer_of(batch.dryer).trays
    if item is None:
        return _("This food is no longer in the basket.")
    if tray > trays:
        return _no_such_tray(trays)
    rows = list(Load.objects.kept().filter(item=item))
    here = next((row for row in rows if row.tray == tray), None)
    rest = item.mass_kg - sum(row.mass_kg for row in rows)
    seen = whole_in(request.POST.get(f"seen-{here.pk}", "")) if here and mass is not None else None
    if mass is None:
        if rest < LEAST:
            return _("All of the {food} is on trays; enter how much to move.").format(food=item.name)
        mass = rest + (here.mass_kg if here else 0.0)
    words = msg("tray {tray}: {food}", tray=tray, food=item.name)
    if here is None:
        row = records.create(Load(item=item, tray=tray, mass_kg=mass), who=person(request), words=words)
    else:
        expected = min(seen or here.version, here.version)
        row = records.change(here, {"mass_kg": mass}, expected=expected, who=person(request), words=words)
    _say(request, row, _("Tray {tray}: {food} added.").format(tray=tray, food=item.name))
    return ""


@on_the_trays
def take_off(request: HttpRequest, batch: Batch) -> str:
    """Take food off its tray."""
    load = Load.objects.kept().filter(item__batch=batch, pk=whole_in(request.POST.get("load", "")) or 0).first()
    if load is None:
        return _("This is already off the tray.")
    binned = records.put_in_bin(load, who=person(request), words=msg("off the tray"))
    _say(request, binned, _("Tray {tray}: taken off.").format(tray=load.tray))
    return ""


@on_the_trays
def move(request: HttpRequest, batch: Batch) -> str:
    """Move food from one tray to another, all of it or some."""
    form = MoveFoodForm(request.POST, units=units_of(request))
    if not form.is_valid():
        return " ".join(str(error) for errors in form.errors.values() for error in errors)
    tray, trays = form.cleaned_data["tray"], dryer_of(batch.dryer).trays
    rows = Load.objects.kept().select_related("item")
    load = rows.filter(item__batch=batch, item__binned_at=None, pk=form.cleaned_data["load"]).first()
    if load is None:
        return _("This is already off the tray.")
    if tray > trays:
        return _no_such_tray(trays)
    seen = form.expected if 0 < form.expected < load.version else load.version
    row, refusal = move_food(load, tray, form.cleaned_data["mass"], expected=seen, who=person(request))
    if not refusal:
        _say(request, row, _("Tray {tray}: {food} added.").format(tray=tray, food=load.item.name))
    return refusal


@on_the_trays
def spread(request: HttpRequest, batch: Batch) -> str:
    """Spread all that is in the basket over the trays."""
    items = list(Item.objects.kept().filter(batch=batch))
    if not items:
        return _("The basket is empty; add food first.")
    foods = foods_of(item.food for item in items)
    raw = [item.pk for item in items if foods[item.food].may_be_raw]
    needs = {item.pk: takes_of(item, foods[item.food]) for item in items}
    by_pk = {item.pk: item for item in items}
    wanted = {
        (pk, tray): by_pk[pk].mass_kg * share
        for pk, tray, share in spread_evenly(needs, dryer_of(batch.dryer).trays, raw)
    }
    with transaction.atomic(), records.one_action():
        last = lay_out(items, wanted, who=person(request), words=msg("spread evenly"))
    _say(request, last, _("Spread over the trays."))
    return ""


@on_the_trays
def plan_stop(request: HttpRequest, batch: Batch) -> str:
    """Plan a defrost stop: the trap may fill up before the food is dry."""
    _say(request, let_trap_fill(batch, person(request)), _("Then plan the defrost stop."))
    return ""


@on_the_trays
def forget(request: HttpRequest, batch: Batch) -> str:
    """Take back one thing that a load file set."""
    items = Item.objects.kept().filter(batch=batch)
    name = request.POST.get("name", "")
    row = take_back(batch, items, name, request.POST.get("item", ""), person(request))
    if row is None:
        return _("This was already removed.")
    _say(request, row, _("Removed; the forecast uses the usual value again."))
    return ""


def _no_such_tray(trays: int) -> str:
    words = ngettext("The dryer has {trays} tray.", "The dryer has {trays} trays; choose one of them.", trays)
    return words.format(trays=trays)


def _say(request: HttpRequest, row: Load | Batch | Item | None, words: str) -> None:
    """Tell what was done; with htmx the picture itself tells."""
    if not only_part(request):
        saved(request, row, words)


def _trays(batch: Batch) -> dict[str, Any]:
    every = list(Item.objects.filter(batch=batch))
    items, looks = [item for item in every if item.binned_at is None], looks_of(every)
    loads = tray_loads(batch)
    foods = foods_of(item.food for item in items)
    machine = dryer_of(batch.dryer)
    placed: dict[int, float] = defaultdict(float)
    for load in loads:
        placed[load.item_id] += load.mass_kg
    seen = outlook(batch, loads, foods)
    return {
        "items": [
            {
                "item": item,
                "look": looks[item.pk],
                "placed": placed[item.pk],
                "left": rest if abs(rest := item.mass_kg - placed[item.pk]) >= LEAST else 0.0,
                "loads": [load for load in loads if load.item_id == item.pk],
            }
            for item in items
        ],
        "views": tray_views(loads, foods, looks, machine, seen.result),
        "numbers": range(1, machine.trays + 1),
        "outlook": seen,
        "ice": seen.result.machine.trap_ice if seen.result else None,
        "capacity": machine.trap_capacity,
        "share": round(100 * seen.result.machine.trap_ice / machine.trap_capacity) if seen.result else 0,
        "water_mass": sum(load.mass_kg * foods[load.item.food].composition.water for load in loads),
        "machine": machine,
        "extras": extras_of(batch, items),
    }

"""Packing: what each food goes into, how long it keeps, and how long it may lie open before."""

from collections import Counter
from datetime import timedelta
from math import isfinite
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drystow.errors import InputError
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.reports.package_plan import PackagePlan, oxygen_reason, plan_sentences
from drystow.shown import show
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.models import Batch, Item
from drystow.web.batches.proved import Proved, confirm, proved, risk_sentences, taken_back
from drystow.web.batches.request import kept_batch
from drystow.web.foods.spec import foods_of
from drystow.web.kit import records
from drystow.web.kit.models import Kitchen
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import wished_units
from drystow.web.kit.saving import tell, try_to_save
from drystow.web.kit.words import in_words
from drystow.web.packing.costing import save_costs
from drystow.web.packing.forms import PackForm, ServingsForm, servings_first
from drystow.web.packing.packed import Packed, packages_of, packed_foods
from drystow.web.packing.spec import dried_masses, package_rows, plan_of, usual_target
from drystow.web.pantry import actions
from drystow.web.pantry.actions import create_package
from drystow.web.pantry.books import CRUMBS_KG
from drystow.web.pantry.models import Package, Place


def unpack(request: HttpRequest, batch: Batch, items: list[Item]) -> HttpResponse:
    """Put packages of one kind and size in the bin, or all of an item, as long as nothing was done with any of them."""
    far, group = _wanted(request, batch, items), request.POST.get("group", "")
    packages = far.packages if far is not None else ()
    if far is not None and group:
        alike = [one.packages for one in far.groups if str(one.first.pk) == group]
        packages = alike[0] if alike else ()
    if any(package.state != "stored" or package.left_mass_kg != package.net_mass_kg for package in packages):
        messages.error(
            request, _("Some of these packages have already been used. Move the others to trash one by one.")
        )
        return redirect("batch-packing", batch.pk)
    who, words = person(request), msg("packing undone")
    with transaction.atomic(), records.one_action():
        for package in packages:
            records.put_in_bin(package, who=who, words=words)
        if far is not None and len(packages) == len(far.packages):
            taken_back(batch, far.item, who=who)
        if packages and batch.stage == "labels":
            records.change(batch, {"stage": "packing"}, expected=batch.version, who=who, words=words)
    if packages:
        saved(request, packages[-1], _("The packages are in the trash; pack this food again."))
    return redirect("batch-packing", batch.pk)


def set_aside(request: HttpRequest, batch: Batch, items: list[Item]) -> HttpResponse:
    """Write down that the rest of an item is not packed: it counts as yield, and nothing is left to pack."""
    far = _wanted(request, batch, items)
    if far is not None and far.left:
        with transaction.atomic(), records.one_action():
            aside = {"aside_kg": far.item.aside_kg + far.left, "dried_kg": far.dried}
            words = msg("the rest won’t be packed")
            changed = records.change(far.item, aside, expected=far.item.version, who=person(request), words=words)
        saved(request, changed, _("Saved: the rest was eaten or lost."))
    return redirect("batch-packing", batch.pk)


def _wanted(request: HttpRequest, batch: Batch, items: list[Item]) -> Packed | None:
    number = request.POST.get("item", "")
    return packed_foods(items, packages_of(batch)).get(int(number)) if number.isdecimal() else None


MG = 1e6  # in a kilogram
LONGEST_OPEN = 24 * 3600.0  # from here on nobody has to hurry [s]
FIELDS = {
    "dry_mass": "part",
    "residual_moisture": "moisture",
    "container.count": "count",
    "container.kind": "container",
}


@right(reads="viewer", writes="helper")
def show_packing(request: HttpRequest, pk: int) -> HttpResponse:
    """Show how each item is packed; a POST opens the chamber, works out a plan, or writes the packages down."""
    batch, kitchen = kept_batch(pk), records.kitchen()
    units = wished_units(request, kitchen.units)
    if request.method == "POST" and request.POST.get("do") == "opened":
        changed = records.change(
            batch,
            {"opened_at": timezone.now()},
            expected=batch.version,
            who=person(request),
            words=msg("chamber opened"),
        )
        saved(request, changed, _("The clock is running: pack the driest food first."))
        return redirect("batch-packing", pk)
    asked = request.method == "POST" and request.POST.get("do") == "servings"
    how_many = ServingsForm(request.POST if asked else None, units=units, initial=servings_first(batch))
    if asked and how_many.is_valid() and _save_servings(request, batch, how_many):
        return redirect("batch-packing", pk)
    items = list(Item.objects.kept().filter(batch=batch))
    if request.method == "POST" and request.POST.get("do") == "unpack":
        return unpack(request, batch, items)
    if request.method == "POST" and request.POST.get("do") == "aside":
        return set_aside(request, batch, items)
    foods, places = foods_of(item.food for item in items), list(Place.objects.kept())
    far = packed_foods(items, packages_of(batch), dried_masses(batch, items, foods))
    proofs = proved(batch, items, tray_loads(batch))
    rows, limits = [], []
    for item in items:
        one = far[item.pk]
        row: dict[str, Any] = {"item": item, "far": one, "food": foods[item.food]}
        row["risks"] = risk_sentences(proofs[item.pk].risks)
        row["unproved"] = proofs[item.pk].packed if one.packages else ()
        mine = request.method == "POST" and request.POST.get("item") == str(item.pk)
        if places and (not one.done or mine or request.GET.get("more") == str(item.pk)):
            proof = proofs[item.pk]
            form = _form(request.POST if mine else None, units, foods[item.food], one, places, proof)
            _fill_in_moisture(form, proof)
            plan = _plan(form, batch, one, foods[item.food], kitchen, places)
            if mine and plan is not None and form.is_valid() and request.POST.get("do") == "pack":
                with records.one_action():
                    count = _pack(form, batch, one, plan, proof, person(request))
                    if count:
                        return _packed_all(request, batch, items, item, count)
            row |= {"form": form, "plan": plan, "sentences": plan_sentences(plan, units) if plan else ()}
            row["oxygen"] = oxygen_reason(plan) if plan else ""
            if plan is not None and plan.packing.open_limit < LONGEST_OPEN:
                limits.append(plan.packing.open_limit)
        rows.append(row)
    context = {"batch": batch, "here": "packing", "rows": rows, "places": places, "shared": _shared(rows)}
    context["servings"] = how_many
    context |= _clock(batch, limits)
    wrong = bool(how_many.errors) or any(row["form"].is_bound and row["form"].errors for row in rows if "form" in row)
    return render(request, "batches/packing.html", context, status=422 if wrong else 200)


def _save_servings(request: HttpRequest, batch: Batch, form: ServingsForm) -> bool:
    changed = try_to_save(
        form,
        lambda: records.change(
            batch, form.values(), expected=form.expected, who=person(request), words=msg("servings")
        ),
    )
    if changed is not None:
        saved(request, changed, _("Saved."))
    return changed is not None


def _form(data: Any, units: str, food: Food, far: Packed, places: list[Place], proof: Proved) -> PackForm:
    item = far.item
    first = {
        "version": item.version,
        "dry": far.dried,
        "before": round(far.mass * MG),
        "moisture": float(usual_target(item, food)),
        "packed_on": timezone.localdate(),
        "place": places[0].pk,
    }
    ask = bool(proof.risks) and not proof.confirmed
    options = {"units": units, "initial": first, "auto_id": f"id_{item.pk}_%s"}
    return PackForm(data, places=places, ask=ask, packed=far, **options)


def _fill_in_moisture(form: PackForm, proof: Proved) -> None:
    """Begin with the moisture that the proof says, and say so."""
    field = form.fields["moisture"]
    if proof.moisture is not None:
        form.initial["moisture"] = min(proof.moisture, field.high)
        field.help_text = _("From the weighings of the run: the most likely value.")


def _plan(
    form: PackForm, batch: Batch, far: Packed, food: Food, kitchen: Kitchen, places: list[Place]
) -> PackagePlan | None:
    """Return the plan of a form, of its first values while it is new; None with the reasons on the form."""
    data: dict[str, Any] = form.initial | {"place": places[0], "container": "", "count": None, "powder": False}
    data["amount"] = far.left or far.dried
    if form.is_bound:
        if not form.is_valid():
            return None
        data = form.cleaned_data
    try:
        return plan_of(batch, far.item, food, kitchen, data)
    except InputError as problem:
        if form.is_bound:
            tell(form, problem, FIELDS if data["part"] is not None else FIELDS | {"dry_mass": "dry"})
        return None


def _pack(form: PackForm, batch: Batch, far: Packed, plan: PackagePlan, proof: Proved, who: str) -> int:
    """Write down the packages of an item and return how many."""
    data = form.cleaned_data
    rows = package_rows(batch, far.item, plan, data["place"], data["dry"])
    seen = data["before"] / MG if data["before"] is not None else far.mass

    def write() -> Package:
        with transaction.atomic():
            item = records.locked(far.item)
            now = packed_foods([item], packages_of(batch).filter(item=item))[item.pk]
            if abs(now.mass - seen) > CRUMBS_KG or abs(now.mass - far.mass) > CRUMBS_KG:
                raise InputError("part", _("someone packed some of it meanwhile; see what is left, then pack again"))
            records.change(item, {"dried_kg": data["dry"]}, expected=form.expected, who=who, words=msg("weighed"))
            confirm(batch, proof.risks, packed=True, who=who)
            for row in rows:
                made = create_package(row, who=who, words=msg("packed"))
                actions.packed(made, who=who)
            if batch.done_at is not None:
                save_costs(batch, who=who)
        return made

    return len(rows) if try_to_save(form, write) is not None else 0


def _packed_all(request: HttpRequest, batch: Batch, items: list[Item], item: Item, count: int) -> HttpResponse:
    """Say what was packed and what is left; go on to the labels when nothing is left to pack."""
    words = ngettext("{n} package of {food} is in the pantry.", "{n} packages of {food} are in the pantry.", count)
    words = words.format(n=count, food=item.name)
    items = list(Item.objects.kept().filter(batch=batch))
    far = packed_foods(items, packages_of(batch))
    if far[item.pk].left:
        left = in_words(show(far[item.pk].left, "small mass", wished_units(request, records.kitchen().units)))
        words = " ".join((words, _("{left} still to pack.").format(left=left)))
    saved(request, far[item.pk].packages[-1], words)
    if not all(one.done for one in far.values()):
        return redirect("batch-packing", batch.pk)
    if batch.stage == "packing":
        records.change(batch, {"stage": "labels"}, expected=batch.version, who=person(request), words=msg("packed"))
    return redirect("batch-labels", batch.pk)


def _shared(rows: list[dict[str, Any]]) -> list[str]:
    """Return the cautions that several foods have, to be shown once; every row keeps its own."""
    plans = [row["plan"] for row in rows if row.get("plan") is not None]
    counts = Counter(caution for plan in plans for caution in plan.cautions)
    for row in rows:
        if row.get("plan") is not None:
            row["cautions"] = [caution for caution in row["plan"].cautions if counts[caution] == 1]
    return [caution for caution, count in counts.items() if count > 1]


def _clock(batch: Batch, limits: list[float]) -> dict[str, Any]:
    """Return until when the food may lie open."""
    shortest = min(limits, default=None)
    if shortest is None or not isfinite(shortest):
        return {"limit": None, "until": None}
    until = batch.opened_at + timedelta(seconds=shortest) if batch.opened_at else None
    late = until is not None and until < timezone.now()
    return {"limit": shortest, "minutes": max(1, int(shortest // 60)), "until": until, "late": late}

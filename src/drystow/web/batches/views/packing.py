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
from drystow.reports.package_plan import PackagePlan, plan_sentences
from drystow.said import say
from drystow.web.batches.adapters import foods_of, tray_loads
from drystow.web.batches.models import Batch, Item
from drystow.web.batches.packforms import PackForm, ServingsForm, servings_first
from drystow.web.batches.packing_adapters import dried_masses, package_rows, packages_by_item, plan_of, usual_target
from drystow.web.batches.proved import Proved, confirm, proved, taken_back
from drystow.web.batches.request import kept_batch
from drystow.web.pantry import actions
from drystow.web.pantry.codes import create_package
from drystow.web.pantry.models import Package, Place
from drystow.web.site import records
from drystow.web.site.models import Household
from drystow.web.site.notices import person, saved
from drystow.web.site.records import household
from drystow.web.site.saving import tell, try_to_save
from drystow.web.site.wishes import wished_units

LONGEST_OPEN = 24 * 3600.0  # from here on nobody has to hurry [s]
FIELDS = {"dry_mass": "dry", "residual_moisture": "moisture", "container.count": "count", "container.kind": "container"}


def show_packing(request: HttpRequest, pk: int) -> HttpResponse:
    """Show how each item is packed; a POST opens the chamber, works out a plan, or writes the packages down."""
    batch, house = kept_batch(pk), household()
    units = wished_units(request, house.units)
    if request.method == "POST" and request.POST.get("do") == "opened":
        changed = records.change(
            batch,
            {"opened_at": timezone.now()},
            expected=batch.version,
            who=person(request),
            words=say("chamber opened"),
        )
        saved(request, changed, _("The clock runs: pack the driest food first."))
        return redirect("batch-packing", pk)
    asked = request.method == "POST" and request.POST.get("do") == "servings"
    how_many = ServingsForm(request.POST if asked else None, units=units, initial=servings_first(batch))
    if asked and how_many.is_valid() and _save_servings(request, batch, how_many):
        return redirect("batch-packing", pk)
    items = list(Item.objects.kept().filter(batch=batch))
    if request.method == "POST" and request.POST.get("do") == "unpack":
        return _unpack(request, batch, items)
    foods, places = foods_of(item.food for item in items), list(Place.objects.kept())
    packed = packages_by_item(items, _packages(batch))
    masses, proofs = dried_masses(batch, items, foods), proved(batch, items, tray_loads(batch))
    rows, limits = [], []
    for item in items:
        made = packed[item.pk]
        row: dict[str, Any] = {"item": item, "packages": made, "food": foods[item.food], "risks": proofs[item.pk].risks}
        row["unproved"] = proofs[item.pk].packed if made else ()
        if not made and places:
            mine = request.method == "POST" and request.POST.get("item") == str(item.pk)
            proof = proofs[item.pk]
            form = _form(request.POST if mine else None, units, item, foods[item.food], masses[item.pk], places, proof)
            _fill_in_moisture(form, proof)
            plan = _plan(form, batch, item, foods[item.food], house, places)
            if mine and plan is not None and form.is_valid() and request.POST.get("do") == "pack":
                with records.together():
                    count = _pack(form, batch, item, plan, proof, person(request))
                    if count:
                        return _packed_all(request, batch, items, item, count)
            row |= {"form": form, "plan": plan, "sentences": plan_sentences(plan, units) if plan else ()}
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
            batch, form.values(), expected=form.expected, who=person(request), words=say("servings")
        ),
    )
    if changed is not None:
        saved(request, changed, _("Saved."))
    return changed is not None


def _form(data: Any, units: str, item: Item, food: Food, mass: float, places: list[Place], proof: Proved) -> PackForm:
    first = {
        "version": item.version,
        "dry": float(mass),
        "moisture": float(usual_target(item, food)),
        "packed_on": timezone.localdate(),
        "place": places[0].pk,
    }
    ask = bool(proof.risks) and not proof.confirmed
    return PackForm(data, units=units, places=places, ask=ask, initial=first, auto_id=f"id_{item.pk}_%s")


def _fill_in_moisture(form: PackForm, proof: Proved) -> None:
    """Begin with the moisture that the proof says, and say so."""
    field = form.fields["moisture"]
    if proof.moisture is not None:
        form.initial["moisture"] = min(proof.moisture, field.high)
        field.help_text = _("As the weighings of the run say: the middle of what is likely.")


def _plan(
    form: PackForm, batch: Batch, item: Item, food: Food, house: Household, places: list[Place]
) -> PackagePlan | None:
    """Return the plan of a form, of its first values while it is new; None with the reasons on the form."""
    data: dict[str, Any] = form.initial | {"place": places[0], "container": "", "count": None, "powder": False}
    if form.is_bound:
        if not form.is_valid():
            return None
        data = form.cleaned_data
    try:
        return plan_of(batch, item, food, house, data)
    except InputError as problem:
        if form.is_bound:
            tell(form, problem, FIELDS)
        return None


def _pack(form: PackForm, batch: Batch, item: Item, plan: PackagePlan, proof: Proved, who: str) -> int:
    """Write down the packages of an item and return how many."""
    rows = package_rows(batch, item, plan, form.cleaned_data["place"])

    def write() -> Package:
        with transaction.atomic():
            if Package.objects.kept().filter(item=item).exists():
                raise InputError("dry", _("somebody packed this meanwhile; open the page again"))
            confirm(batch, proof.risks, packed=True, who=who)
            for row in rows:
                made = create_package(row, who=who, words=say("packed"))
                actions.packed(made, who=who)
        return made

    return len(rows) if try_to_save(form, write) is not None else 0


def _packed_all(request: HttpRequest, batch: Batch, items: list[Item], item: Item, count: int) -> HttpResponse:
    """Say what was packed; go on to the labels when nothing is left to pack."""
    words = ngettext(
        "%(n)s package of %(food)s is in the pantry.", "%(n)s packages of %(food)s are in the pantry.", count
    )
    packed = packages_by_item(items, _packages(batch))
    saved(request, packed[item.pk][-1], words % {"n": count, "food": item.name})
    if all(packed.values()):
        if batch.stage == "packing":
            records.change(batch, {"stage": "labels"}, expected=batch.version, who=person(request), words=say("packed"))
        return redirect("batch-labels", batch.pk)
    return redirect("batch-packing", batch.pk)


def _unpack(request: HttpRequest, batch: Batch, items: list[Item]) -> HttpResponse:
    """Put the packages of an item in the bin, as long as nothing was done with any of them."""
    wanted = [item for item in items if str(item.pk) == request.POST.get("item")]
    packages = packages_by_item(items, _packages(batch))[wanted[0].pk] if wanted else []
    if any(package.state != "stored" or package.left_mass_kg != package.net_mass_kg for package in packages):
        messages.error(request, _("Some of these packages are in use already; put the others in the bin one by one."))
        return redirect("batch-packing", batch.pk)
    with transaction.atomic(), records.together():
        for package in packages:
            records.put_in_bin(package, who=person(request), words=say("packing taken back"))
        if packages:
            taken_back(batch, wanted[0], who=person(request))
        if packages and batch.stage == "labels":
            changes = {"stage": "packing"}
            records.change(batch, changes, expected=batch.version, who=person(request), words=say("packing taken back"))
    if packages:
        saved(request, packages[-1], _("The packages are in the bin; pack this food again."))
    return redirect("batch-packing", batch.pk)


def _packages(batch: Batch) -> list[Package]:
    return list(Package.objects.kept().filter(batch=batch).select_related("place").order_by("pk"))


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
    return {"limit": shortest, "minutes": max(1, round(shortest / 60)), "until": until, "late": late}

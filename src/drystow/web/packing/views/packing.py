"""Packing: what each food goes into, how long it keeps, and how long it may lie open before."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from math import isfinite
from types import MappingProxyType
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
from drystow.numerals import whole_in
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
from drystow.web.kit.record_forms import save_or_show
from drystow.web.kit.saving import tell, try_to_save
from drystow.web.kit.words import in_words
from drystow.web.packing.forms import PackForm, ServingsForm
from drystow.web.packing.packed import Packed, packages_of, packed_foods
from drystow.web.packing.spec import dried_masses, package_rows, plan_of, save_costs, usual_target
from drystow.web.pantry import actions
from drystow.web.pantry.actions import create_package
from drystow.web.pantry.books import CRUMBS_KG
from drystow.web.pantry.models import Package, Place

MG = 1e6  # in a kilogram
LONGEST_OPEN = 24 * 3600.0  # from here on nobody has to hurry [s]
FIELDS = {
    "dry_mass": "part",
    "residual_moisture": "moisture",
    "container.count": "count",
    "container.kind": "container",
}


@dataclass(frozen=True)
class PackingTable:
    """What lies on the packing table.

    items: foods of the batch
    foods: what they are
    far: how far each is packed
    proofs: how dry each is known to be
    places: where packages can go
    """

    batch: Batch
    items: list[Item]
    foods: Mapping[str, Food]
    far: Mapping[int, Packed]
    proofs: Mapping[int, Proved]
    places: list[Place]
    kitchen: Kitchen
    units: str

    def form(self, item: Item, data: Any = None, packs: bool = False) -> PackForm:
        """Return the form of an item, which begins with the moisture that the proof says.

        packs: what it says is to be packed, not only calculated
        """
        far, proof, food = self.far[item.pk], self.proofs[item.pk], self.foods[item.food]
        first = {
            "version": item.version,
            "dry": far.dried,
            "before": round(far.mass * MG),
            "moisture": float(usual_target(item, food)),
            "packed_on": timezone.localdate(),
            "place": self.places[0].pk,
        }
        ask = bool(proof.risks) and not proof.confirmed
        options = {"units": self.units, "initial": first, "auto_id": f"id_{item.pk}_%s"}
        form = PackForm(data, places=self.places, ask=ask, packs=packs, packed=far, **options)
        field = form.fields["moisture"]
        if proof.moisture is not None:
            form.initial["moisture"] = min(proof.moisture, form.quantities["moisture"].high)
            field.help_text = _("From the weighings of the run: the most likely value.")
        return form

    def plan(self, item: Item, form: PackForm) -> PackagePlan | None:
        """Return the plan of a form, of its first values while it is new; None with the reasons on the form."""
        far = self.far[item.pk]
        data: dict[str, Any] = form.initial | {"place": self.places[0], "container": "", "count": None, "powder": False}
        data["amount"] = far.left or far.dried
        if form.is_bound:
            if not form.is_valid():
                return None
            data = form.cleaned_data
        try:
            return plan_of(self.batch, item, self.foods[item.food], self.kitchen, data)
        except InputError as problem:
            if form.is_bound:
                tell(form, problem, FIELDS if data["part"] is not None else FIELDS | {"dry_mass": "dry"})
            return None


def table_of(request: HttpRequest, batch: Batch) -> PackingTable:
    """Return what lies on the packing table."""
    items, kitchen = list(Item.objects.kept().filter(batch=batch)), records.kitchen()
    foods = foods_of(item.food for item in items)
    far = packed_foods(items, packages_of(batch), dried_masses(batch, items, foods))
    proofs, places = proved(batch, items, tray_loads(batch)), list(Place.objects.kept())
    return PackingTable(batch, items, foods, far, proofs, places, kitchen, wished_units(request, kitchen.units))


@right(reads="viewer", forms="helper")
def show_packing(request: HttpRequest, pk: int) -> HttpResponse:
    """Show how each item is packed."""
    return _page(request, table_of(request, kept_batch(pk)))


@right(writes="helper", page="batch-packing")
def calculate(request: HttpRequest, pk: int) -> HttpResponse:
    """Show how an item is packed with the numbers of the form."""
    table = table_of(request, kept_batch(pk))
    item = _item(request, table)
    return _page(request, table, {} if item is None else {item.pk: table.form(item, request.POST)})


@right(writes="helper", page="batch-packing")
def pack(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down the packages of an item."""
    table = table_of(request, kept_batch(pk))
    item = _item(request, table)
    if item is None:
        return _page(request, table)
    form = table.form(item, request.POST, packs=True)
    plan = table.plan(item, form)
    if plan is not None and form.is_valid():
        with records.one_action():
            far, proof = table.far[item.pk], table.proofs[item.pk]
            if count := _pack(form, table.batch, far, plan, proof, person(request)):
                return _packed_all(request, table.batch, item, count)
    return _page(request, table, {item.pk: form}, {item.pk: plan})


@right(writes="helper", page="batch-packing")
def open_chamber(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down that the chamber was opened now: from here on the food takes up moisture."""
    batch, now = kept_batch(pk), {"opened_at": timezone.now()}
    words = msg("The chamber is open; the clock is running.")
    changed = records.change(batch, now, expected=batch.version, who=person(request), words=words)
    saved(request, changed, advice=msg("Pack the driest food first."))
    return redirect("batch-packing", pk)


@right(writes="helper", page="batch-packing")
def set_servings(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down how many servings a batch makes."""
    batch = kept_batch(pk)
    form = ServingsForm.of(request, row=batch)
    return save_or_show(
        request, form, "batch-packing", lambda form: _page(request, table_of(request, batch), servings=form)
    )


@right(writes="helper", page="batch-packing")
def unpack(request: HttpRequest, pk: int) -> HttpResponse:
    """Put packages of one kind and size in the bin, or all of an item, as long as nothing was done with any of them."""
    batch = kept_batch(pk)
    far, group = _wanted(request, batch), request.POST.get("group", "")
    packages = far.packages if far is not None else ()
    if far is not None and group:
        alike = [one.packages for one in far.groups if str(one.first.pk) == group]
        packages = alike[0] if alike else ()
    if any(package.state != "stored" or package.left_mass_kg != package.net_mass_kg for package in packages):
        messages.error(
            request, _("Some of these packages have already been used. Move the others to trash one by one.")
        )
        return redirect("batch-packing", pk)
    who, words = person(request), msg("The packages are in the trash; pack this food again.")
    with transaction.atomic(), records.one_action():
        binned = [records.put_in_bin(package, who=who, words=words) for package in packages]
        if far is not None and len(packages) == len(far.packages):
            taken_back(batch, far.item, who=who)
        if packages and batch.stage == "labels":
            records.change(batch, {"stage": "packing"}, expected=batch.version, who=who, words=words)
    if binned:
        saved(request, binned[-1])
    return redirect("batch-packing", pk)


@right(writes="helper", page="batch-packing")
def set_aside(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down that the rest of an item is not packed: it counts as yield, and nothing is left to pack."""
    batch = kept_batch(pk)
    far = _wanted(request, batch)
    if far is not None and far.left:
        with transaction.atomic(), records.one_action():
            aside = {"aside_kg": far.item.aside_kg + far.left, "dried_kg": far.dried}
            words = msg("Saved: the rest was eaten or lost.")
            changed = records.change(far.item, aside, expected=far.item.version, who=person(request), words=words)
        saved(request, changed)
    return redirect("batch-packing", pk)


def _wanted(request: HttpRequest, batch: Batch) -> Packed | None:
    items, number = list(Item.objects.kept().filter(batch=batch)), whole_in(request.POST.get("item", ""))
    return packed_foods(items, packages_of(batch)).get(number) if number is not None else None


def _item(request: HttpRequest, table: PackingTable) -> Item | None:
    """Return the item that a form is about, None where nothing can be packed."""
    number = request.POST.get("item", "")
    return next((item for item in table.items if table.places and str(item.pk) == number), None)


def _page(
    request: HttpRequest,
    table: PackingTable,
    forms: Mapping[int, PackForm] = MappingProxyType({}),
    plans: Mapping[int, PackagePlan | None] = MappingProxyType({}),
    servings: ServingsForm | None = None,
) -> HttpResponse:
    """Show the page.

    forms: those that came back, by the number of the item
    plans: those that are worked out already
    """
    batch, rows, limits = table.batch, [], []
    for item in table.items:
        one, proof = table.far[item.pk], table.proofs[item.pk]
        row: dict[str, Any] = {"item": item, "far": one, "food": table.foods[item.food]}
        row["risks"], row["unproved"] = risk_sentences(proof.risks), proof.packed if one.packages else ()
        if table.places and (not one.done or item.pk in forms or request.GET.get("more") == str(item.pk)):
            form = forms.get(item.pk) or table.form(item)
            plan = plans[item.pk] if item.pk in plans else table.plan(item, form)
            row |= {"form": form, "plan": plan, "sentences": plan_sentences(plan, table.units) if plan else ()}
            row["oxygen"] = oxygen_reason(plan) if plan else ""
            if plan is not None and plan.packing.open_limit < LONGEST_OPEN:
                limits.append(plan.packing.open_limit)
        rows.append(row)
    how_many = servings or ServingsForm(row=batch, units=table.units)
    context = {"batch": batch, "here": "packing", "rows": rows, "places": table.places, "shared": _shared(rows)}
    context |= {"servings": how_many} | _clock(batch, limits)
    wrong = bool(how_many.errors) or any(row["form"].is_bound and row["form"].errors for row in rows if "form" in row)
    return render(request, "packing/packing.html", context, status=422 if wrong else 200)


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


def _packed_all(request: HttpRequest, batch: Batch, item: Item, count: int) -> HttpResponse:
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

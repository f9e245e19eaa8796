"""Packing taken back, and what is left of a food without being packed."""

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.web.batches.models import Batch, Item
from drystow.web.batches.proved import taken_back
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.packing.packed import Packed, packages_of, packed_foods


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
    with transaction.atomic(), records.together():
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
        with transaction.atomic(), records.together():
            aside = {"aside_kg": far.item.aside_kg + far.left, "dried_kg": far.dried}
            words = msg("the rest won’t be packed")
            changed = records.change(far.item, aside, expected=far.item.version, who=person(request), words=words)
        saved(request, changed, _("Saved: the rest was eaten or lost."))
    return redirect("batch-packing", batch.pk)


def _wanted(request: HttpRequest, batch: Batch, items: list[Item]) -> Packed | None:
    number = request.POST.get("item", "")
    return packed_foods(items, packages_of(batch)).get(int(number)) if number.isdecimal() else None

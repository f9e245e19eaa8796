"""One package: the page that the code on its label opens."""

from collections.abc import Callable
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.packing.containers import containers
from drystow.packing.plan import describe_time
from drystow.packing.seasons import DAY
from drystow.web.accounts.rights import right
from drystow.web.batches.proved import packed_unproved
from drystow.web.kit import records
from drystow.web.kit.forms import KitchenForm
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import wished_units
from drystow.web.kit.records import kitchen
from drystow.web.kit.saving import try_to_save
from drystow.web.kit.words import in_words
from drystow.web.pantry import actions, books
from drystow.web.pantry.adapters import facts_of, serving_of
from drystow.web.pantry.dates import keeps_of, too_late
from drystow.web.pantry.forms import DiscardForm, GiveForm, MovePackageForm, PartForm
from drystow.web.pantry.models import Movement, Package

SHARES = (("1", 1.0), ("½", 0.5), ("⅓", 1 / 3), ("¼", 0.25))


@right(reads="viewer", forms="helper")
def show_package(request: HttpRequest, code: str) -> HttpResponse:
    """Show a package and what can be done with it."""
    return _page(request, _package(code), {})


@right(writes="helper")
def act_on_package(request: HttpRequest, code: str, action: str) -> HttpResponse:
    """Do something with a package: open, use, give, discard, move or bin."""
    package = _package(code)
    form = _form(wished_units(request, kitchen().units), package, action, request.POST)
    if form.is_valid():
        done = try_to_save(form, _write(form, package, action, person(request)))
        if done is not None:
            units = wished_units(request, kitchen().units)
            saved(request, done, _told(action, done, package.left_mass_kg - done.left_mass_kg, units))
            return redirect("package", package.code)
        package.refresh_from_db()
    return _page(request, package, {action: form})


def _package(code: str) -> Package:
    return get_object_or_404(Package.objects.select_related("place", "batch"), code=code.upper())


def _form(units: str, package: Package, action: str, data: Any = None) -> KitchenForm:
    options: dict[str, Any] = {
        "units": units,
        "initial": {"version": package.version, "place": package.place_id},
        "auto_id": f"id_{action}_%s",
    }
    parts: dict[str, type[PartForm]] = {"use": PartForm, "give": GiveForm, "discard": DiscardForm}
    if action in parts:
        return parts[action](data, left_kg=package.left_mass_kg, **options)
    if action not in ("open", "move", "bin", "reckon"):
        raise Http404
    return MovePackageForm(data, **options) if action == "move" else KitchenForm(data, **options)


def _write(form: KitchenForm, package: Package, action: str, who: str) -> Callable[[], Package]:
    data, options = form.cleaned_data, dict[str, Any](expected=form.expected, who=who)
    if action == "open":
        return lambda: actions.open_package(package, **options)
    if action == "reckon":
        return lambda: actions.reckon(package, **options)
    if action == "move":
        return lambda: actions.move(package, data["place"], **options)
    if action == "bin":
        return lambda: records.put_in_bin(package, who=who, words=msg("entered by mistake"))
    kind = {"use": "used", "give": "given", "discard": "discarded"}[action]
    more = {name: data[name] for name in ("to", "note") if name in data}
    return lambda: actions.take(package, kind, data["mass"], **options, **more)


def _told(action: str, package: Package, taken: float, units: str) -> str:
    """Return what a person is told after an action that took so much out [kg]."""
    if action == "bin":
        return _("The package is in the trash.")
    if action == "move":
        return _("Moved to {place}.").format(place=package.place.name)
    if action == "reckon":
        return _("New date calculated. Print a new label for it.")
    if action == "open":
        return _("Opened. Keep it closed and dry, and use it soon.")
    if action == "use" and (water := serving_of(package, taken, units)["water"]):
        rest = _("Nothing is left of this package.") if package.left_mass_kg == 0 else ""
        return " ".join((_("Saved. Add up to {water} of water to it.").format(water=water), rest)).strip()
    if package.left_mass_kg == 0:
        return _("Saved. Nothing is left of this package.")
    return _("Saved. The rest stays in this package.")


def _page(request: HttpRequest, package: Package, bound: dict[str, KitchenForm]) -> HttpResponse:
    units, today = wished_units(request, kitchen().units), timezone.localdate()
    movements = list(Movement.objects.filter(package=package).select_related("place"))
    names = () if package.binned_at or package.state in books.CLOSED else ("use", "give", "discard", "move", "open")
    forms = {name: bound.get(name) or _form(units, package, name) for name in names}
    facts = facts_of(package, movements, today)
    keeps = keeps_of(package)
    days_left = (keeps.best_before - today).days if keeps else None
    portions = SHARES if package.left_mass_kg else ()
    return render(
        request,
        "pantry/package.html",
        {
            "package": package,
            "facts": facts,
            "keeps": keeps,
            "too_late": too_late(package, movements, today),
            "over": days_left is not None and days_left < 0,
            "left_words": in_words(describe_time(days_left * DAY)) if days_left is not None and days_left >= 0 else "",
            "whole": serving_of(package, package.net_mass_kg, units),
            "parts": [(name, serving_of(package, share * package.left_mass_kg, units)) for name, share in portions],
            "movements": movements[::-1],
            "unproved": packed_unproved(package.batch).get(package.item_id or 0, []) if package.batch else [],
            "forms": forms,
            "problem": [error for form in bound.values() for error in form.non_field_errors()],
            "container": _container(package.container),
            "closed": package.state in books.CLOSED,
            "today": today,
        },
        status=200 if all(form.is_valid() for form in bound.values()) else 422,
    )


def _container(name: str) -> str:
    return containers()[name].name if name in containers() else name

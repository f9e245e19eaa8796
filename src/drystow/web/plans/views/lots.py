"""What comes: the lots of a plan, adding one, changing one."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.numerals import whole_in
from drystow.planning.schedule.plan_file import MOST_LOTS
from drystow.sources import cite
from drystow.web.accounts.rights import right
from drystow.web.batches.request import only_part, units_of
from drystow.web.batches.views.basket import USUAL_SIZE, find_foods
from drystow.web.foods.spec import food_of, foods_of
from drystow.web.kit import records
from drystow.web.kit.forms import show_typed
from drystow.web.kit.notices import person, saved
from drystow.web.kit.saving import save_row, tell
from drystow.web.plans.fields import PER
from drystow.web.plans.lotforms import LotForm, first_arrival, lot_initial, next_picking, worth_label
from drystow.web.plans.lots_check import lot_problems
from drystow.web.plans.models import Lot, Plan, PlanDryer
from drystow.web.plans.request import dryers_of, kept_plan, lots_of
from drystow.web.plans.waiting import SOURCES, usual_words, waiting_of


@right(reads="viewer", writes="helper")
def show_lots(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what comes; a POST adds a lot; htmx asks for the found foods only."""
    plan = kept_plan(pk)
    text = request.GET.get("q", "").strip()[:120]
    found = find_foods(text) if text else []
    if only_part(request):
        context = {"add_to": reverse("plan-lots", args=[plan.pk]), "found": found, "q": text}
        return render(request, "foods/found_to_add.html", context)
    lots, dryers = lots_of(plan), dryers_of(plan)
    names = [lot.name for lot in lots]
    initial = _initial(request, plan, lots)
    ref = request.POST.get("food", "") if request.method == "POST" else initial["food"]
    chosen, form = _chosen(ref), None
    if chosen is not None:
        post = request.POST if request.method == "POST" else None
        form = LotForm(post, units=units_of(request), initial=initial, plan=plan, dryers=dryers, names=names)
    elif ref:
        found, text = find_foods(ref), ref
    if form is not None and chosen is not None and request.method == "POST":
        if len(lots) >= MOST_LOTS:
            form.add_error(None, _("A plan can have up to {most} arrivals; make another plan.").format(most=MOST_LOTS))
        made = _save(request, form, Lot(plan=plan), chosen, dryers)
        if made is not None:
            saved(request, made, _("{food} is in the plan.").format(food=made.name))
            return redirect("plan-lots", pk)
    context = {"plan": plan, "here": "lots", "q": text, "found": found, "form": form, "dryers": dryers}
    context |= _table(lots, units_of(request)) | {"chosen": chosen, "usual": usual_words(chosen) if chosen else ""}
    return render(request, "plans/lots.html", context)


@right(reads="viewer", writes="helper")
def edit_lot(request: HttpRequest, pk: int, lot_pk: int) -> HttpResponse:
    """Change a lot."""
    plan = kept_plan(pk)
    lot = get_object_or_404(Lot.objects.kept(), pk=lot_pk, plan=plan)
    ref = request.POST.get("food", lot.food) if request.method == "POST" else lot.food
    food = _chosen(ref) or food_of(lot.food)
    others = [one.name for one in lots_of(plan) if one.pk != lot.pk]
    post = request.POST if request.method == "POST" else None
    dryers = dryers_of(plan)
    units = units_of(request)
    initial = lot_initial(_as_seen(lot, request.POST.get("version", "")), units)
    form = LotForm(post, units=units, initial=initial, plan=plan, dryers=dryers, names=others)
    show_typed(form, lot)
    if request.method == "POST":
        written = _save(request, form, lot, food, dryers)
        if written is not None:
            saved(request, written, _("{food} saved.").format(food=written.name))
            return redirect("plan-lots", pk)
    context = {"plan": plan, "here": "lots", "form": form, "lot": lot, "chosen": food, "usual": usual_words(food)}
    context["extra"] = {name: value for name, value in lot.extra.items() if name != "dryers"}
    return render(request, "plans/lot.html", context)


@right(writes="helper")
def remove_lot(request: HttpRequest, pk: int, lot_pk: int) -> HttpResponse:
    """Take a lot out of a plan."""
    lot = get_object_or_404(Lot.objects.kept(), pk=lot_pk, plan=kept_plan(pk))
    binned = records.put_in_bin(lot, who=person(request), words=msg("removed from the plan: {food}", food=lot.name))
    saved(request, binned, _("{food} removed from the plan.").format(food=lot.name))
    return redirect("plan-lots", pk)


def _initial(request: HttpRequest, plan: Plan, lots: list[Lot]) -> dict[str, Any]:
    """Return what the form of a new lot begins with: the food of the address, or a lot to be copied."""
    number = request.GET.get("copy", "")
    for lot in lots:
        if str(lot.pk) == number:
            return next_picking(lot, plan, [one.name for one in lots], units_of(request))
    ref = request.GET.get("food", "")[:140]
    return {"food": ref, "arrives": first_arrival(plan), "size": USUAL_SIZE, "value": 1}


def _save(request: HttpRequest, form: LotForm, lot: Lot, food: Food, dryers: list[PlanDryer]) -> Lot | None:
    """Return a lot as written, or None with the reasons on the form."""
    if not form.is_valid():
        return None
    copied = _copied(request, lot)
    values = form.values(food.name, copied)
    trial = Lot(plan=lot.plan, **values)
    for problem in lot_problems(trial, dryers, food):
        tell(form, problem)
    if form.errors:
        return None
    new = lot.pk is None
    words = msg("food coming in: {food}", food=values["name"])
    values |= {"plan": lot.plan} if new else {}
    return save_row(form, Lot, None if new else lot, values, who=person(request), words=words)


def _as_seen(lot: Lot, version: str) -> Lot:
    """Return a lot as it was at the version that a person saw, for what came back just as it was shown."""
    log = records.history(lot).filter(version=whole_in(version) or 0).first()
    if log is None or version == str(lot.version):
        return lot
    fields = {field.attname: field for field in Lot._meta.concrete_fields}
    return Lot(**{name: fields[name].to_python(value) for name, value in log.after.items() if name in fields})


def _copied(request: HttpRequest, lot: Lot) -> dict[str, Any]:
    """Return what a plan file set beyond the form, of the lot itself or of the one that it is copied from."""
    if lot.pk is not None:
        return {} if "forget" in request.POST else lot.extra
    first = Lot.objects.kept().filter(plan=lot.plan, pk=whole_in(request.GET.get("copy", "")) or 0).first()
    return first.extra if first is not None else {}


def _chosen(ref: str) -> Food | None:
    try:
        return food_of(ref) if ref else None
    except InputError:
        return None


def _table(lots: list[Lot], units: str) -> dict[str, Any]:
    foods = foods_of(lot.food for lot in lots)
    rows = [
        {"lot": lot, "food": foods[lot.food], "waiting": waiting, "worth": lot.value_per_kg * PER[units]}
        for lot, waiting in zip(lots, waiting_of(lots, foods), strict=True)
    ]
    return {
        "rows": rows,
        "worth": worth_label(units),
        "mass": sum(lot.mass_kg for lot in lots),
        "raw": any(row["food"].may_be_raw for row in rows),
        "over": any(row["waiting"].over for row in rows),
        "cites": [cite(key).text for key in SOURCES],
    }

"""What comes: the lots of a plan, adding one, changing one."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from drystow.messages import msg
from drystow.sources import cite
from drystow.web.accounts.rights import right
from drystow.web.batches.request import only_part, units_of
from drystow.web.batches.views.basket import USUAL_SIZE, chosen_food, ref_of, search_food
from drystow.web.foods.spec import food_of, foods_of
from drystow.web.kit.kept_values import Teller
from drystow.web.kit.record_forms import bin_view, page_with, save_or_show
from drystow.web.plans.fields import PER
from drystow.web.plans.lotforms import LotForm, first_arrival, next_picking, worth_label
from drystow.web.plans.models import Lot, Plan
from drystow.web.plans.request import dryers_of, kept_plan, lots_of
from drystow.web.plans.waiting import SOURCES, usual_words, waiting_of


@right(reads="viewer", writes="helper")
def show_lots(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what comes; a POST adds a lot; htmx asks for the found foods only."""
    plan = kept_plan(pk)
    lots, dryers = lots_of(plan), dryers_of(plan)
    row = _begun(request, plan, lots)
    chosen, search = search_food(request, "plan-lots", pk, row.food)
    if only_part(request):
        return render(request, "foods/found_to_add.html", search)

    def page(form: LotForm | None) -> HttpResponse:
        context = {"plan": plan, "here": "lots", "form": form, "dryers": dryers} | search
        context |= _table(lots, units_of(request)) | {"usual": usual_words(chosen) if chosen else ""}
        return render(request, "plans/lots.html", context)

    if chosen is None:
        return page(None)
    first = {} if row.mass_kg else {"value": 1}  # one that is copied has its own
    names = [lot.name for lot in lots]
    form = LotForm.of(request, row=row, food=chosen, dryers=dryers, names=names, initial=first)
    return save_or_show(request, form, redirect("plan-lots", pk), page)


@right(reads="viewer", writes="helper")
def edit_lot(request: HttpRequest, pk: int, lot_pk: int) -> HttpResponse:
    """Change a lot."""
    lot = _lot(pk, lot_pk)
    food = chosen_food(request.POST.get("food", lot.food)) or food_of(lot.food)
    others = [one.name for one in lots_of(lot.plan) if one.pk != lot.pk]
    form = LotForm.of(request, row=lot, food=food, dryers=dryers_of(lot.plan), names=others)
    context = {"plan": lot.plan, "here": "lots", "lot": lot, "chosen": food, "usual": usual_words(food)}
    beyond = {name: value for name, value in lot.extra.items() if name != "dryers"}
    context["extra"] = Teller(units_of(request), {}).part("", beyond) if beyond else ""
    return save_or_show(request, form, redirect("plan-lots", pk), page_with(request, "plans/lot.html", **context))


def _lot(pk: int, lot_pk: int) -> Lot:
    return get_object_or_404(Lot.objects.kept(), pk=lot_pk, plan=kept_plan(pk))


remove_lot = right(writes="helper")(
    bin_view(
        Lot,
        lambda lot: redirect("plan-lots", lot.plan_id),
        says=msg("{food} removed from the plan.", food=""),
        find=_lot,
    )
)


def _begun(request: HttpRequest, plan: Plan, lots: list[Lot]) -> Lot:
    """Return what a new lot begins with: the food of the address, or a lot to be copied."""
    number = request.GET.get("copy", "")
    for lot in lots:
        if str(lot.pk) == number:
            row = next_picking(lot, [one.name for one in lots])
            row.food = request.POST.get("food", row.food)[:140]
            return row
    return Lot(plan=plan, food=ref_of(request), arrives=first_arrival(plan), size_m=USUAL_SIZE)


def _table(lots: list[Lot], units: str) -> dict[str, Any]:
    foods = foods_of(lot.food for lot in lots)
    rows: list[dict[str, Any]] = [
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

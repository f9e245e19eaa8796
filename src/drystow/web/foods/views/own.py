"""Foods of the kitchen: from a nutrition label or from a measured moisture."""

from typing import Any

from django.forms import FloatField
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.foods.table import get
from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.foods.forms import FoodForm, FoodLabelForm, MoistureForm
from drystow.web.foods.markfields import answer_word, careful, first_answers
from drystow.web.foods.models import OwnFood
from drystow.web.foods.own_entry import about_it, kinds_of, label_start, values_from_label, values_from_moisture
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import wished_units
from drystow.web.kit.records import kitchen
from drystow.web.kit.saving import save_row, tell

Ways = dict[str, tuple[type[FoodForm], Any]]
WAYS: Ways = {"label": (FoodLabelForm, values_from_label), "moisture": (MoistureForm, values_from_moisture)}
ENGINE_NAMES = {"class": "food_class", "food": "like"}


@right(reads="viewer", writes="helper")
def add_from_label(request: HttpRequest) -> HttpResponse:
    """Add a food from its nutrition label."""
    return _edit(request, "label", None, {"amount": "100 g"})


@right(reads="viewer", writes="helper")
def add_from_moisture(request: HttpRequest) -> HttpResponse:
    """Add a food whose moisture was measured."""
    start: dict[str, Any] = {"moisture_sd": 0.005}
    try:
        like = get(request.GET["like"]) if "like" in request.GET else None
    except InputError:
        like = None
    if like is not None:
        start |= {
            "like": like.name,
            "food_class": like.food_class,
            "kinds": list(like.like),
            **careful(like),
        }
    return _edit(request, "moisture", None, start)


@right(reads="viewer", writes="helper")
def edit_own_food(request: HttpRequest, pk: int) -> HttpResponse:
    """Edit a food of the kitchen in the way it was entered."""
    row = get_object_or_404(OwnFood.objects.kept(), pk=pk)
    way = row.entered.get("way", "label")
    typed = row.entered.get("typed")
    base = {name: getattr(row, name) for name in ("name", "food_class", "notes")}
    base |= {"kinds": row.like, "skin": answer_word(row.skin)}
    base |= first_answers(row.name, row.food_class, row.raw_animal, row.allergens)
    start = (typed if typed is not None else label_start(row)) | base | {"version": row.version}
    return _edit(request, way, row, start)


def _edit(request: HttpRequest, way: str, row: OwnFood | None, start: dict[str, Any]) -> HttpResponse:
    form_class, values_of = WAYS[way]
    units = wished_units(request, kitchen().units)
    form = form_class(request.POST or None, initial=start, units=units)
    if request.method == "POST" and form.is_valid():
        done = _save(request, form, values_of, way, row)
        if done is not None:
            return redirect("own-food", done.pk)
    title = _("Edit {name}").format(name=row.name) if row else _("A food of your own")
    context = {"form": form, "way": way, "title": title, "row": row}
    return render(request, "foods/own_form.html", context, status=422 if form.is_bound else 200)


def _save(request: HttpRequest, form: FoodForm, values_of: Any, way: str, row: OwnFood | None) -> Any:
    try:
        values = values_of(form.cleaned_data)
    except InputError as problem:
        tell(form, problem, ENGINE_NAMES)
        return None
    data = form.cleaned_data
    values |= about_it(data) | {"like": kinds_of(data, new=row is None)}
    values |= {"entered": {"way": way, "typed": _typed(form)}}
    done = save_row(form, OwnFood, row, values, who=person(request), words=msg("own food"))
    if done is not None:
        saved(request, done, _("{name} saved.").format(name=data["name"]))
    return done


def _typed(form: FoodForm) -> dict[str, Any]:
    """Return the figures as the person wrote them, units and all; plain numbers without their decimal sign."""
    own = [name for name in form.fields if name not in FoodForm.base_fields and form.data.get(name)]
    plain = [name for name in own if isinstance(form.fields[name], FloatField)]
    return {name: form.cleaned_data[name] if name in plain else form.data[name] for name in own}


@right(writes="helper")
def bin_own_food(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a food of the kitchen in the bin."""
    row = records.put_in_bin(get_object_or_404(OwnFood, pk=pk), who=person(request))
    saved(request, row, _("{name} is in the trash.").format(name=row.name))
    return redirect("foods")
